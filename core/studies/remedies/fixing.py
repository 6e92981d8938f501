"""Remedies for what holds and protects a bundle: brackets, edge protection, holes, bends, tape."""

from collections.abc import Iterable, Sequence
from math import ceil

from core.analysis.analysis import Analysis
from core.analysis.motion import swept_outline
from core.analysis.results import Crossing
from core.edits.change import add, free_name, get, made, put, refuse, replaced
from core.edits.channels import add_pass_through, add_securing_point, delete_via
from core.edits.kinds import use_kind
from core.edits.records import set_field
from core.geometry.around import around
from core.geometry.plane import length_mm
from core.geometry.polygon import clip
from core.harness.crossing import split_conduit_for
from core.model import Outline, Plan, WrapStyle, fresh_id
from core.studies.remedies.remedy import Case, Remedy, Work, edit
from core.studies.remedies.room import wider_hole

#: What may be laid over or into a thing so that it rubs no more: (kind of pass-through, protection, words).
COVER = {
    "rib": ("hole", "grommet", "a grommet"),
    "box_wall": ("hole", "bushing", "a bushing"),
    "metal_edge": ("edge", "edge_trim", "edge trim"),
    "opening": ("edge", "edge_trim", "edge trim"),
    "panel_edge": ("edge", "edge_trim", "edge trim"),
    "wheel_arch": ("edge", "split_conduit", "split conduit"),
}


#: What lines a hole, with its word.
LINED = {"grommet": "a grommet", "bushing": "a bushing"}


