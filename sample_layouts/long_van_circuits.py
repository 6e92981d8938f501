"""The long van's circuits: battery side, charging, low voltage, signals, aerial, mains, bonds, a spare pair."""

from typing import Any

from core.analysis.engine import analyse
from core.model import AsPulled, Cable, Circuit, Core, Protective, ReturnPath, Stop
from sample_layouts.bench import Bench

BATTERY: dict[str, Any] = {"wire_kind": "wire-battery"}
#: Branches of the two fuse blocks: name, what lies on the way, fuse where the device's maker or its peak names it.
Branch = tuple[str, tuple[str, ...], float | None]
LIVING: tuple[Branch, ...] = (
    ("Ceiling lights, right", ("Switch, ceiling right", *(f"Light right {n}" for n in (4, 3, 2, 1))), 5.0),
    ("Ceiling lights, left", ("Switch, ceiling left", *(f"Light left {n}" for n in (4, 3, 2, 1))), 5.0),
    ("Bed lights", ("Switch, bed lights", "Bed light left", "Bed light right"), 3.0),
    ("Strip over the galley", ("Switch, galley strip", "Strip, galley"), 3.0),
    ("Strip over the dinette", ("Strip, dinette",), 3.0),
    ("Reading lights and USB, right", ("Reading light, right", "USB, bed right"), None),
    ("Reading light and USB, left", ("Reading light, left", "USB, bed left"), None),
    ("Awning light", ("Awning light",), 3.0),
    ("Rear door light", ("Rear door light",), 3.0),
    ("Step light", ("Step light",), 3.0),
    ("USB, galley", ("USB, galley",), None),
    ("USB, dinette", ("USB, dinette",), None),
)
APPLIANCES: tuple[Branch, ...] = (
    ("Fridge", ("Fridge",), 15.0),
    ("Water pump", ("Switch, water pump", "Water pump"), 10.0),
    ("Front roof fan", ("Front roof fan",), 7.5),
    ("Rear roof fan", ("Rear roof fan",), 7.5),
    ("12 V socket, dinette", ("12 V socket, dinette",), 15.0),
    ("12 V socket, garage", ("12 V socket, garage",), 15.0),
    ("Radio", ("Radio",), 5.0),
    ("Router", ("Router",), 3.0),
)
ALWAYS_LIVE: tuple[Branch, ...] = (
    ("Air heater", ("Air heater",), 15.0),
    ("Gas alarm", ("Gas alarm",), 2.0),
    ("Control display", ("Control display",), 3.0),
)


def connect(b: Bench) -> None:
    bars = "Bus bars, positive and return"
    _battery_side(b, bars)
    _charging(b, bars)
    for block, branches in (
        ("Fuse block, living", LIVING),
        ("Fuse block, appliances", APPLIANCES),
        ("Fuse block, always live", ALWAYS_LIVE),
    ):
        for name, stops, fuse_a in branches:
            protective = None if fuse_a is None else {"rating_a": fuse_a}
            b.circuit(name, block, stops, protective=protective, always_live=branches is ALWAYS_LIVE)
    _signals(b)
    _mains(b)
    _bonds(b)


def _battery_side(b: Bench, bars: str) -> None:
    b.circuit(
        "House feed",
        "House battery 1",
        ("Main fuse, class T", "Main switch", "Shunt", bars),
        protective={"family": "class_t", "rating_a": 300.0},
        return_path=ReturnPath(device=b.devices["House battery 2"]),
        smallest_section_mm2=95.0,
        note="Plus from battery 1, minus from battery 2: both batteries work alike.",
        **BATTERY,
    )
    b.circuit(
        "Battery link",
        "House battery 1",
        ("Link fuse", "House battery 2"),
        kind="link",
        protective={"family": "on_post", "rating_a": 300.0, "distance_mm": 0.0},
        section_mm2=70.0,
        note="Carries what the second battery gives, about half of it all: plus and minus are taken diagonally.",
        **BATTERY,
    )
    b.circuit(
        "Inverter, 12 V side",
        bars,
        ("Inverter/charger",),
        protective={"rating_a": 250.0},
        **BATTERY,
    )
    b.circuit("Feed, fuse block living", bars, ("Fuse block, living",), **BATTERY)
    b.circuit("Feed, fuse block appliances", bars, ("Fuse block, appliances",), **BATTERY)
    b.circuit(
        "Feed, always-live block",
        "House battery 1",
        ("Always-live fuse", "Fuse block, always live"),
        protective={"family": "on_post", "rating_a": 30.0},
        always_live=True,
        note="Before the main switch: heater, gas alarm and display stay on.",
        return_path=ReturnPath(device=b.devices[bars]),
        **BATTERY,
    )


def _charging(b: Bench, bars: str) -> None:
    b.circuit(
        "Vehicle battery to alternator charger",
        "Vehicle battery (starter)",
        ("Alternator charger",),
        protective={"family": "on_post"},
        **BATTERY,
    )
    for charger in ("Alternator charger", "Charge controller"):
        b.circuit(
            f"{charger} to the bus",
            charger,
            (bars,),
            protective={"family": "strip_large", "device": bars},
            **BATTERY,
        )
    for number in (1, 2):
        b.circuit(
            f"Solar string {number}",
            f"Solar panel {number}",
            ("Charge controller",),
            wire_kind="wire-solar",
            smallest_section_mm2=4.0,
        )


