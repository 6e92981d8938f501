"""What passes between the canvas and a tool: plain records of pointer and keys, and the tool's answer.

A tool knows nothing of Qt's events or of the canvas. It gets where the pointer is on the sheet and what lies there, and
says which plan it proposes, what to draw on top and the word to show beside the pointer.
"""

from dataclasses import dataclass
from typing import Literal, Protocol

from core.model import Plan, Point
from core.pages.marks import AnyMark

PointerKind = Literal["press", "move", "release", "double"]
Button = Literal["none", "left", "middle", "right"]
Modifier = Literal["shift", "ctrl", "alt"]
CursorShape = Literal["arrow", "cross", "move", "hand"]


@dataclass(frozen=True)
class PointerEvent:
    """The pointer on the sheet. `item_ids` are the records under it, the most likely first."""

    kind: PointerKind
    sheet_mm: Point
    pixel: Point
    button: Button = "none"
    modifiers: frozenset[Modifier] = frozenset()
    item_ids: tuple[str, ...] = ()
    #: Millimetres of the sheet that one pixel covers, for tolerances.
    mm_per_pixel: float = 1.0


@dataclass(frozen=True)
class KeyEvent:
    """A key by its name as on the keyboard: ``Escape``, ``Return``, ``Backspace``, ``Tab``, ``Left``, ``A`` ..."""

    key: str
    text: str = ""
    modifiers: frozenset[Modifier] = frozenset()


@dataclass(frozen=True)
class ToolReply:
    """A tool's whole state after an event.

    `plan` with `commit` (the undo label) is committed; `plan` alone is shown as a preview; neither drops a preview.
    `overlay` marks are in sheet millimetres. `word` says what the pointer snaps to. `prompt` is what a typed number
    would mean (``length``, ``height``), empty where nothing can be typed. `select` replaces the selection. `done`
    gives the pointer back to selecting. `key` joins commits that follow each other to one step of undo. `look_at` is
    scrolled into view; `flash` are places that blink once when they are first said; `edit` asks for the facts of what
    is selected.
    """

    plan: Plan | None = None
    commit: str | None = None
    overlay: tuple[AnyMark, ...] = ()
    word: str = ""
    prompt: str = ""
    select: tuple[str, ...] | None = None
    done: bool = False
    key: str | None = None
    look_at: Point | None = None
    flash: tuple[Point, ...] = ()
    edit: bool = False


class Tool(Protocol):
    """What the canvas asks of a tool. A method may raise LoomwrightError: its sentence is shown, nothing changes."""

    @property
    def cursor(self) -> CursorShape: ...

    def press(self, event: PointerEvent) -> ToolReply: ...
    def move(self, event: PointerEvent) -> ToolReply: ...
    def release(self, event: PointerEvent) -> ToolReply: ...

    def key(self, event: KeyEvent) -> ToolReply | None:
        """None: the key means nothing to the tool."""
        ...

    def typed(self, text: str) -> ToolReply:
        """What was typed into the field beside the pointer, as it was typed."""
        ...
