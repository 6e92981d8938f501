"""What a channel can be fixed to along its way, and with which part; and where it must not be fixed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import radians, tan
from typing import Literal

from core.analysis.obstacles import Obstacle, near, taped
from core.analysis.results import ChannelPath
from core.geometry.plane import along_mm, crossings
from core.geometry.polygon import clip
from core.harness.bend import fillet_radius_available_mm, turn_angles_deg
from core.harness.fastening import BESIDE_HOLE_MM, Ground, kinds_for, part_of, rib_screw_mm, screw_mm
from core.harness.securing import Stretch
from core.model import METALS, Channel, FixingKind, KeepOutZone, MovingPart, Opening, Outline, Rib, Surface

#: The fewest points come first; among as few, those on ribs and battens, then on boards and edges, then on bare skin.
#: A thousandth a point ranks them exactly up to 300 points on one channel.
COST: Mapping[Ground, float] = {"rib": 1.0, "batten": 1.0, "board": 1.001, "edge": 1.002, "skin": 1.003}
#: A turn from which on the bundle is held on both sides (degrees), and how near to it (mm; common practice, no source).
BEND_TURN_DEG = 30.0
BEND_REACH_MM = 100.0
INSIDE_BEND = "inside a bend"
#: Share of a long bend, about its middle, that may hold a point (our choice).
MIDDLE_SHARE = 0.2
#: Channels that are held by their own saddles, and places where neither glue nor nylon lasts.
DUCTS: Mapping[str, Literal["", "conduit", "trunking"]] = {
    "closed_conduit": "conduit",
    "split_conduit": "conduit",
    "trunking": "trunking",
}
HARSH = frozenset({"underfloor", "exterior", "engine_bay"})
#: A bundle that goes through a rib in a hole is held by no screw on that rib's face.
THROUGH_MM = 60.0
#: Zones in which nothing is fixed at all.
NO_FIXING = frozenset({"hot", "moving", "airbag", "gas", "fuel", "brake"})
#: An edge clip may sit this far from where its edge is crossed (mm; half a clip).
EDGE_HALF_MM = 8.0
#: Surfaces whose sheet metal is the vehicle's outside.
OUTER_SKIN = frozenset({"wall", "ceiling", "door", "arch"})
#: Materials that hold neither screw nor glue for a bundle.
HOLDS_NOTHING = frozenset({"glass", "insulation"})


@dataclass(frozen=True, slots=True)
class Hold:
    """How a point is held: the ground, what it belongs to, the part, and the longest screw (None: none is used)."""

    ground: Ground
    on: str
    kind: str
    part: FixingKind | None
    screw_mm: float | None


@dataclass(frozen=True, slots=True)
class Lined:
    """A hole that the bundle passes along its channel: its place and its diameter (mm)."""

    at_mm: float
    hole_mm: float


@dataclass(frozen=True, slots=True)
class Banned:
    """A stretch that takes no securing point, and why."""

    from_mm: float
    to_mm: float
    why: str


def ground_of(surface: Surface | None) -> Ground:
    """The ground of a bare surface; a channel without a surface (in furniture, in a void) lies on boards."""
    if surface is None:
        return "board"
    if surface.material in HOLDS_NOTHING:
        return "nothing"
    return "skin" if surface.material in METALS and surface.side != "board" else "board"


class Grounds:
    """Finds what there is to hold a channel; the same hold is one object."""

    def __init__(self, ribs: Iterable[Rib], fixings: Sequence[FixingKind]) -> None:
        self._ribs = {rib.id: rib for rib in ribs}
        self._fixings = fixings
        self._parts: dict[tuple[tuple[str, ...], float], tuple[str, FixingKind | None] | None] = {}

    def _hold(
        self,
        channel: Channel,
        ground: Ground,
        on: str,
        bundle_mm: float,
        thick_mm: float,
        heavy: bool,
        outer: bool,
    ) -> Hold | None:
        kinds = kinds_for(
            ground,
            bundle_mm,
            thick_mm,
            duct=DUCTS.get(channel.kind, ""),
            harsh=channel.kind in HARSH,
            heavy=heavy,
            outer=outer,
        )
        key = (kinds, bundle_mm)
        if key not in self._parts:
            self._parts[key] = part_of(kinds, bundle_mm, self._fixings)
        found = self._parts[key]
        if found is None:
            return None
        kind, part = found
        screw = None
        if kind not in ("bonded_mount", "edge_clip", "adhesive") and ground != "skin":
            screw = rib_screw_mm(thick_mm) if ground == "rib" else screw_mm(thick_mm)
        return Hold(ground, on, kind, part, screw)

    def along(
        self,
        channel: Channel,
        path: ChannelPath,
        bundle_mm: float,
        surface: Surface | None,
        obstacles: tuple[Obstacle, ...],
        holes: Sequence[Lined] = (),
        heavy: bool = False,
    ) -> tuple[list[Stretch], list[Hold]]:
        """Stretches that can be fixed to; the kind of a stretch is the place of its hold in the second list. `holes`
        are those that the bundle passes, `heavy` says that a battery cable is in it."""
        outer = surface is not None and (surface.side == "outside" or surface.role in OUTER_SKIN)
        holds: list[Hold] = []
        stretches: list[Stretch] = []

        def add(low: float, high: float, hold: Hold | None) -> None:
            if hold is not None and high >= 0.0 and low <= path.length_mm:
                low, high = max(0.0, low), min(path.length_mm, high)
                stretches.append(Stretch(low, high, COST[hold.ground], str(len(holds))))
                holds.append(hold)

        # The thickness of a board that nobody measured is not a thin board.
        scale = taped(path)
        thick = surface.thickness_mm if surface is not None and surface.thickness_mm > 1.0 else 15.0
        own = self._hold(channel, ground_of(surface), path.surface or "", bundle_mm, thick, heavy, outer)
        add(0.0, path.length_mm, own)
        rib = self._ribs.get(channel.runs_inside or "")
        if rib is not None:  # inside a rib, its own metal is at hand all along
            add(0.0, path.length_mm, self._hold(channel, "rib", rib.id, bundle_mm, rib.depth_mm, heavy, False))
        for obstacle in near(obstacles, path.local_mm):
            if obstacle.kind in ("rib", "batten"):
                row = self._ribs.get(obstacle.id)
                depth = row.depth_mm if row is not None else 0.0
                ground: Ground = "rib" if obstacle.kind == "rib" else "batten"
                half = obstacle.half_mm
                thick = depth if ground == "rib" or depth > 0 else 15.0
            elif obstacle.kind == "metal_edge":
                ground, half, thick = "edge", EDGE_HALF_MM, obstacle.sheet_mm
            else:
                continue
            hold = self._hold(channel, ground, obstacle.id, bundle_mm, thick, heavy, False)
            for meeting in crossings(path.local_mm, obstacle.line_mm):
                at = meeting.a_mm * scale
                # Through a rib, not over it: what is on its face does not reach the bundle inside.
                if not any(abs(hole.at_mm - at) <= THROUGH_MM + half for hole in holes):
                    add(at - half, at + half, hold)
        return stretches, holds


def bend_stretches(
    channel: Channel, path: ChannelPath, radius_mm: float, bundle_mm: float, span_mm: float
) -> list[Banned]:
    """The arcs of the bends at vias: on the radius asked for or needed, as far as the drawn legs let it be.

    A bend longer than the spacing is two stretches with a little room at its middle: it is held there as well.
    """
    if len(path.local_mm) < 3:
        return []
    along = along_mm(path.local_mm)
    scale = taped(path)
    rows = []
    for i, turn in enumerate(turn_angles_deg(path.local_mm), start=1):
        if turn < BEND_TURN_DEG:
            continue
        middle = max(radius_mm, channel.bend_mm) + bundle_mm / 2
        fits = fillet_radius_available_mm(along[i] - along[i - 1], along[i + 1] - along[i], turn)
        tangent = min(middle, fits) * tan(radians(turn) / 2) if turn < 179.0 else 0.0
        middle_mm, half = along[i] * scale, tangent * scale
        if 2 * half > span_mm:
            room = MIDDLE_SHARE * half
            rows.append(Banned(middle_mm - half, middle_mm - room, INSIDE_BEND))
            rows.append(Banned(middle_mm + room, middle_mm + half, INSIDE_BEND))
        else:
            rows.append(Banned(middle_mm - half, middle_mm + half, INSIDE_BEND))
    return rows


def hole_stretches(holes: Sequence[Lined], bundle_mm: float) -> list[Banned]:
    """Around every hole on the way: no room for a screw or a foot, and the bundle is held by its lining there."""
    rows = []
    for hole in holes:
        half = max(hole.hole_mm, bundle_mm) / 2 + BESIDE_HOLE_MM
        rows.append(Banned(hole.at_mm - half, hole.at_mm + half, "in the hole it passes"))
    return rows


def windows_at(bends: Sequence[Banned], length_mm: float) -> list[tuple[float, float]]:
    """A point is wanted on either side of every bend, near but not in it (and between the halves of a long one)."""
    rows = []
    for bend in bends:
        rows += [(bend.from_mm - BEND_REACH_MM, bend.from_mm), (bend.to_mm, bend.to_mm + BEND_REACH_MM)]
    return [(max(0.0, a), min(length_mm, b)) for a, b in rows]


def _inside(path: ChannelPath, outline: Outline, why: str) -> list[Banned]:
    scale = taped(path)
    return [Banned(s.from_mm * scale, s.to_mm * scale, why) for s in clip(path.local_mm, outline)]


def _apart(path: ChannelPath, outline: Outline) -> bool:
    """Whether bounding boxes do not even touch; most things are far from any one channel."""
    xs, ys = [p[0] for p in path.local_mm], [p[1] for p in path.local_mm]
    us, vs = [p[0] for p in outline], [p[1] for p in outline]
    return min(xs) > max(us) or max(xs) < min(us) or min(ys) > max(vs) or max(ys) < min(vs)


def banned_stretches(
    path: ChannelPath,
    openings: Sequence[Opening],
    zones: Sequence[KeepOutZone],
    swept: Sequence[tuple[MovingPart, Outline]],
) -> list[Banned]:
    """Stretches over an opening, in a zone where nothing is fixed, or where a part moves; all on the path's surface."""
    if len(path.local_mm) < 2:
        return []
    rows: list[tuple[Outline, str]] = [(o.outline, f"over {o.name or 'an opening'}") for o in openings]
    rows += [(z.outline, f"in {z.name or f'the {z.kind} zone'}") for z in zones if z.kind in NO_FIXING]
    rows += [(outline, f"where {part.name} moves") for part, outline in swept]
    return [
        b
        for outline, why in rows
        if len(outline) > 2 and not _apart(path, outline)
        for b in _inside(path, outline, why)
    ]
