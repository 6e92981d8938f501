"""The long van's devices: the electrical cabinet's board and batteries, the living space, the roof, the cab."""

from core.edits.kinds import use_kind
from core.model import Connector, EarthPoint, OnSurface, Port, Splice, Way
from sample_layouts.bench import Bench
from sample_layouts.long_van_places import BELT, CAB_X, LENGTH, board, left, outside, right, roof

BUS_WAYS = tuple(Way(id=f"w{n}", largest_a=300, fuse_family="strip_large") for n in range(1, 7))
BUS_PORTS = (
    Port(id="plus", role="feed", at_mm=(-130.0, 25.0), stud_mm=10.0),
    Port(id="minus", role="return", at_mm=(-130.0, -25.0), stud_mm=10.0),
)
BREAKERS = tuple(Way(id=str(n), largest_a=16, fuse_family="breaker_iec") for n in range(1, 6))
LIGHT_ROWS = {"right": 380.0, "left": 1_200.0}


def place(b: Bench, s: dict[str, str]) -> None:
    for fixing in b.library.fixing_kinds:
        b.plan = use_kind(b.plan, fixing)
    _power(b, s)
    _mains(b, s)
    _living(b, s)
    _lights(b, s)
    _signals(b, s)


def _power(b: Bench, s: dict[str, str]) -> None:
    for number, x in ((1, 4_036.0), (2, 3_530.0)):
        b.device(
            "battery-house",
            f"House battery {number}",
            s["floor"],
            (x, 300),
            width_mm=240,
            height_mm=360,
            fall_mm=60,
            entry_mm=(0, -170),
            electrical={"rating_a": 400.0, "short_circuit_a": 5_000.0},
            note="One of two in parallel, 200 Ah each; plus leaves battery 1, minus leaves battery 2.",
        )
    b.device("fuse-holder", "Main fuse, class T", s["floor"], (4_210, 95), fall_mm=80, electrical={"rating_a": 400.0})
    b.device("fuse-holder", "Link fuse", s["floor"], (3_780, 150), fall_mm=80, electrical={"rating_a": 300.0})
    b.device("fuse-holder", "Always-live fuse", s["floor"], (4_210, 165), fall_mm=100)
    b.device("main-switch", "Main switch", s["board"], board(160, 350), electrical={"rating_a": 400.0})
    b.device(
        "bus-bar-positive",
        "Bus bars, positive and return",
        s["board"],
        board(500, 365),
        width_mm=300,
        height_mm=100,
        electrical={"rating_a": 500.0},
        ways=BUS_WAYS,
        ports=BUS_PORTS,
    )
    b.device("shunt", "Shunt", s["board"], board(800, 365))
    b.device(
        "inverter-charger-2000",
        "Inverter/charger",
        s["board"],
        board(330, 610),
        entry_mm=(240, 0),
        clearance_mm=50,
        electrical={"rating_a": 16.0, "peak_a": 240.0},
    )
    b.device("fuse-block-12", "Fuse block, living", s["board"], board(165, 220), clearance_mm=10)
    b.device("fuse-block-12", "Fuse block, appliances", s["board"], board(265, 220), clearance_mm=10)
    b.device("fuse-block-6", "Fuse block, always live", s["board"], board(360, 220), clearance_mm=10)
    b.device("charge-controller", "Charge controller", s["board"], board(1_010, 215))
    b.device("charger-alternator", "Alternator charger", s["board"], board(818, 215))
    b.device("battery-vehicle", "Vehicle battery (starter)", s["cab"], (CAB_X - 640, 440))
    b.device("bus-bar-return", "Chassis stud", s["floor"], (3_095, 130), width_mm=60, height_mm=60, depth_mm=30)
    for number, y in ((1, 400.0), (2, 1_120.0)):
        b.device(
            "solar-panel",
            f"Solar panel {number}",
            s["skin"],
            outside(2_450, y),
            width_mm=1_480,
            height_mm=680,
            entry_mm=(650, 0),
            electrical={"power_w": 175.0, "current_a": 8.9, "rating_a": 9.5, "lowest_v": 19.0},
        )


def _mains(b: Bench, s: dict[str, str]) -> None:
    b.device("shore-inlet-16", "Shore inlet", s["left"], left(4_200, 620))
    b.device("rcd", "RCD, hook-up", s["board"], board(1_010, 680))
    b.device("rcd", "RCD, outlets", s["board"], board(665, 690))
    b.device("panelboard-mains", "Panelboard", s["board"], board(830, 640), ways=BREAKERS)
    b.device("mains-outlet", "Outlet, dinette", s["left"], left(1_160, 570), electrical={"current_a": 4.0, "duty": 0.1})
    b.device(
        "mains-outlet", "Outlet, wardrobe", s["left"], left(1_900, 570), electrical={"current_a": 4.0, "duty": 0.1}
    )
    b.device(
        "mains-outlet", "Outlet, galley", s["right"], right(2_560, 570), electrical={"current_a": 4.0, "duty": 0.1}
    )
    b.device(
        "mains-outlet", "Outlet, garage", s["right"], right(3_250, 570), electrical={"current_a": 4.0, "duty": 0.1}
    )
    b.device("appliance-induction", "Induction hob", s["right"], right(2_250, 750))
    b.device("water-heater-mains", "Water heater", s["floor"], (3_330, 1_560), electrical={"duty": 0.4})


