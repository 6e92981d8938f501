"""What tools share that lead from device to device, by clicks in turn or by a drag from one to the other."""

from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import CursorShape, PointerEvent, ToolReply
from core.model import Device, Point

#: A pointer that went further between press and release was dragged.
DRAG_PX = 8.0


class OnDevicesTool(BaseTool):
    """Knows the device under the pointer, where the pointer is, and where it was pressed."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._under: Device | None = None
        self._pressed_px: Point | None = None
        self._at: Point = (0.0, 0.0)
        self._k = 1.0

    @property
    def cursor(self) -> CursorShape:
        return "hand"

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def _look(self, event: PointerEvent) -> None:
        self._k, self._at = event.mm_per_pixel, event.sheet_mm
        devices = {device.id: device for device in self.desk.plan.devices}
        self._under = next((devices[item] for item in event.item_ids if item in devices), None)

    def _dragged(self, event: PointerEvent) -> bool:
        """Whether the pointer went on since it was pressed."""
        pressed = self._pressed_px
        return pressed is not None and max(abs(event.pixel[0] - pressed[0]), abs(event.pixel[1] - pressed[1])) > DRAG_PX
