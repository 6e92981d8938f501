"""Tables of the measuring form: its fields with their help, and the bodies with what is typical of them.

Sizes are typical of such bodies, of no maker (common practice, no source).
"""

from dataclasses import dataclass
from typing import Literal

from core.model.body import Material

BodyName = Literal["small_van", "mid_van", "high_roof", "boxy_bus", "truck_body", "trailer", "boat_cabin"]
#: Name, on which face, kind, from_mm, up_mm, width_mm, height_mm, for a driver who sits at the left: the door is on the
#: other side. For a driver at the right, sides are exchanged; {left} and {right} in a name go along.
OpeningDefault = tuple[str, str, str, float, float, float, float]


@dataclass(frozen=True, slots=True)
class Field:
    """A value to measure: what it is called, from where to where, and between which limits it can be."""

    key: str
    label: str
    group: str
    help: str
    least_mm: float
    most_mm: float


@dataclass(frozen=True, slots=True)
class Body:
    """A kind of body: its walls in so many strips, what it is made of, and its typical sizes by field."""

    key: BodyName
    name: str
    help: str
    typical_mm: dict[str, float]
    openings: tuple[OpeningDefault, ...]
    wall_strips: int = 2
    material: Material = "steel"
    front: Literal["bulkhead", "wall", "open"] = "bulkhead"
    rear: Literal["leaves", "tailgate", "wall"] = "leaves"


FIELDS: tuple[Field, ...] = (
    Field("length", "Length", "Floor", "along the floor, bulkhead to the inside of the rear doors", 600, 15_000),
    Field("floor_width", "Width at the floor", "Floor", "wall to wall on the floor, clear of the arches", 500, 3_500),
    Field("taper", "Narrower at the front by", "Floor", "floor width at the rear less that in front", 0, 2_000),
    Field("shoulder_width", "Width at the shoulder", "Section", "wall to wall where the body is widest", 500, 4_000),
    Field("shoulder_height", "Height of the shoulder", "Section", "floor up to the widest place, upright", 100, 2_500),
    Field("roof_width", "Width at the roof", "Section", "between the edges where walls turn into roof", 300, 4_000),
    Field("side_height", "Height at the side", "Section", "floor up to the edge of the roof, upright", 300, 3_500),
    Field("centre_height", "Height in the middle", "Section", "floor to the roof skin, on the middle line", 300, 4_000),
    Field("rib_first", "First rib", "Ribs", "front end of the wall to the middle of the first rib", 0, 3_000),
    Field("rib_pitch", "Rib pitch", "Ribs", "middle of one rib to the middle of the next; 0 for none", 0, 3_000),
    Field("rib_width", "Rib width", "Ribs", "across the face of a rib", 10, 300),
    Field("rib_depth", "Rib depth", "Ribs", "skin to the face of a rib: the room for wires and insulation", 0, 200),
    Field("arch_gap", "Between the wheel arches", "Wheel arches", "face to face across the floor", 300, 3_000),
    Field("arch_length", "Arch, length", "Wheel arches", "along the floor; 0 for no arches", 0, 2_500),
    Field("arch_height", "Arch, height", "Wheel arches", "floor to the top of the arch", 50, 1_000),
    Field("arch_from_rear", "Arch to the rear", "Wheel arches", "its rear end to the rear end of the floor", 0, 8_000),
)  # fmt: skip


def _sizes(
    length: float,
    widths: tuple[float, float, float],
    heights: tuple[float, float, float],
    ribs: tuple[float, float, float, float],
    arches: tuple[float, float, float, float] | None,
    taper: float | None = None,
) -> dict[str, float]:
    """Widths at floor, shoulder, roof; heights of shoulder, side, middle; first rib, pitch, width, depth; arch gap,
    length, height, distance to the rear."""
    sizes = {"length": length, "floor_width": widths[0], "shoulder_width": widths[1], "roof_width": widths[2]}
    sizes |= dict(zip(("shoulder_height", "side_height", "centre_height"), heights, strict=True))
    sizes |= dict(zip(("rib_first", "rib_pitch", "rib_width", "rib_depth"), ribs, strict=True))
    if arches is not None:
        sizes |= dict(zip(("arch_gap", "arch_length", "arch_height", "arch_from_rear"), arches, strict=True))
    if taper is not None:
        sizes["taper"] = taper
    return sizes


