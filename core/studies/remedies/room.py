"""Remedies for room and support: bores that jam or are nearly full, holes for plugs and wraps, falls, single points."""

from collections.abc import Iterable
from math import ceil

from core.analysis.bundles import bore_of
from core.edits.change import get, put, replaced
from core.edits.channels import add_securing_point
from core.edits.devices import connect_to_nearest, set_node
from core.edits.kinds import use_kind
from core.edits.records import delete, set_field
from core.edits.risers import rise_or_fall
from core.harness.bundle import conduit_bore_needed_mm
from core.harness.crossing import hole_needed_mm
from core.model import Plan
from core.studies.remedies.remedy import Case, Remedy, Work, edit

#: A hole is widened by this much more than what has to pass it.
SLIP = 1.1


def bore(case: Case) -> Iterable[Remedy]:
    """The next conduit of its sort, or a wider bore, until the finding is gone."""
    analysis, channel_id = case.analysis, case.finding.subjects[0]
    channel, word = analysis.channels[channel_id], analysis.word(channel_id)
    kinds = {c.id: c for c in (*case.library.conduit_kinds, *analysis.plan.conduit_kinds)}
    now = kinds.get(channel.conduit or "")
    if now is not None and channel.bore is None:
        sort = now.id.rpartition("-")[0]
        wider = [c for c in kinds.values() if c.bore_mm > now.bore_mm and c.split == now.split]
        for conduit in sorted(wider, key=lambda c: (c.id.rpartition("-")[0] != sort, c.bore_mm))[:6]:

            def change(plan: Plan, conduit_id: str = conduit.id) -> Plan:
                return set_field(use_kind(plan, kinds[conduit_id]), channel_id, conduit=conduit_id)

            if case.helps(change(analysis.plan)):
                yield Remedy(f"Use {conduit.name} for {word}", change, f"{conduit.bore_mm:g} mm bore")
                return
        return
    inside = bore_of(channel, kinds)
    if inside is None:
        return
    for share in (1.1, 1.25, 1.5, 2.0):
        wanted = {"width_mm": float(ceil(inside.width_mm * share)), "height_mm": inside.height_mm}
        widen = edit(set_field, channel_id, bore=wanted)
        if case.helps(widen(analysis.plan)):
            yield Remedy(f"Make {word} {wanted['width_mm']:g} mm wide inside", widen, f"{inside.width_mm:g} mm now")
            return


def inner(case: Case) -> Iterable[Remedy]:
    """Wider conduits in the bundle, the smallest that end the finding."""
    analysis, channel_id = case.analysis, case.finding.subjects[0]
    kinds = {c.id: c for c in (*case.library.conduit_kinds, *analysis.plan.conduit_kinds)}
    bundle = analysis.bundles[channel_id]
    wider: dict[str, str] = {}
    for item in bundle.items:
        now = kinds.get(item.conduit)
        if now is None or not item.inside_mm:
            continue
        need = conduit_bore_needed_mm(item.inside_mm)
        fitting = [c for c in kinds.values() if c.split == now.split and c.bore_mm >= need]
        fitting.sort(key=lambda c: (c.id.rpartition("-")[0] != now.id.rpartition("-")[0], c.bore_mm))
        if fitting and fitting[0].bore_mm > now.bore_mm:
            wider[now.id] = fitting[0].id
    if not wider:
        return

    def change(plan: Plan) -> Plan:
        for each in wider.values():
            plan = use_kind(plan, kinds[each])
        channel = get(plan, "channels", channel_id)
        rows = tuple(replaced(row, conduit=wider.get(row.conduit, row.conduit)) for row in channel.inner)
        return put(plan, "channels", replaced(channel, inner=rows))

    names = ", ".join(kinds[each].name for each in wider.values())
    yield Remedy(f"Use {names} in the bundle of {analysis.word(channel_id)}", change, "the next that its wires fit")


def string(case: Case) -> Iterable[Remedy]:
    channel = case.finding.subjects[0]
    yield Remedy(
        f"Leave a draw string in {case.analysis.word(channel)}",
        edit(set_field, channel, draw_string=True),
        "a later wire can be pulled without opening the wall",
    )


def wider_hole(case: Case) -> Iterable[Remedy]:
    """A hole on the way, wide enough for what has to pass it."""
    needed = max(case.finding.value or 0.0, case.finding.limit or 0.0)
    for hole_id in case.finding.subjects:
        through = next((p for p in case.analysis.plan.pass_throughs if p.id == hole_id), None)
        hole = next((p for p in case.analysis.plan.penetrations if p.id == hole_id), None)
        if through is None and hole is None:
            continue
        name = f"hole {hole.name or hole.id}" if hole is not None else "the hole"
        for wide in sorted({float(ceil(needed * SLIP)), float(ceil(hole_needed_mm(needed)))}):
            yield Remedy(
                f"Drill {name} to {wide:g} mm",
                edit(set_field, hole_id, hole_mm=wide),
                "look what lies behind before you drill",
            )


def fall(case: Case) -> Iterable[Remedy]:
    """A channel nearer to the device: the nearest there is, or one of its own."""
    device = case.analysis.devices[case.finding.subjects[0]]
    yield Remedy(
        f"Join {device.name} to the nearest channel",
        lambda plan: connect_to_nearest(set_node(plan, device.id, None), device.id)[0],
        "with a shorter fall",
    )
    yield Remedy(
        f"Draw a channel from {device.name} to the one above or below",
        lambda plan: rise_or_fall(set_node(plan, device.id, None), device.id)[0],
        "its wires lie in a channel and are held there",
    )


def bracket(case: Case) -> Iterable[Remedy]:
    """A bracket in the middle of each stretch beside a bend or breakout."""
    near = case.finding.code.removeprefix("securing.")
    channel = case.finding.subjects[0]
    gaps = [row for row in case.analysis.securing_gaps if row.channel == channel and row.near == near]
    places = [(row.from_mm + row.to_mm) / 2 for row in gaps]
    if not places:
        return

    def add(plan: Plan) -> Plan:
        for at in places:
            plan, _ = add_securing_point(plan, channel, at, "bracket")
        return plan

    where = ", ".join(f"{at:.0f}" for at in places[:6])
    yield Remedy(f"Hold {case.analysis.word(channel)} beside its {near}", add, f"a bracket at {where} mm")


def point(case: Case) -> Iterable[Remedy]:
    """A securing point where none should be: as a bracket, or not at all."""
    points = case.finding.subjects[1:]
    word = case.analysis.word(case.finding.subjects[0])

    def as_bracket(plan: Plan) -> Plan:
        for each in points:
            plan = set_field(plan, each, kind="bracket")
        return plan

    if points:
        yield Remedy(f"Put a bracket there on {word}", as_bracket, "it holds where nothing can be fixed to")
        yield Remedy(
            f"Take the securing point of {word} off",
            lambda plan: delete(plan, [each for each in points if get(plan, "securing_points", each)])[0],
            "others are planned where they can be",
        )


REMEDIES: dict[str, Work] = {
    "bore.jam": bore,
    "bore.nearly_full": bore,
    "bore.inner": inner,
    "duct.no_string": string,
    "hole.plug": wider_hole,
    "hole.slide": wider_hole,
    "hole.drag": wider_hole,
    "securing.fall": fall,
    "securing.bend": bracket,
    "securing.breakout": bracket,
    "securing.place": point,
}
