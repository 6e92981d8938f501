"""What holds for channels at a click: open, blocked, unknown, spare duct; and wires set free of their waypoints."""

from collections.abc import Callable
from functools import partial
from typing import Literal

from app.commands.action import Action
from app.commands.bench import Bench
from core.edits.change import get
from core.edits.channels import set_groups
from core.edits.inner import lay_inner_conduit, take_inner_conduits_out
from core.edits.lines import route_by
from core.edits.records import set_field
from core.edits.risers import rise_or_fall
from core.errors import EditRefused
from core.model import Channel, Circuit, Plan

State = Literal["open", "blocked", "unknown"]


def _no_channel(bench: Bench) -> str:
    return "" if bench.selected("channels") else "Select a channel first."


def set_state(state: State, bench: Bench) -> None:
    chosen = bench.selected("channels")
    if _for_all(bench, chosen, f"Mark {bench.named(chosen)} {state}", lambda plan, c: set_field(plan, c, state=state)):
        told = {
            "open": "wires may use it",
            "blocked": "no wire may use it",
            "unknown": "wires through it stay provisional until somebody has looked",
        }
        bench.say(f"{bench.named(chosen)} is {state}: {told[state]}.")


def spare_duct(bench: Bench) -> None:
    """Leave empty with a draw string, or take into use again."""
    chosen = bench.selected("channels")
    spare = not all(get(bench.plan, "channels", each).spare_duct for each in chosen)

    def edit(plan: Plan, each: str) -> Plan:
        channel: Channel = get(plan, "channels", each)
        kind = "closed_conduit" if spare and channel.kind == "open" else channel.kind
        return set_field(plan, each, spare_duct=spare, draw_string=spare, kind=kind)

    what = "a spare duct" if spare else "no spare duct"
    if _for_all(bench, chosen, f"Make {bench.named(chosen)} {what}", edit):
        told = "left empty with its draw string" if spare else "in use: wires may be planned into it"
        bench.say(f"{bench.named(chosen)} is {told}.")


def _for_all(bench: Bench, chosen: list[str], label: str, edit: Callable[[Plan, str], Plan]) -> bool:
    def all_of_them(plan: Plan) -> Plan:
        for each in chosen:
            plan = edit(plan, each)
        return plan

    return bench.attempt(label, all_of_them)


def mains_only(bench: Bench) -> None:
    chosen = bench.selected("channels")
    if bench.attempt(f"Keep {bench.named(chosen)} for mains", lambda plan: set_groups(plan, chosen, ("mains",))):
        bench.say(f"Only mains may lie in {bench.named(chosen)}; mains work is for a licensed person.")


def fall(bench: Bench) -> None:
    chosen = bench.selected("devices")
    new: list[str] = []

    def edit(plan: Plan) -> Plan:
        for each in chosen:
            plan, made = rise_or_fall(plan, each)
            new.extend(made)
        return plan

    if bench.attempt(f"Draw fall of {bench.named(chosen)}", edit):
        bench.session.select(new)


# --- waypoints -------------------------------------------------------------------------------------------------------


def _led(bench: Bench) -> list[Circuit]:
    chosen = bench.selected("circuits")
    rows: list[Circuit] = [get(bench.plan, "circuits", each) for each in chosen]
    return [circuit for circuit in rows if any(stop.waypoints for stop in circuit.stops)]


def _not_led(bench: Bench) -> str:
    return "" if _led(bench) else "Select a circuit that is led by waypoints."


def set_free(bench: Bench) -> None:
    circuits = _led(bench)

    def edit(plan: Plan) -> Plan:
        for circuit in circuits:
            plan = route_by(plan, circuit.id, None, ())
        return plan

    bench.attempt(f"Set {bench.named([c.id for c in circuits])} free", edit)


def inner_conduit(bench: Bench) -> None:
    """Ask which conduit lies in the bundles of the selected channels."""
    # Imported when asked for: the first window does not wait for the stages.
    from app.dialogs.inner import Inner, InnerConduitDialog

    chosen = bench.selected("channels")
    bundles = [bundle for each in chosen if (bundle := bench.analysis().bundles.get(each)) is not None]
    inside = {bench.analysis().wires[wire].circuit for bundle in bundles for wire in bundle.wires}
    kinds = {kind.id: kind for kind in (*bench.library.conduit_kinds, *bench.plan.conduit_kinds)}

    def make(inner: Inner) -> str:
        try:
            plan = lay_inner_conduit(bench.plan, chosen, inner.kind, inner.circuits, inner.draw_string)
        except EditRefused as refusal:
            return str(refusal)
        bench.session.commit("Lay a conduit in the bundle", plan)
        bench.say(f"{inner.kind.name} lies in the bundle of {bench.named(chosen)}.")
        return ""

    rows = sorted(kinds.values(), key=lambda kind: (kind.split, kind.od_mm is None, kind.bore_mm))
    circuits = [circuit for circuit in bench.plan.circuits if circuit.id in inside]
    InnerConduitDialog(bench.window, bench.named(chosen), rows, circuits, make).open()


def _no_inner(bench: Bench) -> str:
    chosen = [get(bench.plan, "channels", each) for each in bench.selected("channels")]
    if not chosen:
        return "Select a channel first."
    return "" if any(channel.inner for channel in chosen) else "There is no conduit in its bundle."


def inner_conduits_out(bench: Bench) -> None:
    chosen = bench.selected("channels")
    if bench.attempt("Take the conduits out of the bundle", lambda plan: take_inner_conduits_out(plan, chosen)):
        bench.say("The conduits are out; their wires stay in the bundle.")


ACTIONS = (
    Action("fall", "Fall to the channel above or below", "Circuits", fall, "Ctrl+Shift+J",
           lambda b: "" if b.selected("devices") else "Select a device first.", parted=True, on_sheet=1),
    Action("channel-open", "Channel is open", "Circuits", partial(set_state, "open"), "", _no_channel),
    Action("channel-blocked", "Channel is blocked", "Circuits", partial(set_state, "blocked"), "Ctrl+Alt+B",
           _no_channel, on_sheet=3),
    Action("channel-unknown", "Channel is unknown", "Circuits", partial(set_state, "unknown"), "Ctrl+Alt+U",
           _no_channel, on_sheet=3),
    Action("spare-duct", "Spare duct with draw string", "Circuits", spare_duct, "", _no_channel,
           on_sheet=3),
    Action("inner-conduit", "Conduit in the bundle…", "Circuits", inner_conduit, "", _no_channel, on_sheet=3),
    Action("inner-conduits-out", "Take conduits out of the bundle", "Circuits", inner_conduits_out, "", _no_inner),
    Action("mains-only", "Keep channel for mains", "Circuits", mains_only, "", _no_channel),
    Action("set-free", "Set its wires free of waypoints", "Circuits", set_free, "", _not_led),
)  # fmt: skip