_ALL: tuple[Body, ...] = (
    Body(
        "small_van", "Small van", "load space you sit in: about 1.2 m high",
        _sizes(1_850, (1_500, 1_540, 1_380), (560, 1_120, 1_190), (320, 600, 60, 30), (1_210, 620, 250, 420)),
        (
            ("Sliding door", "right", "door", 90, 30, 680, 1_020),
            ("Rear window, left", "rear left", "window", 150, 640, 430, 380),
            ("Rear window, right", "rear right", "window", 150, 640, 430, 380),
        ),
    ),
    Body(
        "mid_van", "Mid van", "low roof: about 1.4 m high",
        _sizes(2_600, (1_640, 1_700, 1_480), (700, 1_290, 1_390), (420, 560, 70, 40), (1_270, 760, 290, 560)),
        (
            ("Sliding door", "right", "door", 110, 30, 1_000, 1_230),
            ("Window, {left}", "left", "window", 250, 780, 800, 380),
            ("Rear window, left", "rear left", "window", 160, 760, 470, 420),
            ("Rear window, right", "rear right", "window", 160, 760, 470, 420),
        ),
    ),
    Body(
        "high_roof", "High-roof van", "standing room: about 1.9 m high",
        _sizes(3_700, (1_780, 1_850, 1_560), (900, 1_800, 1_930), (480, 560, 80, 50), (1_400, 900, 300, 850)),
        (
            ("Sliding door", "right", "door", 130, 30, 1_250, 1_700),
            ("Roof fan", "roof", "roof_fan", 1_650, 594, 400, 400),
            ("Rear window, left", "rear left", "window", 170, 950, 520, 520),
            ("Rear window, right", "rear right", "window", 170, 950, 520, 520),
        ),
    ),
    Body(
        "boxy_bus", "Boxy bus", "upright sides with windows, a curved roof",
        _sizes(6_800, (2_200, 2_260, 1_980), (820, 1_760, 1_980), (700, 900, 60, 50), (1_480, 1_050, 320, 1_350)),
        (
            ("Entrance", "right", "door", 120, 0, 850, 1_720),
            *((f"Window {n}, {{right}}", "right", "window", 250.0 + 900 * n, 860, 760, 560) for n in range(1, 7)),
            *((f"Window {n}, {{left}}", "left", "window", 900.0 * n - 650, 860, 760, 560) for n in range(1, 8)),
            ("Roof hatch", "roof", "hatch", 2_400, 790, 560, 500),
            ("Rear door", "rear", "door", 750, 0, 700, 1_500),
        ),
        front="open", rear="wall",
    ),
    Body(
        "truck_body", "Truck body", "a box of its own behind a cab: flat walls and roof",
        _sizes(4_300, (2_200, 2_200, 2_200), (1_000, 2_100, 2_100), (610, 610, 40, 40), None),
        (
            ("Side door", "right", "door", 2_900, 0, 750, 1_900),
            ("Window, {left}", "left", "window", 900, 1_000, 900, 500),
        ),
        wall_strips=1, material="aluminium", front="wall",
    ),
    Body(
        "trailer", "Trailer", "upright walls, wheels beside the floor or under it",
        _sizes(3_600, (1_960, 1_960, 1_960), (900, 1_880, 1_960), (600, 600, 30, 30), None),
        (
            ("Entrance", "right", "door", 2_300, 0, 620, 1_750),
            ("Window, {left}", "left", "window", 1_200, 850, 1_000, 500),
            ("Roof hatch", "roof", "hatch", 1_500, 785, 400, 400),
            ("Rear window", "rear", "window", 480, 900, 1_000, 500),
        ),
        material="composite", front="wall", rear="wall",
    ),
    Body(
        "boat_cabin", "Boat cabin", "narrows to the bow, sides bend, a flat top",
        _sizes(3_200, (1_700, 2_180, 1_760), (850, 1_780, 1_780), (500, 700, 60, 40), None, taper=620),
        (
            ("Companionway", "rear", "door", 500, 250, 700, 1_400),
            ("Port light {left}", "left", "window", 900, 720, 700, 260),
            ("Port light {right}", "right", "window", 900, 720, 700, 260),
            ("Deck hatch", "roof", "hatch", 700, 560, 500, 500),
        ),
        wall_strips=3, material="composite", front="wall", rear="wall",
    ),
)  # fmt: skip

BODIES: dict[BodyName, Body] = {body.key: body for body in _ALL}
