"""Remedies for what is too near: zones, edges, moving parts, mains beside power, screws; for pulling and for cuts."""

from collections.abc import Iterable
from math import ceil, floor

from core.analysis.analysis import Analysis
from core.analysis.results import CutPiece
from core.edits.change import get, put, replaced
from core.edits.channels import add_securing_point
from core.edits.devices import move_device
from core.edits.kinds import use_kind
from core.edits.records import set_field
from core.geometry.edges import outline_of
from core.geometry.polygon import point_in
from core.harness.bundle import conduit_bore_needed_mm
from core.model import ConduitKind, Plan
from core.studies.remedies.fixing import in_conduit, lead_round, protect_things
from core.studies.remedies.remedy import Case, Remedy, Work, edit

#: Wire is sold by whole metres.
METRE_MM = 1_000.0
#: A device is moved by whole steps, as a tape is read (mm).
STEP_MM = 5.0


def zone(case: Case) -> Iterable[Remedy]:
    channel, thing = case.finding.subjects[:2]
    yield from lead_round(case.analysis, channel, (thing,), case.finding.limit or 0.0)


def edge(case: Case) -> Iterable[Remedy]:
    channel, thing = case.finding.subjects[:2]
    yield from protect_things((thing,), case.analysis)
    yield from in_conduit(case.analysis, channel)


def moving(case: Case) -> Iterable[Remedy]:
    analysis = case.analysis
    channel, thing = case.finding.subjects[:2]
    yield from lead_round(analysis, channel, (thing,), case.finding.limit or 0.0)
    surface = analysis.channels[channel].surface
    if any(panel.surface == surface for panel in analysis.plan.panels):
        yield Remedy(
            f"Lay {analysis.word(channel)} behind the panel",
            edit(set_field, channel, kind="behind_panel"),
            "what moves in the room does not reach it there",
        )


def crowded(case: Case) -> Iterable[Remedy]:
    """The device moved along its surface by what its clearance lacks, in the first direction where it then has room."""
    finding, analysis = case.finding, case.analysis
    device = analysis.devices[finding.subjects[0]]
    surface = analysis.surfaces[device.surface]
    by_mm = STEP_MM * (floor(((finding.limit or 0.0) - (finding.value or 0.0)) / STEP_MM) + 1)
    x, y = device.at_mm
    for along, up in ((by_mm, 0.0), (-by_mm, 0.0), (0.0, by_mm), (0.0, -by_mm)):
        at = (x + along, y + up)
        moved = edit(move_device, device.id, surface.id, at)
        if point_in(outline_of(surface), at) and case.helps(moved(analysis.plan)):
            yield Remedy(
                f"Move {device.name} {by_mm:g} mm on {surface.name}",
                moved,
                f"{finding.limit:g} mm are free around it there; the ways of its wires follow",
            )
            return


def _closed_conduit(case: Case, channel: str) -> ConduitKind | None:
    """The smallest closed conduit, of the plan or the library, that what lies in a channel may fill."""
    bundle = case.analysis.bundles.get(channel)
    if bundle is None:
        return None
    need = conduit_bore_needed_mm([item.od_mm for item in bundle.items])
    kinds = {c.id: c for c in (*case.library.conduit_kinds, *case.analysis.plan.conduit_kinds)}
    fitting = [c for c in kinds.values() if not c.split and c.od_mm is not None and c.bore_mm >= need]
    return min(fitting, key=lambda c: (c.bore_mm, c.id), default=None)


def beside(case: Case) -> Iterable[Remedy]:
    """Mains in a conduit of its own."""
    analysis = case.analysis
    for channel in case.finding.subjects:
        bundle = analysis.bundles.get(channel)
        conduit = _closed_conduit(case, channel)
        if bundle is None or conduit is None or any(analysis.wires[w].group != "mains" for w in bundle.wires):
            continue

        def lay(plan: Plan, channel: str = channel, conduit: ConduitKind = conduit) -> Plan:
            return set_field(use_kind(plan, conduit), channel, kind="closed_conduit", conduit=conduit.id)

        metres = analysis.paths[channel].length_mm / 1000
        yield Remedy(
            f"Lay {analysis.word(channel)} in closed conduit",
            lay,
            f"{conduit.name} over {metres:.2f} m; mains work is for licensed people under local codes",
        )