def _living(b: Bench, s: dict[str, str]) -> None:
    b.device("heater-diesel", "Air heater", s["floor"], (520, 300))
    b.device("water-pump", "Water pump", s["floor"], (900, 100))
    b.device("fridge-compressor", "Fridge", s["right"], right(1_940, 290), entry_mm=(200, 100))
    b.device("roof-fan", "Front roof fan", s["roof"], roof(1_125, 790))
    b.device("roof-fan", "Rear roof fan", s["roof"], roof(3_770, 790))
    b.device("socket-12v", "12 V socket, dinette", s["left"], left(480, 720))
    b.device("socket-12v", "12 V socket, garage", s["right"], right(3_440, 300))
    b.device("usb-outlet", "USB, dinette", s["left"], left(480, 620))
    b.device("usb-outlet", "USB, galley", s["right"], right(1_830, 960))
    b.device("usb-outlet", "USB, bed right", s["right"], right(3_660, 1_080))
    b.device("usb-outlet", "USB, bed left", s["left"], left(3_890, 1_080))
    b.device("alarm-gas", "Gas alarm", s["left"], left(1_260, 160))
    b.device("switch-panel", "Switch, ceiling right", s["right"], right(1_830, 1_230))
    b.device("switch-panel", "Switch, ceiling left", s["right"], right(1_830, 1_140))
    b.device("switch-panel", "Switch, galley strip", s["right"], right(1_830, 1_050))
    b.device("switch-panel", "Switch, bed lights", s["left"], left(3_890, 1_300))
    b.device("switch-panel", "Switch, water pump", s["left"], left(480, 800))


def _lights(b: Bench, s: dict[str, str]) -> None:
    for row, y in LIGHT_ROWS.items():
        for number, x in enumerate((450.0, 1_150.0, 1_800.0, 2_450.0), start=1):
            b.device("light-spot", f"Light {row} {number}", s["roof"], roof(x, y))
        b.device("light-spot", f"Bed light {row}", s["roof"], roof(3_960, y))
    b.device("light-strip", "Strip, galley", s["right"], right(2_250, 1_505), width_mm=1_000, entry_mm=(-500, 0))
    b.device("light-strip", "Strip, dinette", s["left"], left(1_200, 1_505), width_mm=1_500, entry_mm=(750, 0))
    b.device("light-reading", "Reading light, right", s["right"], right(3_660, 1_220))
    b.device("light-reading", "Reading light, left", s["left"], left(3_890, 1_190))
    b.device("light-outside", "Awning light", s["right"], right(560, 1_870))
    b.device("light-outside", "Rear door light", s["right door"], right(4_760, 1_620))
    b.device("light-spot", "Step light", s["right"], right(1_645, 360))


def _signals(b: Bench, s: dict[str, str]) -> None:
    b.device("display", "Control display", s["right"], right(1_985, 1_330))
    b.device("display", "Radio", s["left"], left(1_900, 1_700))
    b.device("display", "Router", s["left"], left(480, 1_700), electrical={"current_a": 1.0})
    b.device("speaker", "Loudspeaker left", s["left"], left(360, 1_330))
    b.device("speaker", "Loudspeaker right", s["roof"], roof(700, 140))
    b.device("sensor-tank", "Fresh water sensor", s["floor"], (1_120, 300))
    b.device("sensor-tank", "Waste water sensor", s["floor"], (1_400, 250))
    b.device("antenna-roof", "Roof aerial", s["skin"], outside(480, 1_080))


def small_parts(b: Bench, s: dict[str, str]) -> None:
    """Records with a place and an access, so that somebody finds them again."""
    b.record(
        "earth_points",
        EarthPoint,
        name="Chassis stud, bare metal under the board",
        surface=s["floor"],
        at_mm=(3_095.0, 130.0),
        access="through the hatch of the electrical cabinet",
    )
    b.record(
        "connectors",
        Connector,
        name="Plug of the rear door light",
        place=OnSurface(surface=s["right"], at_mm=(LENGTH - 60.0, BELT)),
        poles=2,
        width_mm=14.0,
        access="behind the cap of the right rear pillar",
    )
    b.record(
        "splices",
        Splice,
        name="Tail of the waste water sensor",
        place=OnSurface(surface=s["floor"], at_mm=(1_330.0, 200.0)),
        access="under the loose board beside the dinette",
    )
