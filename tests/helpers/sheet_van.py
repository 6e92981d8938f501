"""A van with some of everything on it, to look at the drawing: walls, ribs, cabinets, devices, bundles, warnings."""

from collections.abc import Sequence

from core.edits.body import draw_floor, raise_wall
from core.edits.channels import draw_channel
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest, place_device
from core.edits.drawn import (
    add_dimension,
    draw_box,
    draw_metal_edge,
    draw_opening,
    draw_panel,
    draw_rib,
    draw_zone,
)
from core.edits.start import new_plan
from core.files.library import Library, load_library
from core.geometry.foldout import lay_out
from core.model import Plan, Point

LENGTH_MM, WIDTH_MM, HEIGHT_MM = 3_700.0, 1_800.0, 1_900.0


def box(x: float, y: float, wide: float, high: float) -> tuple[Point, ...]:
    return ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))


class Maker:
    """Edits one after the other on sheet coordinates, for a plan that reads like a drawing."""

    def __init__(self, name: str = "Van to look at") -> None:
        self.library: Library = load_library()
        self.plan: Plan = new_plan(self.library, name, self.library.profiles[0].id, "van")
        self.devices: dict[str, str] = {}

    def local(self, surface: str, at: Point) -> Point:
        return lay_out(self.plan.surfaces).place(surface).to_local(at)

    def wall(
        self, parent: str, edge: str, high: float, name: str, from_mm: float = 0, to_mm: float | None = None
    ) -> str:
        self.plan, surface = raise_wall(self.plan, parent, edge, high, name, 90.0, from_mm, to_mm)
        return surface

    def area(self, surface: str, x: float, y: float, wide: float, high: float) -> tuple[Point, ...]:
        """A rectangle given on the sheet, in the surface's own millimetres."""
        corners = [self.local(surface, p) for p in box(x, y, wide, high)]
        left, low = min(p[0] for p in corners), min(p[1] for p in corners)
        right, top = max(p[0] for p in corners), max(p[1] for p in corners)
        return box(left, low, right - left, top - low)

    def device(self, kind: str, name: str, surface: str, at: Point) -> str:
        template = next(d for d in self.library.devices if d.id == kind)
        self.plan, self.devices[name] = place_device(self.plan, template, surface, self.local(surface, at), name)
        return self.devices[name]

    def channel(self, *points: Point, bend_mm: float = 60.0) -> None:
        self.plan, _ = draw_channel(
            self.plan, points, bend_mm=bend_mm, groups=("mains", "dc_power", "signal", "antenna")
        )

    def join(self, *names: str) -> None:
        for name in names or tuple(self.devices):
            self.plan, _ = connect_to_nearest(self.plan, self.devices[name])

    def circuit(self, source: str, loads: Sequence[str], name: str) -> None:
        ids = [self.devices[load] for load in loads]
        self.plan, _ = connect(self.plan, self.devices[source], None, ids, name, library=self.library)


