"""Variants side by side, and the plan on 24 V instead of 12 V."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from core.analysis.analysis import Analysis
from core.edits.change import put, replaced
from core.model import Circuit, Device, Electrical, Plan
from core.model.devices import System
from core.studies.difference import thickest, worst_drop

#: Devices that are chosen for a system and cannot be told 24 V: what they give goes by what is fed.
CONVERTERS = frozenset({"converter"})


@dataclass(frozen=True)
class Row:
    """One line of a comparison: a title, its unit, and a value for each plan (None: cannot be told).

    `best` is the index of the plan that does best in it, None where none does or nothing is better or worse.
    """

    title: str
    unit: str
    values: tuple[float | None, ...]
    best: int | None = None


@dataclass(frozen=True)
class CircuitRow:
    """A circuit in every plan: (section mm2, fuse A, one-way mm, percent lost) or None where the plan has none."""

    name: str
    values: tuple[tuple[float | None, float | None, float | None, float | None] | None, ...]


@dataclass(frozen=True)
class Comparison:
    names: tuple[str, ...]
    rows: tuple[Row, ...]
    circuits: tuple[CircuitRow, ...]


def compare(plans: Sequence[tuple[str, Analysis]]) -> Comparison:
    """Plans side by side, under these names. Circuits are the same one where they have the same id, else the name."""
    analyses = [analysis for _, analysis in plans]
    rows = [
        _row("Circuits", "", [float(len(a.plan.circuits)) for a in analyses]),
        _row("Wire to cut", "m", [a.totals.cut_mm / 1000 for a in analyses], less=True),
        _row("Bundles", "m", [sum(b.length_mm for b in a.bundles.values()) / 1000 for a in analyses], less=True),
        _row("Thickest bundle", "mm", [_thickest_bundle(a) for a in analyses], less=True),
        _row("Weight of wire", "kg", [a.totals.mass_kg for a in analyses], less=True),
        _row("Price of wire", "", [a.totals.price if a.pieces else 0.0 for a in analyses], less=True),
        _row("Tape", "m", [a.totals.tape_mm / 1000 for a in analyses], less=True),
        _row("Most of a drop limit used", "%", [_used(a) for a in analyses], less=True),
        *(
            _row(title, "", [_count(a, severity) for a in analyses], less=True)
            for title, severity in (("Errors", "error"), ("Warnings", "warning"), ("Notes", "note"))
        ),
    ]
    return Comparison(tuple(name for name, _ in plans), tuple(rows), _circuits(analyses))


def _row(title: str, unit: str, values: Sequence[float | None], less: bool = False) -> Row:
    known = [value for value in values if value is not None]
    best = None
    if less and len(known) == len(values) > 1 and min(known) < max(known):
        low = min(known)
        best = known.index(low) if known.count(low) == 1 else None
    return Row(title, unit, tuple(values), best)


def _thickest_bundle(analysis: Analysis) -> float:
    return max((bundle.diameter_laid_mm for bundle in analysis.bundles.values()), default=0.0)


def _used(analysis: Analysis) -> float | None:
    worst = worst_drop(analysis)
    return None if worst is None else worst[2] * 100


def _count(analysis: Analysis, severity: str) -> float:
    return float(sum(f.severity == severity and not f.waived for f in analysis.findings))


def _circuits(analyses: Sequence[Analysis]) -> tuple[CircuitRow, ...]:
    order: dict[str, str] = {}
    for analysis in analyses:
        for circuit in analysis.plan.circuits:
            order.setdefault(_same(circuit, order), circuit.name)
    rows = []
    for key, name in order.items():
        rows.append(CircuitRow(name, tuple(_told(analysis, key, name) for analysis in analyses)))
    return tuple(rows)


def _same(circuit: Circuit, order: dict[str, str]) -> str:
    """The key of a circuit among those there are: its id where the name agrees, else the one of that name."""
    if order.get(circuit.id, circuit.name) == circuit.name:
        return circuit.id
    return next((key for key, name in order.items() if name == circuit.name), f"{circuit.id} {circuit.name}")


def _told(
    analysis: Analysis, key: str, name: str
) -> tuple[float | None, float | None, float | None, float | None] | None:
    circuit = next(
        (c for c in analysis.plan.circuits if c.id == key and c.name == name),
        next((c for c in analysis.plan.circuits if c.name == name), None),
    )
    if circuit is None:
        return None
    size = analysis.circuit_sizes[circuit.id]
    lost = [
        analysis.sized[w.id].drop_percent
        for w in analysis.wires.values()
        if w.circuit == circuit.id and w.id in analysis.sized
    ]
    percent = max((value for value in lost if value is not None), default=None)
    return thickest(analysis).get(circuit.id), size.fuse_a, size.one_way_mm, percent


# --- 24 V instead of 12 V ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Derived:
    """A plan derived from another, with what was changed in it and what somebody still has to decide, in words."""

    plan: Plan
    changed: tuple[str, ...]
    decide: tuple[str, ...]


def on_24v(plan: Plan, keep: Collection[str] = ()) -> Derived:
    """The plan on 24 V instead of 12 V; devices in `keep` (the vehicle's own battery, say) stay on 12 V.

    A device that works on both stays as it is; any other is taken to be replaced by one of the same power for 24 V:
    half the current, twice the lowest voltage. Sizes and ratings set by hand are chosen anew.
    """
    return _on_other(plan, "dc12", "dc24", 2.0, keep)


def _on_other(plan: Plan, old: System, new: System, factor: float, keep: Collection[str]) -> Derived:
    changed, decide, devices = [], [], []
    for device in plan.devices:
        data = device.electrical
        if device.id in keep or old not in (data.system, data.output):
            if old in (data.system, data.output):
                decide.append(f"{device.name} stays on 12 V: a converter has to lie between it and 24 V.")
            continue
        if new in data.also and data.output is None:
            # The label's numbers hold on 12 V; on 24 V the analysis draws the same power at half the current.
            changed.append(f"{device.name} works on both.")
            continue
        devices.append(replaced(device, electrical=_rated(device, old, new, factor)))
        changed.append(f"{device.name}: the 24 V one{_halved(data, factor)}.")
        if device.kind in CONVERTERS:
            decide.append(f"{device.name} may not be needed any more, or the other way round: look at what it feeds.")
        if device.kind == "battery":
            decide.append(f"{device.name}: two of 12 V in series, or one of 24 V, where an Ah holds twice as much.")
        if data.maker_table and not any(row.system in (None, new) for row in data.maker_table):
            decide.append(f"{device.name}: take the maker's cable table for 24 V.")
    ids = {device.id for device in devices}
    result = put(plan, "devices", *devices)
    circuits = []
    for circuit in plan.circuits:
        if circuit.group != "dc_power" or not ids & {stop.device for stop in circuit.stops}:
            continue
        if circuit.section_mm2 is None and circuit.protective.rating_a is None and circuit.current_a is None:
            continue
        current = None if circuit.current_a is None else circuit.current_a / factor
        freed = replaced(
            circuit, section_mm2=None, current_a=current, protective=replaced(circuit.protective, rating_a=None)
        )
        circuits.append(freed)
        changed.append(f"{circuit.name}: size and fuse are chosen anew.")
    return Derived(put(result, "circuits", *circuits), tuple(changed), tuple(decide))


def _halved(data: Electrical, factor: float) -> str:
    return "" if data.current_a is None else f", {data.current_a / factor:g} A instead of {data.current_a:g} A"


def _rated(device: Device, old: System, new: System, factor: float) -> Electrical:
    data = device.electrical
    amps = {
        name: None if (value := getattr(data, name)) is None else value / factor
        for name in ("current_a", "peak_a", "largest_fuse_a")
    }
    # A way or a stud carries what it carries; only a source that gives power gives half the current.
    gives = device.kind in ("charger", "converter") and data.output == old and data.rating_a is not None
    lowest = data.lowest_v
    return replaced(
        data,
        system=new if data.system == old else data.system,
        output=new if data.output == old else data.output,
        also=tuple(each for each in data.also if each != new),
        lowest_v=lowest * factor if lowest is not None and data.system == old else lowest,
        rating_a=data.rating_a / factor if gives and data.rating_a is not None else data.rating_a,
        maker_table=tuple(row for row in data.maker_table if row.system in (None, new)),
        **(amps if data.system == old else {}),
    )
