"""Checks of room: wires that jam in a bore, spare room and ducts, plugs and wraps that have to pass holes, pulling."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import dist, hypot

from core.analysis.analysis import Analysis
from core.analysis.bundles import bore_area_mm2, bore_of
from core.analysis.results import Bundle, Finding, WrapRow
from core.analysis.rules import number, source
from core.geometry.joints import node_places
from core.harness.bend import turn_angles_deg
from core.harness.bundle import (
    JAM_RATIO_HIGH,
    circle_area_mm2,
    conduit_bore_needed_mm,
    fill_percent,
    jams,
    tight_diameter_mm,
)
from core.harness.crossing import hole_needed_mm, plug_passes
from core.harness.pulling import (
    FRICTION,
    FRICTION_CLOTH,
    FRICTION_TACKY,
    pull_force_n,
    pull_limit_n,
    slides_through,
)
from core.model import Connector, InPenetration
from core.text import counted

#: From this share of its limit on a bore is nearly full, so that nothing more goes in later (our choice).
NEARLY_FULL = 0.9
#: Holes are drilled once, bundles are packed anew with more effort: a hole that is this little too small is none.
PACKING_TOLERANCE = 0.05
#: A connector this near to a node belongs to the wires that meet there (mm; our choice).
AT_NODE_MM = 50.0
NEC_FILL = "NEC Chapter 9 Table 1"
ESTIMATE = "capstan relation; friction from memory, an estimate"


def jam(analysis: Analysis) -> Iterable[Finding]:
    """Three wires of one size in a bore in which they can wedge side by side."""
    conduits = {c.id: c for c in analysis.plan.conduit_kinds}
    for bundle in analysis.bundles.values():
        bore = bore_of(analysis.channels[bundle.channel], conduits)
        if bore is None or bore.height_mm is not None:
            continue
        ods = [item.od_mm for item in bundle.items]
        if not jams(ods, bore.width_mm):
            continue
        mean = sum(ods) / len(ods)
        yield Finding(
            code="bore.jam",
            severity="warning",
            subjects=(bundle.channel,),
            message=f"{analysis.word(bundle.channel)}: three wires of {mean:.1f} mm can wedge side by side in its bore "
            f"of {bore.width_mm:g} mm while they are pulled.",
            value=bore.width_mm / mean,
            limit=JAM_RATIO_HIGH,
            unit="times",
            source=f"{NEC_FILL}, informational note 2",
            remedy=f"a bore of {JAM_RATIO_HIGH * mean:.0f} mm or more, or pull them tied together",
        )


def nearly_full(analysis: Analysis) -> Iterable[Finding]:
    """Bores within their limit in which there is no room for a later wire."""
    conduits = {c.id: c for c in analysis.plan.conduit_kinds}
    for bundle in analysis.bundles.values():
        fill, limit = bundle.fill_percent, bundle.fill_limit_percent
        if fill is None or limit is None or not NEARLY_FULL * limit <= fill <= limit:
            continue
        bore = bore_of(analysis.channels[bundle.channel], conduits)
        left = 0.0 if bore is None else (limit - fill) / 100 * bore_area_mm2(bore)
        yield Finding(
            code="bore.nearly_full",
            severity="note",
            subjects=(bundle.channel,),
            message=f"{analysis.word(bundle.channel)} is {fill:.0f} % full of {limit:.0f} % allowed: {left:.0f} mm² "
            "are left for later wires.",
            value=fill,
            limit=limit,
            unit="%",
            source=NEC_FILL,
            remedy="a wider conduit now, or a spare duct with a draw string beside it",
        )


def inner(analysis: Analysis) -> Iterable[Finding]:
    """Conduits in a bundle that are too full of the wires of their circuits, or name circuits that are not there."""
    conduits = {c.id: c for c in analysis.plan.conduit_kinds}
    for bundle in analysis.bundles.values():
        for item in bundle.items:
            kind = conduits.get(item.conduit)
            if kind is None or not item.inside_mm:
                continue
            rule = "fill.convoluted" if kind.split else f"fill.conduit_{min(len(item.inside_mm), 3)}"
            fill, limit = fill_percent(item.inside_mm, circle_area_mm2(kind.bore_mm)), number(analysis.profile, rule)
            if fill <= limit and tight_diameter_mm(item.inside_mm) <= kind.bore_mm:
                continue
            need = conduit_bore_needed_mm(item.inside_mm, limit)
            yield Finding(
                code="bore.inner",
                severity="error",
                subjects=(bundle.channel,),
                message=f"{analysis.word(bundle.channel)}: {kind.name} in the bundle is {fill:.0f} % full with "
                f"{counted(len(item.inside_mm), 'wire')}; a bore of {need:.0f} mm is wide enough.",
                value=fill,
                limit=limit,
                unit="%",
                source=source(analysis.profile, rule),
                remedy="a wider conduit in the bundle, or fewer circuits in it",
            )


def measured(analysis: Analysis) -> Iterable[Finding]:
    """Bundles measured thinner than their wires can be packed: another number, or other wires, than the plan says."""
    for bundle in analysis.bundles.values():
        measured_mm = analysis.channels[bundle.channel].measured_diameter_mm
        if measured_mm is None or measured_mm >= bundle.diameter_tight_mm * (1 - PACKING_TOLERANCE):
            continue
        yield Finding(
            code="bundle.measured",
            severity="warning",
            subjects=(bundle.channel,),
            message=f"{analysis.word(bundle.channel)} was measured with {measured_mm:g} mm; packed as tight as can be "
            f"its {len(bundle.items)} wires are {bundle.diameter_tight_mm:.1f} mm.",
            value=measured_mm,
            limit=bundle.diameter_tight_mm,
            unit="mm",
            source="packing of circles in the smallest circle",
            remedy="measure again, or look which wires really lie there",
        )


def spare_ducts(analysis: Analysis) -> Iterable[Finding]:
    for channel in analysis.plan.channels:
        if channel.spare_duct and not channel.draw_string:
            yield Finding(
                code="duct.no_string",
                severity="note",
                subjects=(channel.id,),
                message=f"{analysis.word(channel.id)} is a spare duct without a draw string.",
                source="common practice",
                remedy="leave a draw string in it, tied at both ends",
            )


@dataclass(frozen=True)
class _Hole:
    """A hole that wires pass, with the name a person knows it by."""

    id: str
    name: str
    hole_mm: float


def _holes(analysis: Analysis) -> Mapping[str, tuple[_Hole, ...]]:
    """By channel, every hole with a known size that the wires in it pass."""
    found: dict[str, list[_Hole]] = {}
    by_node: dict[str, _Hole] = {}
    sizes = {p.id: p for p in analysis.plan.penetrations if p.hole_mm is not None}
    for node in analysis.plan.nodes:
        if isinstance(node.place, InPenetration) and node.place.penetration in sizes:
            hole = sizes[node.place.penetration]
            by_node[node.id] = _Hole(hole.id, hole.name or f"hole {hole.id}", hole.hole_mm or 0.0)
    for channel in analysis.plan.channels:
        found[channel.id] = [by_node[n] for n in (channel.start, channel.end) if n in by_node]
    for row in analysis.plan.pass_throughs:
        if row.hole_mm is not None and row.kind != "edge":
            name = f"the hole at {row.at_mm:.0f} mm of {analysis.word(row.channel)}"
            found.setdefault(row.channel, []).append(_Hole(row.id, name, row.hole_mm))
    return {channel: tuple(rows) for channel, rows in found.items() if rows}


def _channels_at(analysis: Analysis, connector: Connector) -> set[str]:
    """Channels that meet where a connector sits."""
    spots: set[tuple[str, tuple[float, float]]] = set()
    nodes = {n.id for n in analysis.plan.nodes if n.place == connector.place}
    if not nodes and not isinstance(connector.place, InPenetration):
        spots = {(s.surface, s.point) for s in node_places(analysis.sheet.joints, connector.place)}
        nodes = {
            spot.node
            for spot in analysis.node_spots.values()
            if any(s == surface and dist(p, at) <= AT_NODE_MM for s, p in spot.spots for surface, at in spots)
        }
    return {c.id for c in analysis.plan.channels if c.start in nodes or c.end in nodes}


def plugs(analysis: Analysis) -> Iterable[Finding]:
    """Connectors too wide for a hole on the way of the wires they sit on: they cannot be fitted before the pull."""
    wide = [c for c in analysis.plan.connectors if c.width_mm is not None]
    holes = _holes(analysis) if wide else {}
    if not holes:
        return
    for connector in wide:
        at = _channels_at(analysis, connector)
        way = {
            step.channel
            for route in analysis.routes.values()
            if any(step.channel in at for step in route.steps)
            for step in route.steps
        }
        width = connector.width_mm or 0.0
        passed = {hole.id: hole for channel in sorted(way) for hole in holes.get(channel, ())}
        for hole in passed.values():
            if plug_passes(width, hole.hole_mm):
                continue
            yield Finding(
                code="hole.plug",
                severity="warning",
                subjects=(connector.id, hole.id),
                message=f"{connector.name or f'Connector {connector.id}'} is {width:g} mm wide and does not pass "
                f"{hole.name} of {hole.hole_mm:g} mm.",
                value=width,
                limit=hole.hole_mm,
                unit="mm",
                source="common practice",
                remedy="fit the connector after the pull, pull from its side, or make the hole and its grommet wider",
            )


def _wrapped(analysis: Analysis) -> Mapping[str, WrapRow]:
    return {row.channel: row for row in analysis.wrap if row.outside_mm > 0}


def small_pass_throughs(analysis: Analysis) -> Iterable[Finding]:
    """Holes passed along a channel whose lining is too small for what goes through."""
    wraps = _wrapped(analysis)
    bores = {round(g.hole_mm, 1): g.bore_mm for g in analysis.plan.grommet_kinds}
    for row in analysis.plan.pass_throughs:
        bundle = analysis.bundles.get(row.channel)
        if row.hole_mm is None or row.kind == "edge" or bundle is None:
            continue
        wrap = wraps.get(row.channel)
        thick = wrap.outside_mm if wrap is not None else bundle.diameter_laid_mm
        need = hole_needed_mm(thick)
        # A grommet of the plan says its bore; of others the lining is taken as a fifth of the hole.
        inside = bores.get(round(row.hole_mm, 1), row.hole_mm * thick / need)
        if inside < thick * (1 - PACKING_TOLERANCE):
            yield Finding(
                code="hole.small",
                severity="warning",
                subjects=(row.id, row.channel),
                message=f"The hole at {row.at_mm:.0f} mm of {analysis.word(row.channel)} is {row.hole_mm:g} mm, the "
                f"bundle of {thick:.0f} mm wants {need:.0f} mm.",
                value=row.hole_mm,
                limit=need,
                unit="mm",
                source="FAA AC 43.13-1B 11-249",
                remedy="a wider hole and grommet; look what lies behind before drilling",
            )


def slides(analysis: Analysis) -> Iterable[Finding]:
    """Bundles that are wrapped before they are pulled through a hole: too thick for it, or with tape that drags."""
    tapes = {t.id: t for t in analysis.plan.tape_kinds}
    wraps = _wrapped(analysis)
    for channel, holes in _holes(analysis).items():
        bundle, wrap = analysis.bundles.get(channel), wraps.get(channel)
        if bundle is None or wrap is None:
            continue
        tight = bundle.diameter_tight_mm + wrap.outside_mm - bundle.diameter_laid_mm
        tape = tapes.get(wrap.tape or "")
        for hole in holes:
            passes = slides_through(tight, hole.hole_mm)
            drags = tape is not None and tape.tacky and wrap.outside_mm * 1.1 > hole.hole_mm
            if passes and not drags:
                continue
            said = "even packed tight it does not pass" if not passes else "its tape grabs at the edge"
            yield Finding(
                code="hole.slide" if not passes else "hole.drag",
                severity="warning",
                subjects=(channel, hole.id),
                message=f"{analysis.word(channel)} is {tight:.0f} to {wrap.outside_mm:.0f} mm thick with its wrap, "
                f"{hole.name} {hole.hole_mm:g} mm: {said}.",
                value=tight,
                limit=hole.hole_mm,
                unit="mm",
                source="common practice",
                remedy="wrap it after the pull, use cloth tape, or make the hole wider",
            )


def _legs(analysis: Analysis, bundle: Bundle) -> tuple[list[float], list[float]]:
    path = analysis.paths[bundle.channel]
    line = path.local_mm
    if len(line) < 2:
        return [path.length_mm], []
    legs = [hypot(q[0] - p[0], q[1] - p[1]) for p, q in zip(line, line[1:], strict=False)]
    drawn = sum(legs)
    scale = path.length_mm / drawn if drawn > 0 else 1.0
    return [leg * scale for leg in legs], list(turn_angles_deg(line))


def pulling(analysis: Analysis) -> Iterable[Finding]:
    """Closed conduits through which the bundle pulls harder than its copper or a hand allows."""
    wraps = _wrapped(analysis)
    tapes = {t.id: t for t in analysis.plan.tape_kinds}
    for bundle in analysis.bundles.values():
        if analysis.channels[bundle.channel].kind != "closed_conduit":
            continue
        legs, turns = _legs(analysis, bundle)
        wrap = wraps.get(bundle.channel)
        tape = tapes.get(wrap.tape or "") if wrap is not None else None
        friction = FRICTION if tape is None else FRICTION_TACKY if tape.tacky else FRICTION_CLOTH
        one_way = pull_force_n(legs, turns, bundle.mass_g_per_m, friction)
        other = pull_force_n(legs[::-1], turns[::-1], bundle.mass_g_per_m, friction)
        copper = sum(analysis.sized[w].section_mm2 * analysis.wires[w].parallel for w in bundle.wires)
        limit, force = pull_limit_n(copper), min(one_way, other)
        if force > limit:
            end = "its end" if one_way <= other else "its start"
            yield Finding(
                code="pull.hard",
                severity="warning",
                subjects=(bundle.channel,),
                message=f"{analysis.word(bundle.channel)}: pulling all wires through it at once takes about "
                f"{force:.0f} N, from {end}, over {sum(turns):.0f} degrees of bends (an estimate).",
                value=force,
                limit=limit,
                unit="N",
                source=ESTIMATE,
                remedy="fewer or wider bends, a node half way to pull from, or lay the wires before the conduit closes",
            )