def gap(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    channel_id = finding.subjects[0]
    gaps = [row for row in analysis.securing_gaps if row.channel == channel_id]
    places = sorted({round(at, 1) for row in gaps for at in row.brackets_mm})
    if not places or not all(row.brackets_mm for row in gaps):
        path = analysis.paths[channel_id]
        over = [o.id for o in analysis.plan.openings if o.surface == path.surface and clip(path.local_mm, o.outline)]
        yield from lead_round(analysis, channel_id, over)
        return

    def bracket(plan: Plan) -> Plan:
        for at in places:
            plan, _ = add_securing_point(plan, channel_id, at, "bracket")
        return plan

    count = f"{len(places)} bracket{'s' * (len(places) > 1)}"
    where = ", ".join(f"{at:.0f}" for at in places[:6])
    yield Remedy(f"Add {count} to {analysis.word(channel_id)}", bracket, f"at {where} mm from its start")


def rub(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    channel_id, kind = finding.subjects[0], finding.code.removeprefix("rub.")
    rows = [r for r in analysis.crossings if r.channel == channel_id and r.kind == kind and not r.protected]
    if not rows:
        return
    word = analysis.word(channel_id)
    if kind in COVER:
        yield _cover(rows, word, kind)
    yield from protect_things([row.with_ for row in rows], analysis)
    if kind in COVER:
        yield from in_conduit(analysis, channel_id)
    yield from lead_round(analysis, channel_id, (row.with_ for row in rows))


def _cover(rows: list[Crossing], word: str, kind: str) -> Remedy:
    form, protection, name = COVER[kind]
    if form == "hole" and rows[0].remedy_kind in LINED:
        # Walls thicker than any grommet's groove take a bushing.
        protection, name = rows[0].remedy_kind, LINED[rows[0].remedy_kind]

    def cover(plan: Plan) -> Plan:
        for row in rows:
            hole = row.size_mm if form == "hole" else None
            plan, _ = add_pass_through(plan, row.channel, row.at_mm, form, hole, protection)
        return plan

    sizes = [row.size_mm for row in rows if row.size_mm is not None]
    count = f"{len(rows)} place{'s' * (len(rows) > 1)}"
    each = f", {max(sizes):.0f} mm {'hole' if form == 'hole' else 'long'} at the most" if sizes else ""
    look = "; look what lies behind before you drill" if form == "hole" else ""
    return Remedy(f"Add {name} where {word} crosses", cover, f"{count}{each}{look}")


def protect_things(things: Sequence[str], analysis: Analysis) -> Iterable[Remedy]:
    """Trim the whole edge instead of the one place."""
    edges = {e.id: e for e in analysis.plan.metal_edges}
    openings = {o.id: o for o in analysis.plan.openings}
    for with_ in dict.fromkeys(things):
        if with_ in edges:
            name = edges[with_].name or "the metal edge"
            yield Remedy(
                f"Protect {name} all along",
                edit(set_field, with_, protected=True),
                "edge trim over its whole length",
            )
        elif with_ in openings and openings[with_].cut_edge and len(set(things)) == 1:
            yield Remedy(
                f"Say that {openings[with_].name} has no bare edge",
                edit(set_field, with_, cut_edge=False),
                "where a frame or trim covers the cut all round",
            )


def in_conduit(analysis: Analysis, channel_id: str) -> Iterable[Remedy]:
    bundle = analysis.bundles.get(channel_id)
    if bundle is None:
        return
    conduit = split_conduit_for(bundle.diameter_laid_mm, analysis.plan.conduit_kinds)
    name = conduit.name if conduit is not None else "split conduit"

    def lay(plan: Plan) -> Plan:
        if conduit is not None:
            plan = use_kind(plan, conduit)
        channel = get(plan, "channels", channel_id)
        chosen = conduit.id if conduit is not None else channel.conduit
        return put(plan, "channels", replaced(channel, kind="split_conduit", conduit=chosen))

    metres = analysis.paths[channel_id].length_mm / 1000
    yield Remedy(f"Lay {analysis.word(channel_id)} in split conduit", lay, f"{name} over {metres:.2f} m")


def lead_round(analysis: Analysis, channel_id: str, things: Iterable[str], clear_mm: float = 0.0) -> Iterable[Remedy]:
    """Lead a drawn channel round things it crosses or comes near, at least `clear_mm` away."""
    channel = analysis.channels[channel_id]
    path = analysis.paths[channel_id]
    areas = {name: (outline, max(clearance, clear_mm)) for name, outline, clearance in _areas(analysis.plan)}
    wanted = [thing for thing in dict.fromkeys(things) if thing in areas]
    if path.surface is None or channel.measured_mm is not None or channel.wires != "planned" or not wanted:
        return
    bundle = analysis.bundles.get(channel_id)
    radius = bundle.diameter_laid_mm / 2 if bundle is not None else 0.0
    line = around(path.local_mm, [areas[thing] for thing in wanted], radius, analysis.surfaces[path.surface])
    if line is None:
        return
    word, names = analysis.word(channel_id), ", ".join(analysis.word(thing) for thing in wanted)
    more = (length_mm(line) - length_mm(path.local_mm)) / 1000

    def lead(plan: Plan) -> Plan:
        now = get(plan, "channels", channel_id)
        if now != channel:
            refuse(f"{word} has changed meanwhile.")
        return put(plan, "channels", replaced(now, via_mm=line[1:-1]))

    yield Remedy(f"Lead {word} round {names}", lead, f"{more:+.2f} m of way")


def _areas(plan: Plan) -> Iterable[tuple[str, Outline, float]]:
    """(id, outline, clearance) of what a channel can be led round."""
    yield from ((zone.id, zone.outline, zone.clearance_mm) for zone in plan.zones)
    yield from ((opening.id, opening.outline, 0.0) for opening in plan.openings)
    yield from ((box.id, box.outline, 0.0) for box in plan.boxes)
    yield from ((part.id, swept_outline(part), 0.0) for part in plan.moving_parts)


def hole(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    hole_id = finding.subjects[0]
    row = next((r for r in analysis.crossings if r.with_ == hole_id), None)
    record = next((p for p in analysis.plan.penetrations if p.id == hole_id), None)
    if record is None:
        yield from wider_hole(case)
    if row is None or record is None or row.size_mm is None:
        return
    word = record.name or f"hole {hole_id}"
    wide = max(float(ceil(row.size_mm)), record.hole_mm or 0.0)
    sides = [s for s in (record.a, record.b) if s in analysis.surfaces]
    outside = any(analysis.surfaces[s].side == "outside" for s in sides)
    protection = record.protection if record.protection != "none" else "gland" if outside else "grommet"
    done = f"Drill {word} to {wide:g} mm" if finding.code == "hole.small" else f"Put a {protection} into {word}"
    yield Remedy(
        done,
        lambda plan: set_field(plan, hole_id, hole_mm=wide, protection=protection),
        f"{wide:g} mm with a {protection.replace('_', ' ')}; look what lies behind before you drill",
    )


def bend(case: Case) -> Iterable[Remedy]:
    finding, analysis = case.finding, case.analysis
    channel = analysis.channels[finding.subjects[0]]
    word = analysis.word(channel.id)
    needed = max((r.needed_mm for r in analysis.bends if r.channel == channel.id), default=0.0)
    if channel.bend_mm > 0:
        wanted = float(ceil(needed))
        yield Remedy(
            f"Bend {word} on {wanted:g} mm",
            lambda plan: set_field(plan, channel.id, bend_mm=wanted),
            f"the inside radius that its bundle needs, instead of {channel.bend_mm:g} mm",
        )
        yield Remedy(
            f"Let the corners of {word} be as round as fits",
            lambda plan: set_field(plan, channel.id, bend_mm=0.0),
            "no radius is asked for by hand",
        )
    for index in range(len(channel.via_mm)):
        yield Remedy(
            f"Leave corner {index + 1} of {word} out",
            edit(delete_via, channel.id, index),
            "the channel runs straight on there",
        )


def wrap(case: Case) -> Iterable[Remedy]:
    """The widest tape that still goes round, of the same sort where there is one."""
    finding, analysis = case.finding, case.analysis
    channel = analysis.channels[finding.subjects[0]]
    styles = {s.id: s for s in analysis.plan.wrap_styles}
    style = styles.get(channel.wrap or analysis.plan.assumptions.wrap or "")
    tapes = {t.id: t for t in (*case.library.tape_kinds, *analysis.plan.tape_kinds)}
    if style is None:
        return
    own = tapes.get(style.tape or "")
    narrower = [t for t in tapes.values() if own is None or t.width_mm < own.width_mm]
    sort = own.id.rpartition("-")[0] if own is not None else ""
    narrower.sort(key=lambda t: (t.id.rpartition("-")[0] != sort, -t.width_mm))
    for tape in narrower:

        def use(plan: Plan, tape_id: str = tape.id) -> Plan:
            plan = use_kind(plan, tapes[tape_id])
            same = next((s for s in plan.wrap_styles if replaced(s, id="", name="") == replaced(
                style, id="", name="", tape=tape_id)), None)  # fmt: skip
            if same is None:
                taken = {s.id for s in plan.wrap_styles}
                name = free_name(f"{style.name}, {tapes[tape_id].width_mm:g} mm", (s.name for s in plan.wrap_styles))
                same = made(WrapStyle, **{**_fields(style), "id": fresh_id("wrap", taken), "name": name,
                                          "tape": tape_id})  # fmt: skip
                plan = add(plan, "wrap_styles", same)
            return put(plan, "channels", replaced(get(plan, "channels", channel.id), wrap=same.id))

        remedy = Remedy(
            f"Wrap {analysis.word(channel.id)} with {tape.name}", use, f"{tape.width_mm:g} mm wide, the rest as before"
        )
        if case.helps(remedy.apply(analysis.plan)):
            yield remedy
            break
    yield Remedy(
        f"Leave {analysis.word(channel.id)} unwrapped", lambda plan: _unwrapped(plan, channel.id), "no tape on it"
    )


def _fields(style: WrapStyle) -> dict[str, object]:
    return {name: getattr(style, name) for name in style.__struct_fields__}


def _unwrapped(plan: Plan, channel_id: str) -> Plan:
    none = next((s for s in plan.wrap_styles if s.kind == "none"), None)
    if none is None:
        none = made(WrapStyle, id=fresh_id("wrap", {s.id for s in plan.wrap_styles}), name="Not wrapped", kind="none")
        plan = add(plan, "wrap_styles", none)
    return put(plan, "channels", replaced(get(plan, "channels", channel_id), wrap=none.id))


REMEDIES: dict[str, Work] = {
    "securing.gap": gap,
    "hole.small": hole,
    "hole.bare": hole,
    "bend.tight": bend,
    "wrap.impossible": wrap,
}
