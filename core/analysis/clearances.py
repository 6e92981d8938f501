"""Stage `clearances`: how near bundles come to zones and to what moves, in the vehicle, not on the sheet.

A zone is its outline from its surface up to its height; a moving part is its outline, as thick as its box, over its
whole travel. Distances are from the outside of the bundle, straight through whatever lies between: a wall that really
parts the two is the reader's to see.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from core.analysis.crossings import BEHIND, SHELTERED
from core.analysis.motion import Motion, motions, rides
from core.analysis.obstacles import taped
from core.analysis.places import Sheet, sheet_point
from core.analysis.results import Bundle, ChannelPath, Clearance
from core.analysis.rules import number
from core.geometry.foldout import Point3
from core.geometry.plane import along_mm
from core.geometry.prism import Floats, Points3, line_distances_mm, prism_distances_mm
from core.model import Box, Channel, Device, KeepOutZone, MetalEdge, MovingPart, Profile, Surface

#: Bundles are looked at every so many mm, and around the nearest place once more, finer.
STEP_MM = 20.0
FINE = 40
#: A bundle that is near to an edge over less than this passes it, instead of running along it (mm; our choice).
ALONG_MM = 100.0
#: Nothing is looked at more finely than this many points a channel.
MOST_POINTS = 2_000


@dataclass(frozen=True)
class _Line:
    """A bundle in the vehicle's coordinates, with its corners' place along it by the tape, and its bounding box."""

    channel: Channel
    path: ChannelPath
    radius_mm: float
    root: str
    corners: Floats
    along: Floats

    def at(self, places: Floats) -> Points3:
        x, y, z = (np.interp(places, self.along, self.corners[:, k]) for k in range(3))
        return x, y, z


def _lines(
    channels: Sequence[Channel], paths: Mapping[str, ChannelPath], bundles: Mapping[str, Bundle], sheet: Sheet
) -> list[_Line]:
    found = []
    for channel in channels:
        bundle, path = bundles.get(channel.id), paths[channel.id]
        laid = sheet.layout.laid.get(path.surface or "")
        if bundle is None or laid is None or len(path.local_mm) < 2 or path.length_mm <= 0:
            continue
        corners = np.array([laid.pose.to_vehicle(p) for p in path.local_mm])
        along = np.array(along_mm(path.local_mm)) * taped(path)
        found.append(_Line(channel, path, bundle.diameter_laid_mm / 2, laid.root, corners, along))
    return found


def _to_local(sheet: Sheet, surface: str, points: Points3) -> Points3:
    pose = sheet.layout.laid[surface].pose
    away = [p - o for p, o in zip(points, pose.origin, strict=True)]

    def along(axis: Point3) -> Floats:
        result: Floats = away[0] * axis[0] + away[1] * axis[1] + away[2] * axis[2]
        return result

    return along(pose.x_axis), along(pose.y_axis), along(pose.normal)


Measure = Callable[[Points3], Floats]


@dataclass(frozen=True)
class _Thing:
    """What to keep away from: its distance function in the vehicle, a box around it, and the limit with its source."""

    id: str
    kind: str
    root: str
    measure: Measure
    low: Point3
    high: Point3
    limit_mm: float
    rule: str


def _around(
    sheet: Sheet, surface: str, points: Sequence[tuple[float, float]], low: float, high: float
) -> tuple[Point3, Point3]:
    pose = sheet.layout.laid[surface].pose
    all_ = np.array([pose.to_vehicle(p, h) for p in points for h in (low, high)])
    (a, b, c), (d, e, f) = all_.min(axis=0).tolist(), all_.max(axis=0).tolist()
    return (a, b, c), (d, e, f)


def _zone(zone: KeepOutZone, sheet: Sheet, profile: Profile) -> _Thing:
    typed = zone.clearance_mm > 0
    rule = f"zone.{zone.kind}_mm"

    def measure(points: Points3) -> Floats:
        return prism_distances_mm(_to_local(sheet, zone.surface, points), zone.outline, 0.0, zone.height_mm)

    low, high = _around(sheet, zone.surface, zone.outline, 0.0, zone.height_mm)
    return _Thing(
        zone.id,
        zone.kind,
        sheet.layout.laid[zone.surface].root,
        measure,
        low,
        high,
        zone.clearance_mm if typed else number(profile, rule),
        "" if typed else rule,
    )


def motion_distance_mm(motion: Motion, points: Points3) -> Floats:
    """Distance of every point (local to the part's surface) to all the part sweeps: coarse over the whole travel, then
    fine around each point's nearest place. Within a millimetre or two."""
    outline, low, high = motion.part.outline, motion.low_mm, motion.high_mm

    def at(share: float | Floats) -> Floats:
        back = motion.back(points, share)
        return prism_distances_mm(back, outline, low, high)

    shares = np.linspace(0.0, 1.0, motion.steps + 1)
    rows = np.array([at(float(share)) for share in shares])
    pick = rows.argmin(axis=0)
    best: Floats = rows.min(axis=0)
    half = 1.0 / motion.steps
    for nudge in np.linspace(-half, half, 17):
        best = np.minimum(best, at(np.clip(shares[pick] + nudge, 0.0, 1.0)))
    return best


def _moving(motion: Motion, sheet: Sheet, profile: Profile) -> _Thing:
    part = motion.part

    def measure(points: Points3) -> Floats:
        return motion_distance_mm(motion, _to_local(sheet, part.surface, points))

    reach = motion.reach_mm
    low, high = _around(sheet, part.surface, part.outline, motion.low_mm, motion.high_mm)
    return _Thing(
        part.id,
        "moving_part",
        sheet.layout.laid[part.surface].root,
        measure,
        (low[0] - reach, low[1] - reach, low[2] - reach),
        (high[0] + reach, high[1] + reach, high[2] + reach),
        number(profile, "zone.moving_mm"),
        "zone.moving_mm",
    )


def _edge(edge: MetalEdge, sheet: Sheet, profile: Profile) -> _Thing:
    """A raw edge beside which a bundle runs; over it, it is a crossing."""

    def measure(points: Points3) -> Floats:
        return line_distances_mm(_to_local(sheet, edge.surface, points), edge.line_mm)

    low, high = _around(sheet, edge.surface, edge.line_mm, 0.0, 0.0)
    root = sheet.layout.laid[edge.surface].root
    limit = number(profile, "edge.clearance_mm")
    return _Thing(edge.id, "edge", root, measure, low, high, limit, "edge.clearance_mm")


def _nearest(line: _Line, thing: _Thing) -> tuple[float, float, float]:
    """(distance, place, length that is nearer than the limit) of the bundle's outside, all in mm."""
    count = max(2, min(MOST_POINTS, int(line.path.length_mm / STEP_MM) + 2))
    places = np.union1d(np.linspace(0.0, line.path.length_mm, count), line.along)
    away = thing.measure(line.at(places)) - line.radius_mm
    pick = int(away.argmin())
    low, high = places[max(pick - 1, 0)], places[min(pick + 1, len(places) - 1)]
    fine = np.linspace(low, high, FINE)
    finer = thing.measure(line.at(fine)) - line.radius_mm
    k = int(finer.argmin())
    distance, at = min((float(away[pick]), float(places[pick])), (float(finer[k]), float(fine[k])))
    near = (away[:-1] < thing.limit_mm) & (away[1:] < thing.limit_mm)
    return max(0.0, distance), at, float(np.diff(places)[near].sum())


def _rows(lines: Sequence[_Line], thing: _Thing, skip: Callable[[_Line], bool]) -> list[Clearance]:
    reach = thing.limit_mm
    rows = []
    for line in lines:
        more = reach + line.radius_mm
        if line.root != thing.root or skip(line):
            continue
        if any(
            line.corners[:, k].min() > thing.high[k] + more or line.corners[:, k].max() < thing.low[k] - more
            for k in range(3)
        ):
            continue
        distance, at, length = _nearest(line, thing)
        if distance < thing.limit_mm or distance <= 0.0:
            rows.append(
                Clearance(
                    channel=line.channel.id,
                    with_=thing.id,
                    kind=thing.kind,
                    at_mm=at,
                    distance_mm=distance,
                    limit_mm=thing.limit_mm,
                    near_mm=length,
                    rule=thing.rule,
                    sheet_mm=sheet_point(line.path, at),
                )
            )
    return rows


def _device_rows(
    devices: Sequence[Device], motion: Motion, thing: _Thing, sheet: Sheet, faces: frozenset[str]
) -> list[Clearance]:
    """Devices that stand where the part goes: their middle, corners and depth are looked at."""
    rows = []
    for device in devices:
        laid = sheet.layout.laid.get(device.surface)
        if laid is None or laid.root != thing.root or device.surface in faces:
            continue
        a, b = device.width_mm / 2, device.height_mm / 2
        turn = np.radians(device.turn_deg)
        c, s = float(np.cos(turn)), float(np.sin(turn))
        spots = [(x * c - y * s, x * s + y * c) for x in (-a, 0.0, a) for y in (-b, 0.0, b)]
        deep = (0.0, device.depth_mm / 2, device.depth_mm)
        all_ = np.array(
            [laid.pose.to_vehicle((device.at_mm[0] + x, device.at_mm[1] + y), h) for x, y in spots for h in deep]
        )
        away = thing.measure((all_[:, 0], all_[:, 1], all_[:, 2]))
        if float(away.min()) <= 0.0 and motion.high_mm > 0.0:
            rows.append(
                Clearance(
                    channel=device.id,
                    with_=thing.id,
                    kind="device",
                    at_mm=0.0,
                    distance_mm=0.0,
                    limit_mm=0.0,
                    near_mm=0.0,
                    rule="",
                    sheet_mm=sheet.to_sheet(device.surface, device.at_mm),
                )
            )
    return rows


def find_clearances(
    channels: tuple[Channel, ...],
    surfaces: tuple[Surface, ...],
    boxes: tuple[Box, ...],
    edges: tuple[MetalEdge, ...],
    zones: tuple[KeepOutZone, ...],
    parts: tuple[MovingPart, ...],
    devices: tuple[Device, ...],
    sheet: Sheet,
    paths: Mapping[str, ChannelPath],
    bundles: Mapping[str, Bundle],
    profile: Profile,
) -> tuple[Clearance, ...]:
    """Stage `clearances`: every bundle nearer to a zone, to a raw edge it runs along, or to the way of a moving part
    than it may be, and every device that stands in such a way. Doors and other whole surfaces that move carry what lies
    on them and open outwards: they are left out."""
    if not zones and not parts and not edges:
        return ()
    lines = _lines(channels, paths, bundles, sheet)
    surface_by_id, box_by_id = {s.id: s for s in surfaces}, {b.id: b for b in boxes}
    rows: list[Clearance] = []
    for zone in zones:
        if zone.surface in sheet.layout.laid and len(zone.outline) > 2:
            rows += _rows(lines, _zone(zone, sheet, profile), lambda _line: False)
    for edge in edges:
        if edge.surface in sheet.layout.laid and len(edge.line_mm) > 1 and not edge.protected:
            near = _rows(lines, _edge(edge, sheet, profile), lambda line: line.channel.kind in SHELTERED)
            rows += [row for row in near if row.near_mm > ALONG_MM]
    for motion in motions(parts, box_by_id):
        part = motion.part
        if part.surface not in sheet.layout.laid or rides(part, surface_by_id[part.surface]):
            continue
        box = box_by_id.get(part.box or "")
        faces = frozenset(box.faces) if box is not None else frozenset()
        thing = _moving(motion, sheet, profile)

        def carried(line: _Line, faces: frozenset[str] = faces) -> bool:
            channel = line.channel
            return channel.moving or channel.kind in BEHIND or (channel.surface or "") in faces

        rows += _rows(lines, thing, carried)
        rows += _device_rows(devices, motion, thing, sheet, faces)
    return tuple(rows)
