"""Every action of the window, declared once: menus, tool bars, shortcuts and command search are made from this table.

Within a menu they stand in the order of the table. An action that cannot run says why in a sentence.
"""

from app.commands import (
    circuits,
    drawing,
    edit,
    files,
    findings,
    finishing,
    helping,
    loads,
    papers,
    starting,
    view,
    wiring,
)
from app.commands.action import Action

ACTIONS: tuple[Action, ...] = (
    *files.ACTIONS,
    *edit.ACTIONS,
    *view.ACTIONS,
    *drawing.ACTIONS,
    *circuits.ACTIONS,
    *wiring.ACTIONS,
    *loads.ACTIONS,
    *findings.ACTIONS,
    *papers.ACTIONS,
    *finishing.ACTIONS,
    *starting.ACTIONS,
    *helping.ACTIONS,
)
