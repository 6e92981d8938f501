"""What has a place on a surface: securing points, nodes, holes and protected edges, numbered for drawing and list."""

from collections.abc import Mapping
from typing import Literal

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.fixing import LEAST_HELD_MM
from core.analysis.results import ChannelPath
from core.geometry.plane import length_mm, point_at
from core.geometry.upright import Upright, upright
from core.model import InPenetration, Penetration, Point, Surface
from core.tables.crossed import Crossed
from core.tables.names import Names, capital, fixing_words, words

#: Where two sheets of metal meet: whether anything rubs there is seen on the vehicle only.
SHEETS_MEET = ("fold", "seam")
SpotKind = Literal["fixing", "node", "hole", "edge", "photo"]
LETTERS: dict[SpotKind, str] = {"fixing": "F", "node": "N", "hole": "H", "edge": "E", "photo": "P"}


class Spot(msgspec.Struct, frozen=True, kw_only=True):
    """One place on a surface, `at_mm` in the surface's own millimetres.

    `hole_mm` is the hole to be drilled, None where nothing is. `along_mm` is measured from the start of `channel`.
    """

    number: str
    kind: SpotKind
    what: str
    at_mm: Point
    channel: str = ""
    along_mm: float | None = None
    hole_mm: float | None = None
    detail: str = ""
    subject: str = ""


def view_of(analysis: Analysis, surface: Surface) -> Upright | None:
    """The surface turned upright; None for one that has no area or no place in the vehicle."""
    laid = analysis.sheet.layout.laid.get(surface.id)
    return None if laid is None or len(surface.corners) < 3 else upright(surface, laid.pose)


def local_point(path: ChannelPath, at_mm: float) -> Point | None:
    """A place along a channel on its surface; a length typed from the tape is spread over the drawing."""
    if len(path.local_mm) < 2:
        return None
    drawn = length_mm(path.local_mm)
    return point_at(path.local_mm, at_mm * drawn / path.length_mm if path.length_mm > 0 else 0.0)


def spots_by_surface(analysis: Analysis) -> dict[str, tuple[Spot, ...]]:
    """The spots of every surface that has any: fixings, then nodes, holes and edges, each numbered from 1."""
    names = Names(analysis.plan)
    found: dict[str, list[Spot]] = {}
    for maker in (_fixings, _nodes, _holes, _crossings, _photos):
        for surface, spot in maker(analysis, names):
            found.setdefault(surface, []).append(spot)
    return {surface.id: _numbered(found[surface.id]) for surface in analysis.plan.surfaces if surface.id in found}


def _numbered(spots: list[Spot]) -> tuple[Spot, ...]:
    counts = dict.fromkeys(LETTERS.values(), 0)
    result = []
    for kind, letter in LETTERS.items():
        for spot in spots:
            if spot.kind == kind:
                counts[letter] += 1
                result.append(msgspec.structs.replace(spot, number=f"{letter}{counts[letter]}"))
    return tuple(result)


def _fixings(analysis: Analysis, _: Names) -> list[tuple[str, Spot]]:
    rows = []
    for row in analysis.securing:
        path = analysis.paths[row.channel]
        at = local_point(path, row.at_mm)
        if at is None or path.surface is None:
            continue
        told = [f"holds Ø {row.holds_mm:.0f}"] if row.holds_mm > LEAST_HELD_MM else []
        told += [f"rivet nut M{row.bolt_mm:g}"] if row.threaded else []
        told += [f"screw {row.screw_mm:g} mm at most"] if row.screw_mm is not None else []
        told += ["placed by hand"] if row.user else []
        told += [row.problem.upper()] if row.problem else []
        spot = Spot(
            number="",
            kind="fixing",
            what=capital(row.part or fixing_words(row.kind)),
            at_mm=at,
            channel=row.channel,
            along_mm=row.at_mm,
            hole_mm=row.hole_mm,
            detail=", ".join(told),
            subject=row.channel,
        )
        rows.append((path.surface, spot))
    return rows


def _photos(analysis: Analysis, names: Names) -> list[tuple[str, Spot]]:
    """Photos that are pinned to a place."""
    rows = []
    for photo in analysis.plan.photos:
        if photo.surface is not None:
            shown = f"behind {names(photo.panel)}" if photo.panel else ""
            detail = ", ".join(text for text in (shown, photo.taken_on) if text)
            rows.append((photo.surface, Spot(number="", kind="photo", what=photo.caption or "photo", at_mm=photo.at_mm,
                                             detail=detail, subject=photo.id)))  # fmt: skip
    return rows


