"""Stage `loads`: the current in every leg of every circuit, added up along the real distribution tree.

A constant-power load draws P / (efficiency x lowest working voltage), a resistive one P / nominal voltage. A feeder
carries the currents behind it weighted by their duty (diversity), and on top of them the largest single one whole: a
pump that runs one minute in ten still draws all of its current. Its peak has the largest single peak on top instead.
What is fed in a ring is cut where the ring closes, and named by a finding.
"""

from dataclasses import dataclass

from core.analysis.results import CircuitLoad
from core.analysis.supply import CHARGERS, ORIGINS, PASSES_ON, Supply, base_volts, chain
from core.electrical.drop import constant_power_current_a
from core.model import Circuit, Device

__all__ = ["ORIGINS", "PASSES_ON", "Draw", "base_volts", "circuit_loads", "lowest_volts", "own_draw"]

#: Share of the nominal voltage that a DC load still has to work at where its maker says nothing
#: (12 V: 10.8 V; common practice, no source). Mains is counted at its nominal voltage.
LOWEST_SHARE_DC = 0.9


@dataclass(frozen=True)
class Draw:
    """Amperes: running, peak, and the average that a feeder in front of it has to reckon with."""

    running_a: float
    peak_a: float
    diverse_a: float

    def times(self, factor: float) -> "Draw":
        return Draw(self.running_a * factor, self.peak_a * factor, self.diverse_a * factor)


NOTHING = Draw(0.0, 0.0, 0.0)


def add(draws: list[Draw]) -> Draw:
    """The draws together: currents add, and only the largest single peak is on top of what runs."""
    running = sum(d.running_a for d in draws)
    extra = max((d.peak_a - d.running_a for d in draws), default=0.0)
    return Draw(running, running + extra, sum(d.diverse_a for d in draws))


def feeder(draws: list[Draw]) -> Draw:
    """What a distribution point asks of its feeder: the averages, with the largest single current on top."""
    diverse = sum(d.diverse_a for d in draws)
    running = max((d.running_a - d.diverse_a for d in draws), default=0.0)
    peak = max((d.peak_a - d.diverse_a for d in draws), default=0.0)
    return Draw(diverse + running, diverse + peak, diverse)


def lowest_volts(device: Device) -> float:
    """The lowest voltage the device works at: its maker's, or the usual share of nominal for DC."""
    if device.electrical.lowest_v is not None and device.electrical.lowest_v > 0:
        return device.electrical.lowest_v
    nominal = base_volts(device)
    return nominal if device.electrical.system.startswith("ac") else nominal * LOWEST_SHARE_DC


def _efficiency(device: Device) -> float:
    """Output over input; 1 where what is said cannot be."""
    return device.electrical.efficiency if 0 < device.electrical.efficiency <= 1 else 1.0


def own_draw(device: Device) -> Draw:
    """What the device itself draws at its input: at work for the share of time its duty says, idle for the rest.

    Numbers that make no sense count as nothing; a finding names them.
    """
    e = device.electrical
    running = max(e.current_a or 0.0, 0.0)
    if e.current_a is None and e.power_w is not None:
        volts = base_volts(device) if e.resistive else lowest_volts(device)
        running = constant_power_current_a(max(e.power_w, 0.0), volts, _efficiency(device)) if volts > 0 else 0.0
    idle = max(e.idle_a or 0.0, 0.0)
    running = max(running, idle)
    return Draw(running, max(e.peak_a or 0.0, running), idle + (running - idle) * min(max(e.duty, 0.0), 1.0))


