"""Can I add ...: a place, a current, and what that would take: way, fuse, size, metres, room in ducts, headroom, money.

The load is really put into a copy of the plan, wired to each point that could feed it and analysed, so the answer is
the one the plan would give afterwards.
"""

from dataclasses import dataclass, replace

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.analysis.results import Finding
from core.analysis.rules import number
from core.edits.change import listed, put, replaced
from core.edits.circuit_ends import SYSTEM_WORDS
from core.edits.circuits import connect, free_ways
from core.edits.devices import connect_to_nearest, connect_to_node, place_device
from core.electrical.protection import families, smallest_of_at_least
from core.errors import EditRefused
from core.files.library import DeviceTemplate, Library
from core.model import DISTRIBUTION, Channel, Device, Electrical, Plan, Point
from core.model.devices import System
from core.studies.difference import Difference, difference
from core.studies.ways import Offer, feeder_room_a, offers, rough_a

#: Points to feed from that are worked out.
MOST_ANSWERS = 3
#: A current typed again as it is shown is the device's own.
SAME_A = 0.06


@dataclass(frozen=True)
class DuctRoom:
    """A duct on the way: how full it is before and after, and what its rule allows (percent)."""

    channel: str
    name: str
    before_percent: float
    after_percent: float
    limit_percent: float

    @property
    def fits(self) -> bool:
        return self.after_percent <= self.limit_percent


@dataclass(frozen=True)
class Answer:
    """One way to feed it. `plan` holds the load and its circuit, ready to be committed; `circuit` and `device` are
    their ids. `problems` are findings that the plan would gain; `reasons` say in words what speaks against it."""

    offer: Offer
    plan: Plan
    device: str
    circuit: str
    section_mm2: float | None
    gauge_awg: str | None
    fuse_a: float | None
    one_way_mm: float | None
    drop_percent: float | None
    cost: Difference
    ducts: tuple[DuctRoom, ...]
    spare_ducts: tuple[str, ...]
    feeder_before_a: float | None
    feeder_after_a: float | None
    problems: tuple[Finding, ...]
    reasons: tuple[str, ...]

    @property
    def ok(self) -> bool:
        return not self.reasons


@dataclass(frozen=True)
class Addition:
    """The whole answer, the best way first. Without an answer `reasons` say what is missing."""

    answers: tuple[Answer, ...]
    reasons: tuple[str, ...]

    @property
    def ok(self) -> bool:
        return any(answer.ok for answer in self.answers)


def can_i_add(
    analysis: Analysis,
    surface_id: str,
    at_mm: Point,
    current_a: float,
    library: Library,
    system: System = "dc12",
    name: str = "New load",
    critical: bool = False,
    template: DeviceTemplate | None = None,
) -> Addition:
    """Whether a load of `current_a` (A) can be fed at a point of a surface, and by what.

    With a `template` it is that device of the catalogue, on its own system, drawing `current_a`; its other data stay.
    Refuses (EditRefused) a point off the surface or a current that is none.
    """
    if template is not None:
        system = template.electrical.system
        plan, device_id = place_device(analysis.plan, template, surface_id, at_mm, name)
        own: Device = next(d for d in plan.devices if d.id == device_id)
        data = own.electrical
        if abs(rough_a(own) - current_a) > SAME_A:
            _electrical(current_a, system, critical)
            data = replaced(data, current_a=float(current_a), power_w=None, typical=False)
        plan = put(plan, "devices", replaced(own, electrical=replaced(data, critical=critical or data.critical)))
    else:
        wanted = Device(id="new", name=name, kind="appliance", surface=surface_id, at_mm=at_mm, width_mm=60.0,
                        height_mm=60.0, electrical=_electrical(current_a, system, critical))  # fmt: skip
        plan, device_id = place_device(analysis.plan, wanted, surface_id, at_mm, name)
    try:
        plan = _joined(plan, device_id)
    except EditRefused as refused:
        return Addition((), (str(refused),))
    analyser = Analyser(library)
    standing = analyser.analyse(plan, "quick")
    device = next(d for d in plan.devices if d.id == device_id)
    found = offers(standing, device, _fuse_a(standing, current_a))
    answers = []
    for offer in found[:MOST_ANSWERS]:
        try:
            wired, circuit_id = connect(
                plan, offer.source.id, offer.way.id if offer.way else None, [device_id], library=library
            )
        except EditRefused:
            continue
        answers.append(_answer(analysis, standing, analyser.analyse(wired, "quick"), offer, device_id, circuit_id))
    answers.sort(key=lambda answer: len(answer.reasons))
    return Addition(tuple(answers), () if answers else _why_none(analysis, system, _fuse_a(standing, current_a)))


def _electrical(current_a: float, system: System, critical: bool) -> Electrical:
    if not 0 < current_a < 1e4:
        raise EditRefused(f"A load of {current_a:g} A is none; a current above 0 A is needed.")
    return Electrical(system=system, current_a=float(current_a), critical=critical)


def _joined(plan: Plan, device_id: str) -> Plan:
    try:
        return connect_to_nearest(plan, device_id)[0]
    except EditRefused as none_near:
        try:
            return connect_to_node(plan, device_id)[0]
        except EditRefused:
            raise none_near from None