def _nodes(analysis: Analysis, names: Names) -> list[tuple[str, Spot]]:
    meeting: dict[str, list[str]] = {}
    for channel in analysis.plan.channels:
        if channel.id in analysis.bundles:
            meeting.setdefault(channel.start, []).append(channel.id)
            meeting.setdefault(channel.end, []).append(channel.id)
    devices: dict[str, list[str]] = {}
    for device in analysis.plan.devices:
        if device.node is not None:
            devices.setdefault(device.node, []).append(device.name)
    rows = []
    for node in analysis.plan.nodes:
        if node.id not in meeting and node.id not in devices:
            continue
        spot = analysis.node_spots[node.id]
        count = len(meeting.get(node.id, ()))
        if count == 2 and len(spot.spots) == 1 and node.id not in devices:
            continue  # only a corner of one channel after the other
        what = "breakout" if count > 2 else "passes on" if count == 2 else "end"
        if len(spot.spots) > 1:
            what += " to " + ", ".join(names(surface) for surface, _ in spot.spots[1:])
        detail = f"to {', '.join(devices[node.id])}" if node.id in devices else ""
        for surface, at in spot.spots[:1] if count <= 1 else spot.spots:
            text = what if surface == spot.spots[0][0] else what.split(" to ")[0] + f" to {names(spot.spots[0][0])}"
            rows.append((surface, Spot(number="", kind="node", what=text, at_mm=at, detail=detail, subject=node.id)))
    return rows


def _holes(analysis: Analysis, names: Names) -> list[tuple[str, Spot]]:
    """Penetrations, on both their surfaces."""
    rows = []
    for hole in analysis.plan.penetrations:
        size = hole_size_mm(analysis, hole)
        name = hole.name or "hole"
        for here, at, there in ((hole.a, hole.a_mm, hole.b), (hole.b, hole.b_mm, hole.a)):
            spot = Spot(
                number="",
                kind="hole",
                what=f"{name} to {names(there)}",
                at_mm=at,
                hole_mm=size,
                detail=f"{protection_words(hole.protection)}, through {hole.thickness_mm:g} mm",
                subject=hole.id,
            )
            rows.append((here, spot))
    return rows


def hole_size_mm(analysis: Analysis, hole: Penetration) -> float | None:
    """The hole that is planned, else the one its bundles need."""
    if hole.hole_mm is not None:
        return hole.hole_mm
    return next((row.size_mm for row in analysis.crossings if row.with_ == hole.id and row.kind == "hole"), None)


def protection_words(protection: str) -> str:
    return "not protected yet" if protection == "none" else words(protection)


def _crossings(analysis: Analysis, _: Names) -> list[tuple[str, Spot]]:
    """Holes and edges along the channels: what is planned there, and crossings that nothing protects yet."""
    words_of = Crossed(analysis)
    crossed = _crossed(analysis, words_of)
    rows = []
    for passed in analysis.plan.pass_throughs:
        if passed.id in analysis.twice:
            continue  # listed as the hole between two surfaces
        path = analysis.paths.get(passed.channel)
        at = local_point(path, passed.at_mm) if path is not None else None
        if path is None or at is None or path.surface is None:
            continue
        through = crossed.get((passed.channel, passed.at_mm), "")
        spot = Spot(
            number="",
            kind="edge" if passed.kind == "edge" else "hole",
            what=f"{'over' if passed.kind == 'edge' else 'through'} {through or passed.kind}",
            at_mm=at,
            channel=passed.channel,
            along_mm=passed.at_mm,
            hole_mm=None if passed.kind == "edge" else passed.hole_mm,
            detail=protection_words(passed.protection),
            subject=passed.id,
        )
        rows.append((path.surface, spot))
    holes = {node.place.penetration for node in analysis.plan.nodes if isinstance(node.place, InPenetration)}
    for row in analysis.crossings:
        path = analysis.paths[row.channel]
        at = local_point(path, row.at_mm)
        if row.protected or row.with_ in holes or at is None or path.surface is None:
            continue
        spot = Spot(
            number="",
            kind="edge",
            what=f"crosses {words_of.thing(row)}",
            at_mm=at,
            channel=row.channel,
            along_mm=row.at_mm,
            detail=f"look: {row.remedy}" if row.kind in SHEETS_MEET else f"NOT PROTECTED: {row.remedy}",
            subject=row.with_,
        )
        rows.append((path.surface, spot))
    return rows


def _crossed(analysis: Analysis, words_of: Crossed) -> Mapping[tuple[str, float], str]:
    """What a pass-through on a channel goes through: the crossing nearest to it there."""
    result = {}
    for passed in analysis.plan.pass_throughs:
        here = [row for row in analysis.crossings if row.channel == passed.channel]
        near = min(here, key=lambda row: abs(row.at_mm - passed.at_mm), default=None)
        if near is not None:
            result[passed.channel, passed.at_mm] = words_of.thing(near)
    return result