class _Tree:
    def __init__(self, supply: Supply) -> None:
        self.supply, self.devices = supply, supply.devices
        self._open: set[str] = set()
        self._legs: dict[str, dict[str, Draw]] = {}

    def legs(self, circuit: Circuit) -> dict[str, Draw]:
        """Draw of the leg that ends at each stop."""
        known = self._legs.get(circuit.id)
        if known is not None:
            return known
        if circuit.id in self._open:
            return {}
        self._open.add(circuit.id)
        under: dict[str, list[Draw]] = {stop.id: [] for stop in circuit.stops}
        result: dict[str, Draw] = {}
        for stop in reversed(circuit.stops[1:]):
            draws = under[stop.id]
            if stop.role in ("load", "tap"):
                draws = [self.demand(self.devices[stop.device], circuit), *draws]
            result[stop.id] = add(draws)
            if stop.after in under:
                under[stop.after].append(result[stop.id])
        self._open.discard(circuit.id)
        pushed = self._given(circuit)
        given = max(circuit.current_a or 0.0, pushed)
        if pushed > 0 and self.supply.charges(circuit):
            # What else the bus feeds comes from its battery: a charger never gives more than its rating.
            result = dict.fromkeys(result, Draw(given, given, given))
        elif given > 0:
            result = {
                stop: Draw(max(d.running_a, given), max(d.peak_a, given), max(d.diverse_a, given))
                for stop, d in result.items()
            }
        if not self._open:
            self._legs[circuit.id] = result
        return result

    def _given(self, circuit: Circuit) -> float:
        """Current that the source pushes into the circuit: a charger or solar module gives its rating, and so does
        a converter that charges a battery."""
        source = self.supply.source(circuit)
        if circuit.kind == "bond" or source.kind not in CHARGERS:
            return 0.0
        if source.kind == "converter" and not self.supply.charges(circuit):
            return 0.0
        return max(source.electrical.rating_a or 0.0, 0.0)

    def demand(self, device: Device, through: Circuit) -> Draw:
        """What a device asks of a circuit that feeds it."""
        if device.kind == "battery":
            return NOTHING  # a battery is fed by what the source can give
        if through.kind == "spare":
            return NOTHING  # pulled for later, connected to nothing
        children = [c for c in self.supply.leaving.get(device.id, []) if c.id != through.id and c.kind != "bond"]
        if device.kind == "inverter" and through.group == "mains":
            # An inverter/charger hands the shore's mains on; what its charger takes is said by its circuit.
            return feeder([self.at_source(c) for c in children if c.group == "mains"])
        if device.kind in PASSES_ON:
            return feeder([*(self.at_source(c) for c in children), own_draw(device)])
        e, own = device.electrical, own_draw(device).times(1 / self.supply.adapts(device, through))
        if e.current_a or e.power_w or device.kind not in ("inverter", "converter"):
            return own
        total = feeder([self.at_source(c).times(self.supply.volts(c)) for c in children])
        volts = _efficiency(device) * lowest_volts(device)
        # What it needs for itself comes on top of what it passes on.
        return add([total.times(1 / volts), own]) if volts > 0 else own

    def at_source(self, circuit: Circuit) -> Draw:
        """The draw at the circuit's source: all legs that follow it."""
        legs = self.legs(circuit)
        first = circuit.stops[0].id
        return add([legs[s.id] for s in circuit.stops[1:] if s.after == first and s.id in legs])


def _returns(
    circuit: Circuit, legs: dict[str, Draw], coming_home: dict[tuple[str, str], list[Draw]]
) -> tuple[tuple[str, float, float], ...]:
    """Current of the returns that carry more than their feeds, by stop."""
    both = {
        stop: add([draw, *coming_home[(circuit.id, stop)]])
        for stop, draw in legs.items()
        if (circuit.id, stop) in coming_home
    }
    return tuple((stop, d.running_a, d.peak_a) for stop, d in both.items())


def circuit_loads(circuits: tuple[Circuit, ...], devices: tuple[Device, ...]) -> dict[str, CircuitLoad]:
    """Currents of every circuit, by its id."""
    supply = Supply(circuits, devices)
    tree = _Tree(supply)
    coming_home: dict[tuple[str, str], list[Draw]] = {}
    for circuit in supply.circuits.values():
        for feeder_, stop in supply.homeward(circuit):
            for passed in chain(feeder_, stop):
                coming_home.setdefault((feeder_.id, passed.id), []).append(tree.at_source(circuit))
    result = {}
    for circuit in supply.circuits.values():
        legs = tree.legs(circuit)
        total = tree.at_source(circuit)
        result[circuit.id] = CircuitLoad(
            circuit=circuit.id,
            current_a=total.running_a,
            peak_a=total.peak_a,
            diverse_a=total.diverse_a,
            base_v=supply.volts(circuit),
            legs=tuple((stop, d.running_a, d.peak_a) for stop, d in legs.items()),
            returns=_returns(circuit, legs, coming_home),
            upstream=tuple(c.id for c in supply.upstream(circuit)),
        )
    return result
