"""Stage `loads`: the current in every leg of every circuit, added up along the real distribution tree.

A constant-power load draws P / (efficiency x lowest working voltage), a resistive one P / nominal voltage. A feeder
carries the currents behind it weighted by their duty (diversity); its peak is that sum with the largest single peak
in it. What is fed in a ring is cut where the ring closes, and named by a finding.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from core.analysis.results import CircuitLoad
from core.model import NOMINAL_V, Circuit, Device

#: Share of the nominal voltage that a DC load still has to work at where its maker says nothing
#: (12 V: 10.8 V; common practice, no source). Mains is counted at its nominal voltage.
LOWEST_SHARE_DC = 0.9

#: Devices that hand on what comes in, at the same voltage.
PASSES_ON = frozenset({"fuse_block", "bus_bar", "panelboard", "shunt", "switch", "fuse", "rcd", "shore_inlet"})
#: Devices that are a source of their own: the current of what they feed ends here.
ORIGINS = frozenset({"battery", "charger", "converter", "inverter", "solar", "shore_inlet"})


@dataclass(frozen=True)
class Draw:
    """Amperes: running, peak, and what a feeder in front of it has to reckon with."""

    running_a: float
    peak_a: float
    diverse_a: float


NOTHING = Draw(0.0, 0.0, 0.0)


def add(draws: list[Draw]) -> Draw:
    """The draws together: currents add, and only the largest single peak is on top of what runs."""
    running = sum(d.running_a for d in draws)
    extra = max((d.peak_a - d.running_a for d in draws), default=0.0)
    return Draw(running, running + extra, sum(d.diverse_a for d in draws))


def feeder(draws: list[Draw]) -> Draw:
    """What a distribution point asks of its feeder: the diverse currents, with the largest single peak on top."""
    diverse = sum(d.diverse_a for d in draws)
    extra = max((d.peak_a - d.diverse_a for d in draws), default=0.0)
    return Draw(diverse, diverse + extra, diverse)


def base_volts(device: Device) -> float:
    """Nominal volts of a device's system; a solar module's own working volts; 0 where volts mean nothing."""
    electrical = device.electrical
    if electrical.system == "solar":
        return electrical.lowest_v or 0.0
    return NOMINAL_V.get(electrical.system, 0.0)


def lowest_volts(device: Device) -> float:
    """The lowest voltage the device works at: its maker's, or the usual share of nominal for DC."""
    if device.electrical.lowest_v is not None:
        return device.electrical.lowest_v
    nominal = base_volts(device)
    return nominal if device.electrical.system.startswith("ac") else nominal * LOWEST_SHARE_DC


def own_draw(device: Device) -> Draw:
    """What the device itself draws at its input."""
    e = device.electrical
    running = e.current_a or 0.0
    if e.current_a is None and e.power_w is not None:
        volts = base_volts(device) if e.resistive else lowest_volts(device)
        running = e.power_w / (e.efficiency * volts) if volts > 0 else 0.0
    return Draw(running, max(e.peak_a or 0.0, running), running * e.duty)


class _Tree:
    def __init__(self, circuits: tuple[Circuit, ...], devices: tuple[Device, ...]) -> None:
        self.devices: Mapping[str, Device] = {d.id: d for d in devices}
        self.circuits: Mapping[str, Circuit] = {c.id: c for c in circuits}
        self.from_device: dict[str, list[Circuit]] = {}
        self.to_device: dict[str, list[Circuit]] = {}
        for circuit in circuits:
            self.from_device.setdefault(circuit.stops[0].device, []).append(circuit)
            for stop in circuit.stops[1:]:
                if stop.role in ("load", "tap"):
                    self.to_device.setdefault(stop.device, []).append(circuit)
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
        given = max(circuit.current_a or 0.0, self._given(circuit))
        if given > 0:
            result = {
                stop: Draw(max(d.running_a, given), max(d.peak_a, given), max(d.diverse_a, given))
                for stop, d in result.items()
            }
        if not self._open:
            self._legs[circuit.id] = result
        return result

    def _given(self, circuit: Circuit) -> float:
        """Current that the source pushes into the circuit: a charger or solar module gives its rating."""
        source = self.devices[circuit.stops[0].device]
        if source.kind in ("charger", "converter", "solar") and circuit.kind != "bond":
            return source.electrical.rating_a or 0.0
        return 0.0

    def demand(self, device: Device, through: Circuit) -> Draw:
        """What a device asks of a circuit that feeds it."""
        if device.kind == "battery":
            return NOTHING  # a battery is fed by what the source can give
        children = [c for c in self.from_device.get(device.id, []) if c.id != through.id and c.kind != "bond"]
        if device.kind in PASSES_ON:
            return feeder([*(self.at_source(c) for c in children), own_draw(device)])
        own = own_draw(device)
        if own.running_a > 0 or device.kind != "inverter":
            return own
        watts = [Draw(*(self.volts(c) * a for a in self._amps(self.at_source(c)))) for c in children]
        total = feeder(watts)
        volts = device.electrical.efficiency * lowest_volts(device)
        return Draw(*(w / volts if volts > 0 else 0.0 for w in self._amps(total)))

    @staticmethod
    def _amps(draw: Draw) -> tuple[float, float, float]:
        return draw.running_a, draw.peak_a, draw.diverse_a

    def at_source(self, circuit: Circuit) -> Draw:
        """The draw at the circuit's source: all legs that follow it."""
        legs = self.legs(circuit)
        first = circuit.stops[0].id
        return add([legs[s.id] for s in circuit.stops[1:] if s.after == first and s.id in legs])

    def volts(self, circuit: Circuit) -> float:
        """Base voltage of a circuit: its first load's that has one, else its source's."""
        for stop in [*circuit.stops[1:], circuit.stops[0]]:
            device = self.devices[stop.device]
            if stop.role != "series" and device.kind not in PASSES_ON and base_volts(device) > 0:
                return base_volts(device)
        return base_volts(self.devices[circuit.stops[0].device]) or base_volts(self.devices[circuit.stops[-1].device])

    def upstream(self, circuit: Circuit) -> tuple[str, ...]:
        """Ids of the feeders between the original source and this circuit, the farthest first."""
        chain: list[str] = []
        here = circuit
        while True:
            source = self.devices[here.stops[0].device]
            if source.kind in ORIGINS:
                break
            feeders = [
                c
                for c in self.to_device.get(source.id, [])
                if c.id != here.id and self.devices[c.stops[0].device].kind not in ("charger", "converter", "solar")
            ]
            if not feeders or feeders[0].id in chain or feeders[0].id == circuit.id:
                break
            chain.append(feeders[0].id)
            here = feeders[0]
        return tuple(reversed(chain))


def circuit_loads(circuits: tuple[Circuit, ...], devices: tuple[Device, ...]) -> dict[str, CircuitLoad]:
    """Currents of every circuit, by its id."""
    tree = _Tree(circuits, devices)
    result = {}
    for circuit in circuits:
        legs = tree.legs(circuit)
        total = tree.at_source(circuit)
        result[circuit.id] = CircuitLoad(
            circuit=circuit.id,
            current_a=total.running_a,
            peak_a=total.peak_a,
            base_v=tree.volts(circuit),
            legs=tuple((stop, d.running_a, d.peak_a) for stop, d in legs.items()),
            upstream=tree.upstream(circuit),
        )
    return result
