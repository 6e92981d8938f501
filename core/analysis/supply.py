"""Who feeds whom: the way from a circuit back to the source it hangs on, and the system it is on.

A distribution point hands on what comes in; batteries, chargers, converters, inverters, solar modules and shore
inlets are sources of their own. Where feeders close a ring the way back ends where it would come round again.
"""

from collections.abc import Iterable
from functools import cached_property

from core.model import ADAPTERS, NOMINAL_V, Circuit, Device, Stop
from core.model.devices import System

#: Devices that hand on what comes in, at the same voltage.
PASSES_ON = frozenset({"fuse_block", "bus_bar", "panelboard", "shunt", "switch", "fuse", "rcd", "shore_inlet"})
#: Devices that are a source of their own: the current of what they feed ends here.
ORIGINS = frozenset({"battery", "charger", "converter", "inverter", "solar", "shore_inlet"})
#: Sources that limit their own current: they charge what others feed from.
CHARGERS = frozenset({"charger", "converter", "solar"})


def base_volts(device: Device) -> float:
    """Nominal volts of a device's system; a solar module's own working volts; 0 where volts mean nothing."""
    electrical = device.electrical
    if electrical.system == "solar":
        return max(electrical.lowest_v or 0.0, 0.0)
    return NOMINAL_V.get(electrical.system, 0.0)


def gives(device: Device) -> System | None:
    """The system on the output side of a source; None where nobody says it."""
    if device.kind in ("charger", "converter", "inverter"):
        return device.electrical.output
    return device.electrical.system if device.kind in ORIGINS else None


def chain(circuit: Circuit, stop: Stop) -> list[Stop]:
    """The stops from the source's first follower down to this one."""
    by_id = {s.id: s for s in circuit.stops}
    found: list[Stop] = []
    here: Stop | None = stop
    while here is not None and here.role != "source" and here not in found:
        found.append(here)
        here = by_id.get(here.after or "")
    return found[::-1]


class Supply:
    """The circuits of a plan by the devices they leave and reach."""

    def __init__(self, circuits: Iterable[Circuit], devices: Iterable[Device]) -> None:
        self.devices = {d.id: d for d in devices}
        self.circuits = {c.id: c for c in circuits}
        self.leaving: dict[str, list[Circuit]] = {}
        self.reaching: dict[str, list[Circuit]] = {}
        for circuit in self.circuits.values():
            self.leaving.setdefault(circuit.stops[0].device, []).append(circuit)
            if circuit.kind == "bond":
                continue
            for stop in circuit.stops[1:]:
                if stop.role in ("load", "tap") and circuit not in self.reaching.get(stop.device, []):
                    self.reaching.setdefault(stop.device, []).append(circuit)

    def source(self, circuit: Circuit) -> Device:
        return self.devices[circuit.stops[0].device]

    def feeder(self, circuit: Circuit) -> Circuit | None:
        """The circuit that feeds this one's source: one from a battery or distribution point before a charger's."""
        source = self.source(circuit)
        if source.kind in ORIGINS:
            return None
        feeders = [c for c in self.reaching.get(source.id, []) if c.id != circuit.id and c.group == circuit.group]
        feeders.sort(key=lambda c: self.source(c).kind in CHARGERS)
        return feeders[0] if feeders else None

    def upstream(self, circuit: Circuit) -> tuple[Circuit, ...]:
        """The feeders between the source and this circuit, the farthest first; cut where a ring closes."""
        found: list[Circuit] = []
        here = self.feeder(circuit)
        while here is not None and here is not circuit and here not in found:
            found.append(here)
            here = self.feeder(here)
        return tuple(reversed(found))

    def homeward(self, circuit: Circuit) -> tuple[tuple[Circuit, Stop], ...]:
        """The feeders, each with the stop they are joined at, whose return carries this circuit's current home
        although their feed does not bring it: a load fed from the battery's post with its return on a bus."""
        home = circuit.return_path.device
        if circuit.return_path.kind != "wire" or home is None or self.source(circuit).kind in CHARGERS:
            return ()
        if "return" not in circuit.conductors or self.devices[home].kind in ORIGINS:
            return ()  # a neutral goes back the way the line came; at home already
        brought = {c.id for c in (*self.upstream(circuit), circuit)}
        found: list[tuple[Circuit, Stop]] = []
        at, feeders = home, [c for c in self.reaching.get(home, []) if c.group == circuit.group]
        feeders.sort(key=lambda c: self.source(c).kind in CHARGERS)
        here = feeders[0] if feeders else None
        while here is not None and here.id not in brought:
            stop = next((s for s in here.stops[1:] if s.device == at), None)
            if stop is None:
                break
            brought.add(here.id)
            found.append((here, stop))
            at, here = here.stops[0].device, self.feeder(here)
        return tuple(found)

    def origin(self, circuit: Circuit) -> Device | None:
        """The source at the top of a circuit; None where nothing feeds it."""
        top = next(iter(self.upstream(circuit)), circuit)
        source = self.source(top)
        return source if source.kind in ORIGINS else None

    def system(self, circuit: Circuit) -> System | None:
        """The system a circuit is on, by its source; None where nobody says it."""
        origin = self.origin(circuit)
        return gives(origin) if origin is not None else None

    def volts(self, circuit: Circuit) -> float:
        """Base voltage of a circuit: that of its first load with one, else that of its supply."""
        if circuit.kind == "solar_string" and base_volts(self.source(circuit)) > 0:
            return base_volts(self.source(circuit))  # a string has its own
        for stop in circuit.stops[1:]:
            device = self.devices[stop.device]
            other_side = device.kind in ADAPTERS and not self.works_on(device, circuit)
            if stop.role != "series" and device.kind not in PASSES_ON and base_volts(device) > 0 and not other_side:
                return base_volts(device) * self.adapts(device, circuit)
        supplied = NOMINAL_V.get(self.system(circuit) or "", 0.0)
        if supplied > 0:
            return supplied
        return base_volts(self.source(circuit)) or base_volts(self.devices[circuit.stops[-1].device])

    def works_on(self, device: Device, circuit: Circuit) -> bool:
        """Whether the device's own numbers are for this circuit's system: not so for an inverter's shore side."""
        system = self.system(circuit)
        return system is None or system == device.electrical.system or system in device.electrical.also

    def adapts(self, device: Device, circuit: Circuit) -> float:
        """Volts of the circuit over volts of the device's own system, where it works on both; 1 everywhere else."""
        system = self.system(circuit)
        if system is None or system == device.electrical.system or system not in device.electrical.also:
            return 1.0
        own = base_volts(device)
        return NOMINAL_V.get(system, own) / own if own > 0 else 1.0

    def charges(self, circuit: Circuit) -> bool:
        """Whether current from this circuit's source can flow into a battery, straight or over distribution points."""
        seen: set[str] = set()
        waiting = [stop.device for stop in circuit.stops[1:] if stop.role in ("load", "tap")]
        while waiting:
            device = self.devices[waiting.pop()]
            if device.kind == "battery":
                return True
            if device.id in seen or device.kind not in PASSES_ON:
                continue
            seen.add(device.id)
            for other in self.leaving.get(device.id, []):
                waiting += [stop.device for stop in other.stops[1:] if stop.role in ("load", "tap")]
            waiting += [self.source(other).id for other in self.reaching.get(device.id, [])]
        return False

    @cached_property
    def has_main_switch(self) -> bool:
        return any(
            stop.role == "series" and self.devices[stop.device].kind == "switch"
            for circuit in self.circuits.values()
            if circuit.kind in ("feeder", "battery_lead")
            for stop in circuit.stops
        )
