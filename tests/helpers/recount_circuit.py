"""Conductors and currents counted again from the circuits of a plan.

Conductors: the feed runs from each stop it passes to the nearest earlier stop it passes; the return runs the other way
over the stops that the return passes. Currents: constant power over efficiency and lowest volts; a branch carries its
loads in full; what feeds several branches carries the one that exceeds its duty most in full and the others at their
duty; its peak has the greatest single start instead of that one. A link between batteries is solved as the circuit it
is: plus and minus apart, each battery behind its own resistance.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from core.model import DISTRIBUTION, NOMINAL_V, Circuit, Device, Plan, Stop

#: Roles that run from the source on, and roles that run back to it.
OUT = ("feed", "line", "data", "antenna", "bond", "spare")
BACK = ("return", "neutral", "protective_earth")
#: Kinds of device that push into what they are joined to, whatever it draws.
PUSHES = ("charger", "converter", "solar")


@dataclass(frozen=True)
class Conductor:
    """One expected conductor: `role` as the circuit says it, and the stop at its far end, whose loads it serves."""

    circuit: str
    role: str
    start: str
    end: str
    stop: str


@dataclass(frozen=True)
class Draw:
    """Amperes: at once, on average (duty), and the most at a start."""

    full_a: float
    average_a: float
    peak_a: float


def passes(stop: Stop, role: str) -> bool:
    """Whether a conductor of that role goes through a stop."""
    if stop.role != "series" or stop.poles == "all":
        return True
    return stop.poles == ("return" if role in BACK else "feed")


class Circuits:
    """The circuits of a plan, with what they carry."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.devices: dict[str, Device] = {device.id: device for device in plan.devices}
        self.by_id = {circuit.id: circuit for circuit in plan.circuits}

    def before(self, circuit: Circuit, stop: Stop, role: str) -> Stop:
        """The nearest earlier stop that a role passes; the source at the end of it."""
        stops = {one.id: one for one in circuit.stops}
        at = stops[stop.after or circuit.stops[0].id]
        while at.role != "source" and not passes(at, role):
            at = stops[at.after or circuit.stops[0].id]
        return at

    def conductors(self, circuit: Circuit) -> list[Conductor]:
        """Every conductor between two terminals that a circuit asks for."""
        found: list[Conductor] = []
        for role in circuit.conductors:
            if role in BACK and circuit.return_path.kind != "wire":
                continue
            for stop in circuit.stops[1:]:
                if not passes(stop, role):
                    continue
                other = self.before(circuit, stop, role)
                if role in BACK:
                    home = circuit.return_path.device if other.role == "source" else None
                    found.append(Conductor(circuit.id, role, stop.device, home or other.device, stop.id))
                else:
                    count = stop.feeds if role in ("feed", "line") else 1
                    found += [Conductor(circuit.id, role, other.device, stop.device, stop.id)] * count
        return found

    def after(self, circuit: Circuit, stop_id: str) -> list[Stop]:
        """A stop and all that follow it."""
        inside = {stop_id}
        for stop in circuit.stops:
            if stop.after in inside:
                inside.add(stop.id)
        return [stop for stop in circuit.stops if stop.id in inside]

    def behind_switch(self, circuit: Circuit, conductor: Conductor) -> bool:
        """Whether a feed comes from a switch, or from further on."""
        stops = {stop.id: stop for stop in circuit.stops}
        at = stops[conductor.stop].after
        while at is not None:
            if self.devices[stops[at].device].kind == "switch" and stops[at].role == "series":
                return True
            at = stops[at].after
        return False

    def load(self, device: Device) -> Draw:
        """What one device draws where a circuit ends at it."""
        electrical = device.electrical
        volts = electrical.lowest_v or NOMINAL_V.get(electrical.system, 12.0)
        if electrical.current_a is not None:
            full = electrical.current_a
        elif electrical.power_w is not None:
            across = NOMINAL_V[electrical.system] if electrical.resistive else electrical.efficiency * volts
            full = electrical.power_w / across
        else:
            full = 0.0
        return Draw(full, full * electrical.duty, max(full, electrical.peak_a or 0.0))

    def _branches(self, device_id: str, seen: frozenset[str]) -> list[Draw]:
        """What the branches ask for that leave a distribution point, or a point behind it."""
        found: list[Draw] = []
        for circuit in self.plan.circuits:
            if circuit.stops[0].device != device_id or circuit.kind not in ("branch", "feeder", "battery_lead"):
                continue
            single: list[Draw] = []
            for stop in circuit.stops[1:]:
                if stop.role == "series":
                    continue
                target = self.devices[stop.device]
                if target.kind in DISTRIBUTION and target.id not in seen:
                    found += self._branches(target.id, seen | {target.id})
                else:
                    single.append(self.load(target))
            if single:
                full = sum(draw.full_a for draw in single)
                start = max(draw.peak_a - draw.full_a for draw in single)
                found.append(Draw(full, sum(draw.average_a for draw in single), full + start))
        return found

    def brought_back(self, device_id: str) -> list[Draw]:
        """Branches of other sources whose return comes to this distribution point: its own return carries them on."""
        found: list[Draw] = []
        for circuit in self.plan.circuits:
            home = circuit.return_path
            if home.kind == "wire" and home.device == device_id and circuit.stops[0].device != device_id:
                for stop in circuit.stops[1:]:
                    target = self.devices[stop.device]
                    if target.kind in DISTRIBUTION:
                        found += self._branches(target.id, frozenset((device_id, target.id)))
                    elif stop.role != "series":
                        found.append(self.load(target))
        return found

    def _gathered(self, branches: list[Draw]) -> Draw:
        if not branches:
            return Draw(0.0, 0.0, 0.0)
        average = sum(draw.average_a for draw in branches)
        full = average + max(draw.full_a - draw.average_a for draw in branches)
        return Draw(full, average, average + max(draw.peak_a - draw.average_a for draw in branches))

    def _at(self, circuit: Circuit, stop: Stop, role: str) -> Draw:
        """What flows into one stop of a circuit, or comes back from it."""
        device = self.devices[stop.device]
        if stop.role in ("series", "source"):
            return Draw(0.0, 0.0, 0.0)
        if device.kind in DISTRIBUTION:
            also = self.brought_back(device.id) if role == "return" else []
            return self._gathered(self._branches(device.id, frozenset((device.id,))) + also)
        if device.kind == "inverter" and circuit.group == "mains":
            passed: list[Draw] = []
            for other in self.plan.circuits:
                if other.group == "mains" and other.stops[0].device == device.id:
                    passed += [self._at(other, one, role) for one in other.stops[1:] if one.role != "series"]
            return self._gathered(passed)
        return self.load(device)

    def carried(self, circuit: Circuit, conductor: Conductor) -> Draw:
        """What one conductor carries."""
        if conductor.role in ("protective_earth", "bond", "data", "antenna", "spare"):
            return Draw(0.0, 0.0, 0.0)
        source = self.devices[circuit.stops[0].device]
        if source.kind in PUSHES and source.electrical.rating_a is not None:
            rated = source.electrical.rating_a
            return Draw(rated, rated, rated)
        drawn = [self._at(circuit, stop, conductor.role) for stop in self.after(circuit, conductor.stop)]
        full = sum(draw.full_a for draw in drawn)
        peak = full + max(draw.peak_a - draw.full_a for draw in drawn)
        return Draw(full, sum(draw.average_a for draw in drawn), peak)

    def feeder_of(self, device_id: str) -> tuple[Circuit, Stop] | None:
        """The circuit that brings the current to a distribution point; chargers that push into it do not."""
        for circuit in self.plan.circuits:
            if circuit.kind in ("bond", "link", "signal", "spare", "antenna") or circuit.conductors[0] not in (
                "feed",
                "line",
            ):
                continue
            if self.devices[circuit.stops[0].device].kind in PUSHES:
                continue
            for stop in circuit.stops[1:]:
                if stop.device == device_id and stop.role != "series":
                    return circuit, stop
        return None

    def lost_v(
        self, circuit: Circuit, stop_id: str, drops_v: Mapping[Conductor, float], roles: tuple[str, ...]
    ) -> float:
        """Volts lost in the conductors of these roles on the way to a stop, feeders before it included."""
        lost = sum(
            drops_v[one]
            for one in set(self.conductors(circuit))
            if one.role in roles and stop_id in {stop.id for stop in self.after(circuit, one.stop)}
        )
        for role in roles:
            home = circuit.stops[0].device
            if role in BACK and circuit.return_path.device is not None:
                home = circuit.return_path.device
            before = self.feeder_of(home) if self.devices[home].kind in DISTRIBUTION else None
            if before is not None:
                lost += self.lost_v(before[0], before[1].id, drops_v, (role,))
        return lost


