"""Crossings at nodes: holes from one surface to another, folds and seams that are passed, joints that move."""

from collections.abc import Iterable, Mapping, Sequence

from core.analysis.covers import Cover, Parts, hole_cover
from core.analysis.places import Sheet
from core.analysis.results import Bundle, ChannelPath, Crossing, NodeSpot
from core.geometry.joints import across
from core.harness.crossing import severity
from core.model import METALS, Channel, InPenetration, MovingJoint, Node, PassThrough, Penetration, Point, Surface

#: Kinds of channel that lie outside the living space.
OUTDOORS = frozenset({"underfloor", "exterior", "engine_bay"})
#: A pass-through this near to a hole between two surfaces is that hole (mm; a hand's breadth, our choice).
AT_HOLE_MM = 60.0
#: A channel that ends at the node, what is in it, and how thick that is with its wrap (mm).
Member = tuple[Channel, Bundle, float]


def _row(
    node: Node,
    spot: NodeSpot,
    member: Member,
    with_: str,
    kind: str,
    cover: Cover,
    protected: bool,
    moving: bool,
) -> Crossing:
    channel, bundle, _ = member
    where: tuple[Point, ...] = spot.sheet_mm
    return Crossing(
        channel=channel.id,
        at_mm=0.0 if channel.start == node.id else bundle.length_mm,
        with_=with_,
        kind=kind,
        angle_deg=90.0,
        severity=severity(kind, 90.0, protected, moving),
        remedy=cover.words,
        size_mm=cover.size_mm,
        sheet_mm=where[0] if where else None,
        protected=protected,
        remedy_kind=cover.kind,
        part=cover.part,
        length_mm=cover.length_mm,
    )


def _hole(
    node: Node,
    hole: Penetration,
    spot: NodeSpot,
    members: Sequence[Member],
    surfaces: Mapping[str, Surface],
    parts: Parts,
) -> Crossing:
    """A penetration is one crossing, sized by the largest bundle on either side of it."""
    member = max(members, key=lambda m: m[2])
    sides = (surfaces.get(hole.a), surfaces.get(hole.b))
    outside = any(s is not None and s.side == "outside" for s in sides) or any(
        channel.kind in OUTDOORS for channel, _, _ in members
    )
    cover = hole_cover(parts, member[2], hole.thickness_mm, outside, len(member[1].items) == 1)
    return _row(node, spot, member, hole.id, "hole", cover, hole.protection != "none", member[0].moving)


def named_twice(
    pass_throughs: Sequence[PassThrough],
    channels: Sequence[Channel],
    nodes: Sequence[Node],
    paths: Mapping[str, ChannelPath],
) -> frozenset[str]:
    """Pass-throughs that stand at the end of their channel, in the hole between two surfaces that its node is in: the
    hole is one, however often it is named."""
    in_hole = {node.id for node in nodes if isinstance(node.place, InPenetration)} if pass_throughs else set()
    if not in_hole:
        return frozenset()
    ends = {
        channel.id: [at for node, at in ((channel.start, 0.0), (channel.end, paths[channel.id].length_mm))
                     if node in in_hole]
        for channel in channels
    }  # fmt: skip
    return frozenset(
        row.id
        for row in pass_throughs
        if row.kind != "edge" and any(abs(at - row.at_mm) <= AT_HOLE_MM for at in ends.get(row.channel, ()))
    )


def _flexible(joint: MovingJoint | None) -> Cover:
    if joint is None:
        return Cover("give it a moving joint: a loop that twists along the hinge instead of bending", "flexible")
    words = (
        f"flexible stretch of {joint.open_mm:.0f} mm when open and {joint.closed_mm:.0f} mm when closed, laid along "
        "the hinge so that it twists and does not bend; clamp both ends, use fine strands in a flexible sleeve"
    )
    return Cover(words, "flexible", joint.open_mm)


def _meetings(
    node: Node,
    spot: NodeSpot,
    members: Sequence[Member],
    sheet: Sheet,
    surfaces: Mapping[str, Surface],
    joints: Mapping[str, MovingJoint],
) -> Iterable[Crossing]:
    """Folds and seams that a bundle passes at this node: those that part two surfaces on which bundles run."""
    on: dict[str, list[Member]] = {}
    for member in members:
        if member[0].surface is not None:
            on.setdefault(member[0].surface, []).append(member)
    if len(on) < 2:
        return
    seen: set[str] = set()
    for surface, point in spot.spots:
        for meeting in across(sheet.joints, surface, point):
            if meeting.via in seen or surface not in on or meeting.surface not in on:
                continue
            seen.add(meeting.via)
            # What goes across is no thicker than the thicker bundle on its thinner side.
            thickest = (max(on[s], key=lambda m: m[2]) for s in (surface, meeting.surface))
            member = min(thickest, key=lambda m: m[2])
            if meeting.passage == "moving_joint":
                joint = joints.get(meeting.joint or "")
                cover = _flexible(joint)
                yield _row(node, spot, member, meeting.via, "moving_joint", cover, joint is not None, joint is None)
            elif meeting.passage == "free":
                metal = any(surfaces[s].material in METALS for s in (surface, meeting.surface))
                words = "feel for burrs and bare edges where the sheets meet; file them, or trim" if metal else ""
                yield _row(node, spot, member, meeting.via, meeting.kind, Cover(words), not metal, False)


def find_passages(
    nodes: Sequence[Node],
    surfaces: Sequence[Surface],
    penetrations: Sequence[Penetration],
    joints: Sequence[MovingJoint],
    sheet: Sheet,
    spots: Mapping[str, NodeSpot],
    members: Mapping[str, Sequence[Member]],
    parts: Parts,
) -> list[Crossing]:
    """Every crossing that happens at a node where bundles are (`members`, by node)."""
    by_id, holes = {s.id: s for s in surfaces}, {p.id: p for p in penetrations}
    joint_by_id = {j.id: j for j in joints}
    rows: list[Crossing] = []
    for node in nodes:
        here = members.get(node.id)
        if not here:
            continue
        if isinstance(node.place, InPenetration):
            rows.append(_hole(node, holes[node.place.penetration], spots[node.id], here, by_id, parts))
        elif len(spots[node.id].spots) > 1:
            rows += _meetings(node, spots[node.id], here, sheet, by_id, joint_by_id)
    return rows
