"""An action of the window as data, and the reasons several of them share for not running now."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from app.commands.bench import Bench
from app.session import Session

MenuName = Literal["File", "Edit", "View", "Draw", "Change", "Circuits", "Findings", "Papers", "Help"]
WhyNot = Callable[[Bench], str]


@dataclass(frozen=True)
class Action:
    """`words` may hold ``{undo}`` and ``{redo}``, the names of the edits. `why_not` gives "" when it can run."""

    id: str
    words: str
    menu: MenuName
    run: Callable[[Bench], object]
    keys: str = ""
    why_not: WhyNot = lambda _: ""
    #: A line above it in its menu.
    parted: bool = False
    #: Checked while this holds; None is no check mark.
    is_on: Callable[[Bench], bool] | None = None
    #: Stages on whose bar it stands, after the tools.
    stages: tuple[str, ...] = ()
    #: The button on those bars under which it stands with others; "" is a button of its own.
    group: str = ""
    #: Sets it on the menu of the sheet, among those of the same group (0 is first); None leaves it out.
    on_sheet: int | None = None


def words(action: Action, session: Session) -> str:
    """Its words now; the edit's name in undo and redo."""
    undo, redo = session.undo_label, session.redo_label
    lower = (undo[:1].lower() + undo[1:], redo[:1].lower() + redo[1:])
    return action.words.format(undo=lower[0], redo=lower[1]).strip()


def nothing_selected(bench: Bench) -> str:
    return "" if bench.session.selection else "Select something first."


def no_device(bench: Bench) -> str:
    return "" if bench.selected("devices") else "Select a device first."


def no_surface(bench: Bench) -> str:
    return "" if bench.plan.surfaces else "Draw the floor first."


def no_circuit(bench: Bench) -> str:
    return "" if bench.plan.circuits else "There are no circuits yet."
