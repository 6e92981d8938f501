"""Circuits quickly: wire all, chain or star, switches, returns, spare wires, data and antenna runs."""

from functools import partial

from app.commands.action import Action, no_circuit
from app.commands.bench import Bench
from app.dialogs.runs import Back, ReturnDialog, Run, RunDialog, RunKind
from app.tools.switching import switched
from core.edits.change import listed, replaced
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest
from core.edits.forms import add_spares, daisy_chain, run_antenna, run_data, star
from core.edits.records import set_field
from core.errors import EditRefused
from core.model import Circuit, Plan, find

# --- wire all --------------------------------------------------------------------------------------------------------


def _source(bench: Bench) -> str:
    """The fuse block or panelboard that is meant: the selected one, else the only one; "" for none."""
    points = {device.id: device for device in bench.plan.devices if device.ways}
    chosen = [each for each in bench.selected("devices") if each in points]
    if chosen:
        return chosen[0]
    return next(iter(points)) if len(points) == 1 else ""


def _no_source(bench: Bench) -> str:
    if not any(device.ways for device in bench.plan.devices):
        return "Place a fuse block first."
    return "" if _source(bench) else "Select the fuse block that is to feed the loads."


def wire_all(bench: Bench) -> None:
    # Imported when asked for: the first window does not wait for the studies.
    from app.dialogs.wire_all import WireAllDialog

    source = _source(bench)
    name, analysis = find(bench.plan, "devices", source).name, bench.analysis()

    def done(plan: Plan, count: int) -> str:
        if bench.plan is not analysis.plan:
            # A file that was read beside the window may have come in meanwhile; nothing of it is written over.
            return "The plan has changed since this was worked out. Close this and ask again."
        fresh = [c.id for c in plan.circuits if c.id not in {old.id for old in bench.plan.circuits}]
        bench.session.commit(f"Wire all to {name}", plan)
        bench.session.select(fresh)
        bench.say(f"{count} circuits from {name}; one undo takes them all back.")
        return ""

    try:
        WireAllDialog(bench.window, analysis, source, bench.library, done).open()
    except EditRefused as refusal:
        bench.say(str(refusal))


# --- daisy chain or star ---------------------------------------------------------------------------------------------


def _one_circuit(bench: Bench) -> str:
    """The circuit that is meant: the selected one, or the one that feeds the selected device."""
    circuits = bench.selected("circuits")
    if circuits:
        return circuits[0]
    for device in bench.selected("devices"):
        fed = next((c for c in bench.plan.circuits if any(s.device == device for s in c.stops[1:])), None)
        if fed is not None:
            return fed.id
    return ""


def _no_one_circuit(bench: Bench) -> str:
    return no_circuit(bench) or ("" if _one_circuit(bench) else "Select a circuit, or what it feeds.")


def _no_several_loads(bench: Bench) -> str:
    told = _no_one_circuit(bench)
    if told:
        return told
    circuit: Circuit = find(bench.plan, "circuits", _one_circuit(bench))
    loads = [stop for stop in circuit.stops[1:] if stop.role in ("load", "tap")]
    return "" if len(loads) > 1 else f"“{circuit.name}” has one load; a chain or star needs several."


def as_chain(bench: Bench) -> None:
    from core.studies.proposals import chain_and_star

    circuit: Circuit = find(bench.plan, "circuits", _one_circuit(bench))
    analysis = bench.analysis()
    loads = [analysis.devices[stop.device] for stop in circuit.stops[1:] if stop.role in ("load", "tap")]
    order, chain_mm, star_mm = chain_and_star(analysis, analysis.devices[circuit.stops[0].device], loads)
    if bench.attempt(f"Daisy chain {circuit.name}", lambda plan: daisy_chain(plan, circuit.id, order)):
        bench.say(_told(circuit.name, "daisy chain", chain_mm, "star", star_mm))


def as_star(bench: Bench) -> None:
    from core.studies.proposals import chain_and_star

    circuit: Circuit = find(bench.plan, "circuits", _one_circuit(bench))
    analysis = bench.analysis()
    loads = [analysis.devices[stop.device] for stop in circuit.stops[1:] if stop.role in ("load", "tap")]
    _, chain_mm, star_mm = chain_and_star(analysis, analysis.devices[circuit.stops[0].device], loads)
    if bench.attempt(f"Star {circuit.name}", lambda plan: star(plan, circuit.id)):
        bench.say(_told(circuit.name, "star", star_mm, "daisy chain", chain_mm))


def _told(name: str, form: str, mine_mm: float | None, other: str, other_mm: float | None) -> str:
    if mine_mm is None or other_mm is None:
        return f"{name} is a {form} now; how far it is cannot be told before every load has a way."
    lengths = f"{mine_mm / 1000:.2f} m one-way along the channels; a {other} is {other_mm / 1000:.2f} m"
    return f"{name} is a {form} now: {lengths}."


# --- switches --------------------------------------------------------------------------------------------------------


def _switches(bench: Bench) -> list[str]:
    return [each for each in bench.selected("devices") if find(bench.plan, "devices", each).kind == "switch"]