def _signals(b: Bench) -> None:
    none = Protective(kind="none", reason="Carries information, not power.")
    pairs = (
        ("Fresh water level", "Control display", "Fresh water sensor", ("data", "return"), "wire-data-pair"),
        ("Waste water level", "Control display", "Waste water sensor", ("data", "return"), None),
        ("Battery monitor", "Control display", "Shunt", ("data", "data"), "wire-data-pair"),
        ("Heater control", "Control display", "Air heater", ("data", "data", "data"), None),
        ("Inverter remote", "Control display", "Inverter/charger", ("data",) * 8, "wire-network"),
        ("Loudspeaker left", "Radio", "Loudspeaker left", ("data", "data"), None),
        ("Loudspeaker right", "Radio", "Loudspeaker right", ("data", "data"), None),
        ("Spare pair to the dinette", "Control display", "Radio", ("spare", "spare"), "wire-thin-wall"),
    )
    for name, source, load, conductors, kind in pairs:
        more: dict[str, Any] = {} if kind is None else {"wire_kind": kind}
        if kind in ("wire-data-pair", "wire-network") and name != "Fresh water level":
            more["as_cable"] = True
        if name.startswith("Loudspeaker"):
            more["smallest_section_mm2"] = 0.75
        spare = "spare" in conductors
        circuit = b.record(
            "circuits",
            Circuit,
            name=name,
            kind="spare" if spare else "signal",
            group="signal",
            stops=(
                Stop(id="0", device=b.devices[source], role="source"),
                Stop(id="1", device=b.devices[load], after="0"),
            ),
            conductors=conductors,
            protective=none if not spare else Protective(kind="none", reason="Not in use."),
            **more,
        )
        b.circuits[name] = circuit
    fresh = b.circuits["Fresh water level"]
    b.record(
        "cables",
        Cable,
        name="Tank cable, fresh water",
        kind="wire-data-pair",
        cores=(
            Core(colour="yellow", circuit=fresh, role="data"),
            Core(colour="green", circuit=fresh, role="return"),
        ),
    )
    _aerial(b)


def _aerial(b: Bench) -> None:
    b.circuits["Aerial"] = b.record(
        "circuits",
        Circuit,
        name="Aerial",
        kind="antenna",
        group="antenna",
        stops=(
            Stop(id="0", device=b.devices["Router"], role="source"),
            Stop(id="1", device=b.devices["Roof aerial"], after="0"),
        ),
        conductors=("antenna",),
        protective=Protective(kind="none", reason="Carries information, not power."),
        note="The lead comes with its plug on: 25 mm hole for a 16 mm plug.",
    )


def _mains(b: Bench) -> None:
    tough = {"wire_kind": "wire-mains-rubber"}
    b.circuit(
        "Shore feed",
        "Shore inlet",
        ("RCD, hook-up", "Inverter/charger"),
        protective={"rating_a": 16.0, "device": "RCD, hook-up"},
        **tough,
    )
    b.circuit(
        "Inverter output to panelboard",
        "Inverter/charger",
        ("RCD, outlets", "Panelboard"),
        protective={"rating_a": 16.0},
        **tough,
    )
    for name, loads, breaker_a in (
        ("Outlets, left", ("Outlet, wardrobe", "Outlet, dinette"), 10.0),
        ("Outlets, right", ("Outlet, garage", "Outlet, galley"), 10.0),
        ("Induction hob", ("Induction hob",), 10.0),
        ("Water heater", ("Water heater",), 10.0),
    ):
        b.circuit(name, "Panelboard", loads, protective={"rating_a": breaker_a})


def _bonds(b: Bench) -> None:
    none = Protective(kind="none", reason="A bond carries no current in use.")
    for name, source, group, kind in (
        ("Chassis bond of the return bus", "Bus bars, positive and return", "dc_power", "wire-battery"),
        ("Case of the inverter", "Inverter/charger", "dc_power", "wire-battery"),
        ("Body to protective earth", "Panelboard", "mains", "wire-earth"),
    ):
        b.circuits[name] = b.record(
            "circuits",
            Circuit,
            name=name,
            kind="bond",
            group=group,
            stops=(
                Stop(id="0", device=b.devices[source], role="source"),
                Stop(id="1", device=b.devices["Chassis stud"], after="0"),
            ),
            conductors=("bond",),
            return_path=ReturnPath(kind="none"),
            protective=none,
            wire_kind=kind,
        )


def as_pulled(b: Bench) -> None:
    """The feed of the front roof fan lies already: pulled before the ceiling was insulated."""
    circuit = b.circuits["Front roof fan"]
    analysis = analyse(b.plan, b.library, "quick")
    wire = next(wire for wire in analysis.wires.values() if wire.circuit == circuit and wire.role == "feed")
    b.record(
        "as_pulled",
        AsPulled,
        wire=wire.id,
        channels=tuple(step.channel for step in analysis.routes[wire.id].steps),
        section_mm2=analysis.sized[wire.id].section_mm2,
        length_mm=6_900.0,
        on="2026-11-14",
    )
