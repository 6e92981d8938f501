"""Marks of what carries wires: bundles to scale with their securing points, free channels, nodes, crossings, routes.

Sheet millimetres; `k` is the scale (mm of the sheet to one on paper).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from core.analysis.results import Bundle, ChannelPath, Crossing, NodeSpot
from core.geometry.plane import Polyline, along_mm, distance_mm, part, point_at
from core.model import Channel, Node, Point
from core.pages.fillet import fillet, flatten
from core.pages.lettering import width_mm
from core.pages.marks import AnyMark, AreaMark, CircleMark, LineMark, PathMark, TextMark
from core.pages.sheet_base import LABEL_MM, THINNEST_BUNDLE_MM, upright_deg
from core.pages.sheet_placement import turned
from core.text import mm, number, trimmed

#: Half the length of a securing tick beyond the bundle, on paper.
TICK_MM = 1.0
PILL_HIGH_MM = 4.6
PILL_PAD_MM = 1.5


@dataclass(frozen=True)
class Pill:
    """Where the label of a bundle stands: its middle and turn on the sheet."""

    at_mm: Point
    turn_deg: float
    name: str
    words: str


def drawn_width_mm(bundle: Bundle, k: float) -> float:
    return max(bundle.diameter_laid_mm, THINNEST_BUNDLE_MM * k)


def bend_radius_mm(channel: Channel, width_mm: float) -> float:
    """The drawn inside radius, to the middle of the bundle."""
    return channel.bend_mm + width_mm / 2


def as_drawn(path: ChannelPath, channel: Channel, width_mm: float) -> Polyline:
    """The line of a channel with its rounded corners, as a polyline on the sheet."""
    return flatten(fillet(path.sheet_mm, bend_radius_mm(channel, width_mm)), sagitta_mm=0.5)


def diameter_words(diameter_mm: float) -> str:
    """`Ø30`, with a decimal below 10 mm."""
    return "Ø" + (number(diameter_mm) if diameter_mm >= 9.95 else trimmed(diameter_mm, 1))


def pill_words(bundle: Bundle) -> str:
    return f"{len(bundle.wires)} × {diameter_words(bundle.diameter_laid_mm)}"


def bundle_marks(
    channel: Channel,
    path: ChannelPath,
    bundle: Bundle,
    colour: int,
    ticks_mm: tuple[float, ...],
    pills: tuple[Pill, ...],
    k: float,
    detail: str,
) -> tuple[AnyMark, ...]:
    """A bundle to scale with halo and securing ticks at `ticks_mm` from its start, none under its labels `pills`."""
    if len(path.sheet_mm) < 2:
        return ()
    wide = drawn_width_mm(bundle, k)
    style = f"bundle:{colour}"
    if detail == "low":
        return (LineMark(style=style, subject=channel.id, points_mm=path.sheet_mm, width_mm=wide),)
    marks: list[AnyMark] = []
    radius = bend_radius_mm(channel, wide)
    total = along_mm(path.sheet_mm)[-1]
    # The halo stays clear of both ends, so that it cuts into nothing the bundle joins.
    clear = wide + 1.2 * k
    if total > 2.5 * clear:
        inner = part(path.sheet_mm, clear, total - clear)
        marks.append(
            PathMark(style="bundle_gap", subject=channel.id, points_mm=inner, radius_mm=radius, width_mm=wide + 1.1 * k)
        )
    marks.append(PathMark(style=style, subject=channel.id, points_mm=path.sheet_mm, radius_mm=radius, width_mm=wide))
    if detail == "full" and ticks_mm and path.length_mm > 0:
        line = as_drawn(path, channel, wide)
        marks += _ticks(channel.id, line, [at / path.length_mm for at in ticks_mm], wide, pills, k)
    return tuple(marks)


def pills_marks(subject: str, colour: int, pills: tuple[Pill, ...], k: float) -> tuple[AnyMark, ...]:
    """The labels of one channel."""
    return tuple(mark for pill in pills for mark in pill_marks(subject, colour, pill, k))


def _ticks(
    subject: str, line: Polyline, shares: Sequence[float], wide: float, pills: Sequence[Pill], k: float
) -> list[AnyMark]:
    marks: list[AnyMark] = []
    total = along_mm(line)[-1]
    half = wide / 2 + TICK_MM * k
    for share in shares:
        at = min(max(share, 0.0), 1.0) * total
        x, y = point_at(line, at)
        if any(distance_mm((x, y), pill.at_mm) < pill_length_mm(pill, k) / 2 + 0.6 * k for pill in pills):
            continue
        before, after = point_at(line, max(0.0, at - 1.0)), point_at(line, min(total, at + 1.0))
        size = distance_mm(before, after) or 1.0
        nx, ny = -(after[1] - before[1]) / size * half, (after[0] - before[0]) / size * half
        ends = ((x - nx, y - ny), (x + nx, y + ny))
        marks.append(LineMark(style="tick:gap", subject=subject, points_mm=ends))
        marks.append(LineMark(style="tick", subject=subject, points_mm=ends))
    return marks


def pill_length_mm(pill: Pill, k: float) -> float:
    name = width_mm(pill.name, "label_bold", LABEL_MM)
    words = width_mm(pill.words, "label", LABEL_MM)
    return (name + words + 1.1 + 2 * PILL_PAD_MM) * k


def pill_marks(subject: str, colour: int, pill: Pill, k: float) -> tuple[AnyMark, ...]:
    wide = pill_length_mm(pill, k)
    c, s = cos(radians(pill.turn_deg)), sin(radians(pill.turn_deg))
    left = -wide / 2 + PILL_PAD_MM * k
    after = left + (width_mm(pill.name, "label_bold", LABEL_MM) + 1.1) * k

    def at(x: float) -> Point:
        return (pill.at_mm[0] + x * c, pill.at_mm[1] + x * s)

    return (
        AreaMark(
            style=f"pill:{colour}",
            subject=subject,
            outline_mm=turned(pill.at_mm, wide, PILL_HIGH_MM * k, pill.turn_deg),
            radius_mm=PILL_HIGH_MM * k / 2,
        ),
        TextMark(
            style="text",
            subject=subject,
            at_mm=at(left),
            text=pill.name,
            size_mm=LABEL_MM * k,
            baseline="middle",
            turn_deg=pill.turn_deg,
            font="label_bold",
        ),
        TextMark(
            style="text",
            subject=subject,
            at_mm=at(after),
            text=pill.words,
            size_mm=LABEL_MM * k,
            baseline="middle",
            turn_deg=pill.turn_deg,
            font="label",
        ),
    )


def free_channel_marks(channel: Channel, path: ChannelPath, k: float, detail: str) -> tuple[AnyMark, ...]:
    """A channel without wires: dotted; dashed where it is blocked."""
    if len(path.sheet_mm) < 2:
        return ()
    style = "channel:blocked" if channel.state == "blocked" else "channel"
    if detail == "low":
        return (LineMark(style=style, subject=channel.id, points_mm=path.sheet_mm),)
    return (
        PathMark(
            style=style,
            subject=channel.id,
            points_mm=path.sheet_mm,
            radius_mm=bend_radius_mm(channel, THINNEST_BUNDLE_MM * k),
        ),
    )


def measured_channel_marks(
    channel: Channel, start: NodeSpot | None, end: NodeSpot | None, bundle: Bundle | None, colour: int, k: float
) -> tuple[AnyMark, ...]:
    """A channel known only by its length: a thin dashed line between its nodes, with the length."""
    if start is None or end is None or not start.sheet_mm or not end.sheet_mm:
        return ()
    a, b = min(((p, q) for p in start.sheet_mm for q in end.sheet_mm), key=lambda pair: distance_mm(*pair))
    size = distance_mm(a, b)
    style = "channel" if bundle is None else f"bundle:{colour}"
    marks: list[AnyMark] = []
    if size > 0:
        count = max(1, int(size / (3.0 * k))) if bundle is not None else 1
        dash = 0.62 if bundle is not None else 1.0
        for number_ in range(count):
            p, q = number_ / count, (number_ + dash) / count
            marks.append(
                LineMark(
                    style=style,
                    subject=channel.id,
                    points_mm=(
                        (a[0] + (b[0] - a[0]) * p, a[1] + (b[1] - a[1]) * p),
                        (a[0] + (b[0] - a[0]) * q, a[1] + (b[1] - a[1]) * q),
                    ),
                    width_mm=None if bundle is None else drawn_width_mm(bundle, k),
                )
            )
    if channel.measured_mm is not None and size > 14 * k:
        turn = upright_deg(a, b)
        marks.append(
            TextMark(
                style="text:muted",
                subject=channel.id,
                at_mm=((a[0] + b[0]) / 2, (a[1] + b[1]) / 2 + 1.2 * k),
                text=f"{mm(channel.measured_mm)} by tape",
                size_mm=LABEL_MM * k * 0.9,
                anchor="middle",
                turn_deg=turn,
            )
        )
    return tuple(marks)


# --- nodes and crossings ---------------------------------------------------------------------------------------------


def node_marks(
    node: Node,
    spots: tuple[Point, ...],
    widths: tuple[float, ...],
    colour: int,
    passes_fold: bool,
    k: float,
) -> tuple[AnyMark, ...]:
    """A diamond where a bundle passes a fold or seam, a disc where one branches, a grey dot on free channels.

    `widths` are the drawn widths of the bundles that meet here, `colour` that of the widest.
    """
    marks: list[AnyMark] = []
    for x, y in spots:
        if passes_fold and widths:
            half = max(1.5 * k, max(widths) * 0.5 + 0.7 * k)
            marks.append(
                AreaMark(
                    style="fold:mark",
                    subject=node.id,
                    outline_mm=((x - half, y), (x, y - half), (x + half, y), (x, y + half)),
                )
            )
        elif not widths:
            marks.append(CircleMark(style="node", subject=node.id, centre_mm=(x, y), radius_mm=0.5 * k, filled=True))
        else:
            radius = max(widths) / 2 if len(widths) < 3 else max(1.25 * k, max(widths) * 0.62)
            marks.append(
                CircleMark(style=f"node:{colour}", subject=node.id, centre_mm=(x, y), radius_mm=radius, filled=True)
            )
    return tuple(marks)


def distinct(points: Sequence[Point], within_mm: float = 1.0) -> tuple[Point, ...]:
    """The points without those that fall on an earlier one: a node on a fold lies on both its surfaces."""
    kept: list[Point] = []
    for p in points:
        if all(hypot(p[0] - q[0], p[1] - q[1]) > within_mm for q in kept):
            kept.append(p)
    return tuple(kept)


def crossing_marks(crossings: tuple[Crossing, ...], k: float) -> tuple[AnyMark, ...]:
    """Rub points: a ring with a cross, in the colour of a warning where nothing protects the bundle yet."""
    marks: list[AnyMark] = []
    for crossing in crossings:
        if crossing.sheet_mm is None:
            continue
        x, y = crossing.sheet_mm
        bare = not crossing.protected and crossing.severity != "note"
        style = f"crossing:{crossing.severity}" if bare else "crossing"
        radius = 1.15 * k if bare else 0.75 * k
        marks.append(CircleMark(style=style, subject=crossing.channel, centre_mm=(x, y), radius_mm=radius, filled=True))
        if bare:
            d = radius * 0.5
            marks += [
                LineMark(style=style, subject=crossing.channel, points_mm=line)
                for line in (((x - d, y - d), (x + d, y + d)), ((x - d, y + d), (x + d, y - d)))
            ]
    return tuple(marks)


def route_marks(wire: str, lines: Sequence[Polyline], radii: Sequence[float], k: float) -> tuple[AnyMark, ...]:
    """The whole way of one wire, lit: `lines` on the sheet, each with its bend radius."""
    marks: list[AnyMark] = []
    for style, wide in (("route:halo", 3.4 * k), ("route", 0.9 * k)):
        marks += [
            PathMark(style=style, subject=wire, points_mm=line, radius_mm=radius, width_mm=wide)
            for line, radius in zip(lines, radii, strict=True)
            if len(line) > 1
        ]
    return tuple(marks)