def _fuse_a(analysis: Analysis, current_a: float) -> float:
    """The rating that the load will ask for, by the family of most ways: a holder must take at least that."""
    wanted = current_a * number(analysis.profile, "fuse.factor")
    return smallest_of_at_least(wanted, families()["blade_regular"].ratings_a) or wanted


def _why_none(analysis: Analysis, system: System, fuse_a: float) -> tuple[str, ...]:
    points = [d for d in analysis.plan.devices if d.kind in DISTRIBUTION and d.electrical.system == system and d.ways]
    if not points:
        return (f"The plan has no fuse block, panelboard or bus bar for {SYSTEM_WORDS[system]}.",)
    reasons = []
    for point in points:
        free = free_ways(analysis.plan, point.id)
        if not free:
            reasons.append(f"{point.name}: all {len(point.ways)} ways are in use.")
        else:
            most = max(way.largest_a for way in free)
            reasons.append(f"{point.name}: its largest free way holds {most:g} A; a fuse of {fuse_a:g} A is wanted.")
    return tuple(reasons)


def _answer(
    before: Analysis, standing: Analysis, after: Analysis, offer: Offer, device_id: str, circuit_id: str
) -> Answer:
    wires = [w for w in after.wires.values() if w.circuit == circuit_id]
    sizes = [after.sized[w.id] for w in wires]
    thick = max(sizes, key=lambda s: s.section_mm2, default=None)
    size = after.circuit_sizes[circuit_id]
    steps = [step.channel for w in wires for step in after.routes[w.id].steps]
    # Joining the load may have split a channel, which gives old findings new subjects: they are counted from there.
    since = difference(standing, after)
    cost = replace(difference(before, after), gained=since.gained, gone=since.gone)
    ducts = _ducts(standing, after, dict.fromkeys(steps))
    room = feeder_room_a(standing, offer.source)
    left = feeder_room_a(after, offer.source)
    problems = tuple(f for f in cost.gained if f.severity != "note")
    return Answer(
        offer=offer,
        plan=after.plan,
        device=device_id,
        circuit=circuit_id,
        section_mm2=thick.section_mm2 if thick is not None else None,
        gauge_awg=thick.gauge_awg if thick is not None else None,
        fuse_a=size.fuse_a,
        one_way_mm=size.one_way_mm,
        drop_percent=max((s.drop_percent for s in sizes if s.drop_percent is not None), default=None),
        cost=cost,
        ducts=ducts,
        spare_ducts=_spare(after, steps),
        feeder_before_a=room,
        feeder_after_a=left,
        problems=problems,
        reasons=_reasons(offer, size.one_way_mm, ducts, room, left, problems),
    )


def _ducts(before: Analysis, after: Analysis, channels: dict[str, None]) -> tuple[DuctRoom, ...]:
    rows = []
    for channel in channels:
        now, old = after.bundles.get(channel), before.bundles.get(channel)
        if now is None or now.fill_percent is None or now.fill_limit_percent is None:
            continue
        was = old.fill_percent or 0.0 if old is not None else 0.0
        rows.append(DuctRoom(channel, after.word(channel), was, now.fill_percent, now.fill_limit_percent))
    return tuple(rows)


def _spare(analysis: Analysis, steps: list[str]) -> tuple[str, ...]:
    """Spare ducts that start or end on the way: a wire could be drawn through them later."""
    nodes = {node for step in steps for node in (analysis.channels[step].start, analysis.channels[step].end)}
    spare = [c for c in analysis.plan.channels if c.spare_duct and {c.start, c.end} & nodes]
    return tuple(channel.id for channel in spare)


def _reasons(
    offer: Offer,
    one_way_mm: float | None,
    ducts: tuple[DuctRoom, ...],
    room_a: float | None,
    left_a: float | None,
    problems: tuple[Finding, ...],
) -> tuple[str, ...]:
    reasons = []
    if one_way_mm is None:
        reasons.append(f"No open channel leads from {offer.source.name} to that place.")
    full = [f"{duct.name} would be {duct.after_percent:.0f} % full" for duct in ducts if not duct.fits]
    if full:
        reasons.append(f"{listed(full, 3)}; {ducts[0].limit_percent:.0f} % is allowed.")
    if left_a is not None and left_a < 0 and (room_a is None or room_a >= left_a):
        reasons.append(f"The feeder of {offer.source.name} would carry {-left_a:.1f} A more than its fuse allows.")
    elif offer.headroom_a is not None and offer.headroom_a < 0:
        reasons.append(f"{offer.source.name} is asked for {-offer.headroom_a:.1f} A more than its rating already.")
    said = {"route.none", "bore.overfull", "point.overloaded"}
    reasons += [f.message for f in problems if f.code not in said]
    if any(f.code == "point.overloaded" for f in problems):
        reasons.append(f"{offer.source.name} would be asked for more than its rating.")
    return tuple(reasons)


def spare_duct_for(plan: Plan, channel: Channel) -> Plan:
    """Open spare duct: wires may be planned into it from now on."""
    rows = tuple(replaced(c, spare_duct=False) if c.id == channel.id else c for c in plan.channels)
    return replaced(plan, channels=rows)


__all__ = ["Addition", "Answer", "DuctRoom", "can_i_add", "spare_duct_for"]
