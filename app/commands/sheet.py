"""The sheet as a whole: the vehicle folded up, layers, history."""

from app.commands.action import Action, no_surface
from app.commands.bench import Bench
from app.dialogs.fold_up import FoldUpWindow


def fold_up(bench: Bench) -> None:
    """Show the vehicle folded up, in the window that is open for it or in a new one."""
    told = no_surface(bench)
    if told:
        bench.say(told)
        return
    open_one: FoldUpWindow | None = bench.window.findChild(FoldUpWindow)
    if open_one is None:
        open_one = FoldUpWindow(bench.window, bench.session, lambda: bench.view.theme)
    open_one.show()
    open_one.raise_()
    open_one.activateWindow()


ACTIONS = (
    Action("fold-up", "Fold up", "View", fold_up, "Ctrl+U", no_surface, parted=True,
           stages=("survey", "fit-out", "channels", "checks")),
    Action("layers", "Layers", "View", lambda b: b.show_pane("layers"), "Ctrl+Shift+L"),
    Action("history", "History", "Edit", lambda b: b.show_pane("history"), "Ctrl+H"),
)  # fmt: skip
