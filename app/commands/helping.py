"""Find a command, all keys, about."""

from functools import partial

from app.commands.action import Action, words
from app.commands.bench import Bench
from app.dialogs.help import AboutDialog, Command, CommandSearch, KeysDialog
from app.tools.toolbox import TOOLS, needed


def commands(bench: Bench) -> tuple[Command, ...]:
    """Actions and tools, with why they cannot run now."""
    # The table holds this module's actions too.
    from app.commands.table import ACTIONS as ALL

    tools = tuple(
        Command(row.words, row.tip, row.key, needed(bench.plan, row.needs), partial(bench.pointer.take, row.id))
        for row in TOOLS
    )
    actions = tuple(
        Command(words(action, bench.session), action.menu, action.keys, action.why_not(bench),
                partial(action.run, bench))
        for action in ALL
    )  # fmt: skip
    return (*tools, *actions)


def find_command(bench: Bench) -> None:
    CommandSearch(bench.window, commands(bench)).open()


def show_keys(bench: Bench) -> None:
    KeysDialog(bench.window, commands(bench)).open()


ACTIONS = (
    Action("command", "Find a command…", "Help", find_command, "Ctrl+K", parted=True),
    Action("keys", "Keyboard", "Help", show_keys, "Ctrl+F1"),
    Action("about", "About and licences", "Help", lambda b: AboutDialog(b.window).open(), parted=True),
)
