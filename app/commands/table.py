"""Every action of the window, declared once: menus, tool bars, shortcuts and command search are made from this table.

Within a menu they stand in the order of the table. An action that cannot run says why in a sentence.
"""

from app.commands import (
    adding,
    channels,
    circuits,
    clipping,
    drawing,
    edit,
    files,
    findings,
    finishing,
    helping,
    loads,
    papers,
    sheet,
    shelf,
    starting,
    underlays,
    variants,
    view,
    wiring,
)
from app.commands.action import Action

ACTIONS: tuple[Action, ...] = (
    *files.ACTIONS,
    *edit.ACTIONS,
    *shelf.ACTIONS,
    *clipping.ACTIONS,
    *view.ACTIONS,
    *sheet.ACTIONS,
    *drawing.ACTIONS,
    *underlays.ACTIONS,
    *circuits.ACTIONS,
    *wiring.ACTIONS,
    *loads.ACTIONS,
    *channels.ACTIONS,
    *adding.ACTIONS,
    *variants.ACTIONS,
    *findings.ACTIONS,
    *papers.ACTIONS,
    *finishing.ACTIONS,
    *starting.ACTIONS,
    *helping.ACTIONS,
)