def van() -> Plan:
    """Floor from (0, 0) to (3700, 1800) on the sheet; right wall and ceiling above it, left wall below it."""
    m = Maker()
    m.plan, floor = draw_floor(m.plan, box(0, 0, LENGTH_MM, WIDTH_MM), "Floor")
    right = m.wall(floor, "3", HEIGHT_MM, "Right wall")
    left = m.wall(floor, "1", HEIGHT_MM, "Left wall")
    bulkhead = m.wall(floor, "4", HEIGHT_MM, "Bulkhead")
    rear_left = m.wall(floor, "2", HEIGHT_MM, "Rear door left", 0, WIDTH_MM / 2)
    rear_right = m.wall(floor, "2", HEIGHT_MM, "Rear door right", WIDTH_MM / 2)
    ceiling = m.wall(right, "3", WIDTH_MM, "Ceiling")
    for x in (420, 960, 1490, 2020, 2560, 3080):
        for surface, low, high in ((left, -1880, -20), (right, 1820, 3680), (ceiling, 3720, 5480)):
            line = (m.local(surface, (x, low)), m.local(surface, (x, high)))
            m.plan, _ = draw_rib(m.plan, surface, line, 60.0, depth_mm=40.0)
    for surface, frame, high, name, kind in (
        (right, (300, 3280, 1900, 370), 320, "Overhead cabinets", "cabinet"),
        (floor, (300, 1320, 1100, 480), 450, "Bench seat", "seat_base"),
        (floor, (1500, 1290, 700, 510), 1400, "Wardrobe", "cabinet"),
        (floor, (2390, 1320, 950, 480), 700, "Power cabinet", "cabinet"),
        (floor, (1560, 0, 640, 510), 900, "Galley", "cabinet"),
        (left, (1560, -1850, 1740, 370), 320, "Overhead cabinets left", "cabinet"),
        (floor, (2700, 0, 720, 240), 300, "Wheel arch left", "wheel_arch"),
    ):
        m.plan, _ = draw_box(m.plan, surface, m.area(surface, *frame), high, name, kind)
    m.plan, _ = draw_box(m.plan, floor, m.area(floor, 2390, 300, 1270, 990), 40, "Bed platform", "bed", base_mm=760.0)
    m.plan, _ = draw_opening(m.plan, right, m.area(right, 1080, 2660, 880, 450), "Window 880 × 450")
    m.plan, _ = draw_opening(m.plan, left, m.area(left, 1640, -1400, 600, 400), "Window 600 × 400")
    m.plan, _ = draw_opening(m.plan, left, m.area(left, 250, -1850, 1240, 1830), "Sliding door opening", "door")
    m.plan, _ = draw_opening(m.plan, rear_right, m.area(rear_right, 4700, 1000, 560, 690), "Window")
    m.plan, _ = draw_opening(m.plan, rear_left, m.area(rear_left, 4700, 110, 560, 690), "Window")
    m.plan, _ = draw_zone(m.plan, bulkhead, m.area(bulkhead, -1700, 200, 420, 360), "airbag", "Airbag")
    m.plan, _ = draw_panel(m.plan, ceiling, m.area(ceiling, 60, 3760, 1700, 1660), "Ceiling panel front")
    edge = (m.local(left, (2600, -260)), m.local(left, (3600, -260)))
    m.plan, _ = draw_metal_edge(m.plan, left, edge, "Cut sill")
    for name, at in (("1", 620), ("2", 1230), ("3", 1850), ("4", 2330)):
        m.device("light-spot", f"Light {name}", ceiling, (at, 5280))
        m.device("light-spot", f"Light {int(name) + 4}", ceiling, (at, 4320))
    m.device("roof-fan", "Roof fan", ceiling, (1850, 4830))
    m.device("switch-panel", "Switches", right, (480, 2860))
    m.device("fuse-block-12", "Fuses", right, (2560, 2360))
    m.device("charge-controller", "Solar controller", right, (2960, 2360))
    m.device("battery-house", "Battery", floor, (2620, 1560))
    m.device("water-pump", "Pump", floor, (1900, 130))
    m.device("fridge-compressor", "Fridge", left, (1800, -330))
    m.device("usb-outlet", "USB by the bed", left, (3500, -900))
    m.device("light-reading", "Reading light", right, (3450, 2900))
    m.device("light-reading", "Door light", rear_right, (4560, 1250))
    m.device("antenna-roof", "Panel lead", ceiling, (3230, 5000))
    _channels(m)
    m.join()
    m.circuit("Battery", ["Fuses"], "House feed")
    m.circuit("Fuses", [f"Light {n}" for n in (1, 2, 3, 4)], "Ceiling lights right")
    m.circuit("Fuses", [f"Light {n}" for n in (5, 6, 7, 8)], "Ceiling lights left")
    for load in ("Roof fan", "Pump", "Fridge", "USB by the bed", "Reading light", "Door light"):
        m.circuit("Fuses", [load], load)
    for surface, a, b, out in (
        (ceiling, (60, 4320), (60, 5280), -100.0),
        (right, (60, 1800), (60, 3200), -100.0),
        (floor, (60, 660), (60, 1800), -100.0),
    ):
        m.plan, _ = add_dimension(m.plan, surface, m.local(surface, a), m.local(surface, b), out)
    return m.plan


def _channels(m: Maker) -> None:
    m.channel((2560, 2500), (2560, 3050), (2640, 3050), (2640, 4320))
    m.channel((2640, 4320), (2640, 5280), (560, 5280))
    m.channel((2640, 4320), (560, 4320))
    m.channel((1850, 4320), (1850, 4760))
    m.channel((480, 2900), (480, 3200), (2540, 3200), (2540, 2700), (2560, 2500))
    m.channel((2560, 2500), (2300, 2500), (2300, -760), (2300, -900))
    m.channel((2300, 130), (1950, 130))
    m.channel((2300, -330), (1950, -330))
    m.channel((2300, -900), (3450, -900))
    m.channel((2560, 2500), (3560, 2500), (3560, 1500), (4500, 1500), (4500, 1300))
    m.channel((3560, 2500), (3560, 2850))
    m.channel((2960, 2420), (2960, 2800), (3230, 2800), (3230, 4940))
    m.channel((2620, 1600), (2620, 2430), (2560, 2500))
    m.channel((120, 3200), (480, 3200))
