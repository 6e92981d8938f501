"""Undo and redo, and what is done to what is selected."""

from app.commands.action import Action, no_device, nothing_selected
from app.commands.bench import Bench
from app.tools.moving import collection_of
from core.edits import devices, records
from core.model import Plan, find

#: How far away on its surface a copy is laid.
COPY_BY_MM = (100.0, -100.0)


def _nothing_to_undo(bench: Bench) -> str:
    return "" if bench.session.can_undo else "There is nothing to undo."


def _nothing_to_redo(bench: Bench) -> str:
    return "" if bench.session.can_redo else "There is nothing to redo."


def delete(bench: Bench) -> None:
    chosen = [each for each in bench.session.selection if collection_of(bench.plan, each) is not None]
    if not chosen:
        bench.say("A wire is derived from its circuit: delete or change the circuit.")
        return
    told = ""

    def edit(plan: Plan) -> Plan:
        nonlocal told
        plan, deletion = records.delete(plan, chosen)
        told = str(deletion)
        return plan

    if bench.attempt(f"Delete {bench.named(chosen)}", edit) and told:
        bench.say(told)


def duplicate(bench: Bench) -> None:
    chosen, new = bench.selected("devices"), list[str]()

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan, copy = devices.duplicate(plan, each, COPY_BY_MM)
            new.append(copy)
        return plan

    if bench.attempt(f"Duplicate {bench.named(chosen)}", edit):
        bench.session.select(new)


def turn(bench: Bench) -> None:
    chosen = bench.selected("devices")

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan = devices.turn_device(plan, each, find(plan, "devices", each).turn_deg + 90.0)
        return plan

    bench.attempt(f"Turn {bench.named(chosen)}", edit)


def select_all_alike(bench: Bench) -> None:
    collection = collection_of(bench.plan, bench.session.selection[0])
    if collection is not None:
        bench.session.select(record.id for record in getattr(bench.plan, collection))


ACTIONS = (
    Action("undo", "Undo {undo}", "Edit", lambda b: b.session.undo(), "Ctrl+Z", _nothing_to_undo),
    Action("redo", "Redo {redo}", "Edit", lambda b: b.session.redo(), "Ctrl+Shift+Z", _nothing_to_redo),
    Action("delete", "Delete", "Edit", delete, "Del", nothing_selected, parted=True, on_sheet=2),
    Action("duplicate", "Duplicate", "Edit", duplicate, "Ctrl+D", no_device, stages=("devices",), on_sheet=1),
    Action("turn", "Turn by 90°", "Edit", turn, "Ctrl+T", no_device, stages=("devices",), on_sheet=1),
    Action("alike", "Select all of this kind", "Edit", select_all_alike, "Ctrl+A", nothing_selected, parted=True,
           on_sheet=2),
    Action("facts", "Edit facts", "Edit", lambda b: b.show_pane("facts"), "F2", on_sheet=0),
    Action("find", "Find in the plan", "Edit", lambda b: b.show_pane("outline"), "Ctrl+F"),
    Action("find-device", "Find a device to place", "Edit", lambda b: b.show_pane("devices"), "Ctrl+G",
           stages=("devices",)),
)  # fmt: skip