def _switched_stop(bench: Bench) -> tuple[str, str | None]:
    """Circuit and stop that the selected switches are to switch: a selected load's, or a selected circuit's first."""
    circuits = bench.selected("circuits")
    if circuits:
        return circuits[0], None
    switches = set(_switches(bench))
    for device in bench.selected("devices"):
        if device in switches:
            continue
        for circuit in bench.plan.circuits:
            stop = next((s for s in circuit.stops[1:] if s.device == device), None)
            if stop is not None:
                return circuit.id, stop.id
    return "", None


def _no_switch(bench: Bench) -> str:
    if not _switches(bench):
        return "Select a switch (several for two-way switching) and, with Shift, the load or circuit it switches."
    return "" if _switched_stop(bench)[0] else "Select, with Shift, the load or circuit to be switched as well."


def switch(bench: Bench) -> None:
    switches = tuple(_switches(bench))
    circuit, stop = _switched_stop(bench)
    name = bench.named((circuit,))
    if bench.attempt(f"Switch {name}", lambda plan: switched(plan, circuit, stop, switches)):
        bench.session.select((circuit,))
        places = f"from {len(switches)} places" if len(switches) > 1 else "by one switch"
        bench.say(f"{name} is switched {places}.")


# --- returns ---------------------------------------------------------------------------------------------------------


def set_return(bench: Bench) -> None:
    chosen = bench.selected("circuits") or [_one_circuit(bench)]
    first: Circuit = find(bench.plan, "circuits", chosen[0])
    now = Back(first.return_path.kind, first.return_path.device, first.return_apart)

    def make(back: Back) -> str:
        path = replaced(first.return_path, kind=back.kind, device=back.device)
        try:
            plan = bench.plan
            for each in chosen:
                plan = set_field(plan, each, return_path=path, return_apart=back.apart)
        except EditRefused as refusal:
            return str(refusal)
        bench.session.commit(f"Set return of {bench.named(chosen)}", plan)
        return ""

    ReturnDialog(bench.window, bench.named(chosen), bench.plan, now, make).open()


# --- spare wires, data, antenna, bond --------------------------------------------------------------------------------


def _too_few(bench: Bench) -> str:
    return "" if len(bench.plan.devices) > 1 else "Place the two devices it joins first."


def run(kind: RunKind, bench: Bench) -> None:
    def make(wanted: Run) -> str:
        try:
            plan, unjoined = _joined(bench.plan, (wanted.start, *wanted.ends))
            plan, circuit = made_run(plan, wanted, bench)
        except EditRefused as refusal:
            return str(refusal)
        bench.session.commit(f"Add {find(plan, 'circuits', circuit).name}", plan)
        bench.session.select((circuit,))
        if unjoined:
            bench.say(f"No channel within 1 m of {listed(unjoined, 3)}: draw one, and the wires find their way.")
        return ""

    RunDialog(bench.window, kind, bench.plan, bench.library, bench.selected("devices"), make).open()


def _joined(plan: Plan, devices: tuple[str, ...]) -> tuple[Plan, list[str]]:
    unjoined = []
    for each in devices:
        device = find(plan, "devices", each)
        if device.node is None:
            try:
                plan, _ = connect_to_nearest(plan, each)
            except EditRefused:
                unjoined.append(f"“{device.name}”")
    return plan, unjoined


def made_run(plan: Plan, wanted: Run, bench: Bench) -> tuple[Plan, str]:
    """The plan with the run, and its circuit. Raises EditRefused."""
    library, name = bench.library, wanted.name or None
    match wanted.kind:
        case "spare":
            return add_spares(
                plan, wanted.start, wanted.ends[0], wanted.count, library, wanted.section_mm2, wanted.group, name
            )
        case "data":
            return run_data(plan, wanted.start, wanted.ends, library, wanted.kind_id, name)
        case "antenna":
            return run_antenna(plan, wanted.start, wanted.ends[0], library, wanted.kind_id, name)
        case "bond":
            return connect(plan, wanted.start, None, wanted.ends, name, "bond", library)


ACTIONS = (
    Action("wire-all", "Wire all unwired loads…", "Circuits", wire_all, "Ctrl+Alt+W", _no_source, parted=True,
           stages=("circuits",)),
    Action("switch-leg", "Switch the load", "Circuits", switch, "Ctrl+Shift+K", _no_switch, stages=("circuits",),
           on_sheet=1),
    Action("as-chain", "As a daisy chain", "Circuits", as_chain, "", _no_several_loads),
    Action("as-star", "As a star", "Circuits", as_star, "", _no_several_loads),
    Action("return", "Return…", "Circuits", set_return, "Ctrl+Shift+R", _no_one_circuit),
    Action("spare-wires", "Spare wires…", "Circuits", partial(run, "spare"), "", _too_few, parted=True),
    Action("data-run", "Data run…", "Circuits", partial(run, "data"), "", _too_few),
    Action("antenna-run", "Antenna run…", "Circuits", partial(run, "antenna"), "", _too_few),
    Action("bond", "Chassis bond…", "Circuits", partial(run, "bond"), "", _too_few),
)  # fmt: skip