def pull(case: Case) -> Iterable[Remedy]:
    yield from in_conduit(case.analysis, case.finding.subjects[0])


def measured(case: Case) -> Iterable[Remedy]:
    channel = case.finding.subjects[0]
    yield Remedy(
        f"Forget the measured diameter of {case.analysis.word(channel)}",
        edit(set_field, channel, measured_diameter_mm=None),
        "the diameter is worked out from its wires again",
    )


def screw(case: Case) -> Iterable[Remedy]:
    """A bonded mount instead of a screw through the panel."""
    channel, points = case.finding.subjects[0], case.finding.subjects[3:]
    at_mm = _place_mm(case, channel)

    def glue(plan: Plan) -> Plan:
        for point in points:
            plan = set_field(plan, point, kind="bonded_mount")
        return plan if points or at_mm is None else add_securing_point(plan, channel, at_mm, "bonded_mount")[0]

    yield Remedy(f"Put a bonded mount there on {case.analysis.word(channel)}", glue, "nothing goes through the panel")


def _place_mm(case: Case, channel: str) -> float | None:
    """Where the fixing of a finding is: the one that its sentence names."""
    places = [row.at_mm for row in case.analysis.securing if row.channel == channel]
    return next((at for at in places if f"at {at:.0f} mm" in case.finding.message), None)


def _pieces(analysis: Analysis, problem: str) -> list[CutPiece]:
    names = {row.piece for row in analysis.cutting if row.problem == problem}
    return [piece for piece in analysis.pieces if piece.piece in names]


def too_long(case: Case) -> Iterable[Remedy]:
    """Wire by the metre, in a length that takes the longest piece."""
    analysis = case.analysis
    pieces = [
        piece
        for piece in _pieces(analysis, "too long")
        if case.finding.subjects and analysis.wires[piece.wires[0]].circuit == case.finding.subjects[0]
    ]
    if not pieces:
        return
    longest = max(pieces, key=lambda piece: piece.cut_mm)
    kind = next(k for k in analysis.plan.wire_kinds if k.id == longest.kind)
    metres = float(ceil((longest.cut_mm + analysis.plan.assumptions.kerf_mm) / METRE_MM))

    def longer(plan: Plan) -> Plan:
        now = get(plan, "wire_kinds", kind.id)
        return put(plan, "wire_kinds", replaced(now, spools_m=tuple(sorted({*now.spools_m, metres}))))

    yield Remedy(f"Buy {kind.name} in a length of {metres:g} m", longer, "one piece, without a splice")


def provisional(case: Case) -> Iterable[Remedy]:
    """All stretches that the waiting cuts go over, once somebody has measured them."""
    analysis = case.analysis
    channels = {
        step.channel: None
        for piece in analysis.pieces
        if piece.provisional
        for wire in piece.wires
        for step in analysis.routes[wire].steps
        if analysis.channels[step.channel].known == "assumed" or analysis.channels[step.channel].state == "unknown"
    }

    def done(plan: Plan) -> Plan:
        for channel in channels:
            plan = set_field(plan, channel, known="measured", state="open")
            rib = next((r for r in plan.ribs if r.id == analysis.channels[channel].runs_inside), None)
            if rib is not None and rib.state == "unknown":
                plan = set_field(plan, rib.id, state="open")
        return plan

    if channels:
        names = ", ".join(analysis.word(channel) for channel in list(channels)[:3])
        yield Remedy(f"Mark {names} measured and open", done, "once you have looked and measured: cut them then")


REMEDIES: dict[str, Work] = {
    **{f"clearance.{kind}": zone for kind in ("hot", "wet", "fuel", "gas", "airbag", "brake", "sharp", "other")},
    "clearance.moving": zone,
    "clearance.edge": edge,
    "moving.swept": moving,
    "moving.near": moving,
    "device.clearance": crowded,
    "separation.near": beside,
    "pull.hard": pull,
    "bundle.measured": measured,
    "screw.fixing": screw,
    "cutting.too_long": too_long,
    "cutting.provisional": provisional,
}
