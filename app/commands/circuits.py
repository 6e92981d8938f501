"""Connect devices and join them to channels."""

from app.commands.action import Action, no_device
from app.commands.bench import Bench
from app.tools.connect import connected
from core.edits.devices import connect_to_nearest
from core.model import SOURCES, Plan, find


def _no_pair(bench: Bench) -> str:
    """Why the selection is no source with what it feeds."""
    chosen = bench.selected("devices")
    if len(chosen) < 2:
        return "Select a fuse block (or another source) first, then, with Shift, what it feeds."
    source = find(bench.plan, "devices", chosen[0])
    if source.kind not in SOURCES and not source.ways:
        return f"“{source.name}” cannot feed a circuit; select the source first."
    return ""


def connect_selection(bench: Bench) -> None:
    source, *loads = bench.selected("devices")
    told, new = "", ""

    def edit(plan: Plan) -> Plan:
        nonlocal told, new
        plan, new, told = connected(plan, source, tuple(loads), bench.library)
        return plan

    if bench.attempt(f"Connect {bench.named(loads[-1:])}", edit):
        bench.session.select((new,))
        if told:
            bench.say(told)


def join_nearest(bench: Bench) -> None:
    chosen = bench.selected("devices")

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan, _ = connect_to_nearest(plan, each)
        return plan

    bench.attempt(f"Join {bench.named(chosen)} to a channel", edit)


ACTIONS = (
    Action("connect", "Connect as a circuit", "Circuits", connect_selection, "Ctrl+L", _no_pair,
           stages=("circuits",), on_sheet=1),
    Action("join", "Join nearest channel", "Circuits", join_nearest, "Ctrl+J", no_device,
           stages=("channels",), on_sheet=1),
)  # fmt: skip