def counted(conductors: list[Conductor]) -> Counter[tuple[str, str, str]]:
    """How many conductors there are from where to where, by role."""
    return Counter((one.role, one.start, one.end) for one in conductors)


def linked_a(
    plan: Plan, link: Circuit, ohm: Mapping[str, float], drawn: list[tuple[str, str, float]]
) -> dict[str, float]:
    """Current of each conductor of a link between two batteries, `ohm` and the result by its role: feed, return.

    `drawn` has (battery the feed leaves, battery the return comes to, amperes). Kirchhoff's current law with the
    batteries as equal sources, each behind 12 V over its short-circuit current.
    """
    ends = (link.stops[0].device, link.stops[-1].device)
    inner = {d.id: (d.electrical.lowest_v or 12.0) / (d.electrical.short_circuit_a or 1e9) for d in plan.devices}
    at = {(end, sign): index for index, (end, sign) in enumerate((e, s) for e in ends for s in "+-")}
    matrix, given = np.zeros((4, 4)), np.zeros(4)

    def join(a: int, b: int, resistance: float, volts: float = 0.0) -> None:
        for here, there, sign in ((a, b, 1.0), (b, a, -1.0)):
            matrix[here, here] += 1 / resistance
            matrix[here, there] -= 1 / resistance
            given[here] += sign * volts / resistance

    for end in ends:
        join(at[end, "+"], at[end, "-"], inner[end], 12.0)
    join(at[ends[0], "+"], at[ends[1], "+"], ohm["feed"])
    join(at[ends[0], "-"], at[ends[1], "-"], ohm["return"])
    for out, home, amperes in drawn:
        given[at[out, "+"]] -= amperes
        given[at[home, "-"]] += amperes
    # one potential is free: the first minus is 0 V
    held = at[ends[0], "-"]
    matrix[held], given[held] = np.eye(4)[held], 0.0
    volts = np.linalg.solve(matrix, given)
    return {
        "feed": abs(float(volts[at[ends[0], "+"]] - volts[at[ends[1], "+"]])) / ohm["feed"],
        "return": abs(float(volts[at[ends[0], "-"]] - volts[at[ends[1], "-"]])) / ohm["return"],
    }
