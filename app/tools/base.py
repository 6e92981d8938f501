"""What all tools share: doing nothing where a tool says nothing, and Escape that first takes back one step."""

from app.tools.desk import Desk
from app.tools.events import CursorShape, KeyEvent, PointerEvent, ToolReply
from core.errors import EditRefused


class BaseTool:
    """A tool that does nothing. `hint` is what to do next, for the line under the window."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    @property
    def cursor(self) -> CursorShape:
        return "cross"

    @property
    def hint(self) -> str:
        return ""

    def show(self) -> ToolReply:
        """The state as it is, without an event."""
        return ToolReply()

    def press(self, event: PointerEvent) -> ToolReply:
        return self.move(event)

    def move(self, event: PointerEvent) -> ToolReply:  # noqa: ARG002 (for those that look)
        return self.show()

    def release(self, event: PointerEvent) -> ToolReply:  # noqa: ARG002
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:  # noqa: ARG002
        return None

    def typed(self, text: str) -> ToolReply:  # noqa: ARG002
        raise EditRefused("There is nothing to type a number for just now.")
