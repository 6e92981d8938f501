"""What the owner and an inspector are told: what stays live, what was tested, pulled otherwise, waived."""

from core.analysis.analysis import Analysis
from core.model import AsPulled
from core.studies.as_planned import PlannedWire, as_planned
from core.tables.contract import standing_findings
from core.tables.live import live_parts
from core.tables.names import SEVERITY_ORDER, Names
from core.tables.table import Cell, Column, Table
from core.tables.testing import WRITE
from core.text import counted, mm

STAYS_LIVE = (
    "These stay live when the main switch is off. Before you work on them take their fuse out, cover solar panels, "
    "stop what charges and unplug shore power."
)
BEHIND = "A charger connected behind the main switch keeps all that is fed there live while it charges."
NO_SWITCH = "There is no main switch: everything stays live until the fuse at the battery is out."
KEPT_APART = "Measured on the vehicle and kept apart from the plan: what is planned stays as it is."
NOT_PULLED = (
    "Nothing is entered yet. Fill in the boxes of the pull cards, then type them into the plan: they are kept apart "
    "from what is planned."
)
#: Sections nearer to each other than this are one size.
SAME_MM2 = 1e-6
NO_WAIVERS = "No finding was set aside."


def always_live(analysis: Analysis) -> Table:
    """Circuits before the main switch, wholly or in part, and those with a source of their own."""
    names = Names(analysis.plan)
    rows: list[tuple[Cell, ...]] = []
    parts = live_parts(analysis)
    for circuit in analysis.plan.circuits:
        if circuit.id in parts:
            size = analysis.circuit_sizes.get(circuit.id)
            source = next((stop.device for stop in circuit.stops if stop.role == "source"), "")
            feeds = ", ".join(names(stop.device) for stop in circuit.stops if stop.role == "load")
            fuse_a = size.fuse_a if size and circuit.protective.kind != "none" else None
            rows.append((circuit.name, parts[circuit.id].words, feeds, names(source), fuse_a))
    notes = [STAYS_LIVE, BEHIND] if rows else []
    return Table(
        name="always-live",
        title="What stays live when the main switch is off",
        columns=(
            Column(key="circuit", title="circuit", weight=2.0, important=True),
            Column(key="live", title="live", weight=2.0),
            Column(key="feeds", title="feeds", weight=2.4),
            Column(key="source", title="from", weight=1.6),
            Column(key="fuse_a", title="fuse", kind="number", unit="A", weight=0.6, important=True),
        ),
        rows=tuple(rows),
        notes=tuple(notes if analysis.supply.has_main_switch else [NO_SWITCH, *notes]),
    )


def results_of_tests(analysis: Analysis) -> Table:
    """What was measured, in the order of the plan."""
    names = Names(analysis.plan)
    return Table(
        name="test-results",
        title="Test results",
        columns=(
            Column(key="circuit", title="circuit", weight=2.0, important=True),
            Column(key="kind", title="test", weight=1.0),
            Column(key="device", title="at", weight=1.6),
            Column(key="value", title="value", kind="number", weight=0.7),
            Column(key="unit", title="unit", weight=0.5),
            Column(key="passed", title="result", weight=0.8, important=True),
            Column(key="on", title="on", weight=0.9),
            Column(key="by", title="by", weight=1.2),
        ),
        rows=tuple(
            (
                names(row.circuit),
                row.kind,
                names(row.device) if row.device else None,
                row.value,
                row.unit,
                "passed" if row.passed else "FAILED",
                row.on,
                row.by,
            )
            for row in analysis.plan.test_results
        ),
    )


def as_pulled(analysis: Analysis) -> Table:
    """What was pulled for each wire beside what is planned for it; a difference is told in words."""
    planned = as_planned(analysis) if analysis.plan.as_pulled else {}
    rows: list[tuple[Cell, ...]] = []
    for row in analysis.plan.as_pulled:
        wire = planned.get(row.wire)
        rows.append((row.wire, wire.section_mm2 if wire else None, row.section_mm2, wire.cut_mm if wire else None,
                     row.length_mm, "spare" if row.spare else None, row.on, row.by or None,
                     difference_words(row, wire), row.note or None))  # fmt: skip
    return Table(
        name="as-pulled",
        title="As pulled",
        columns=(
            Column(key="wire", title="wire", weight=1.0, important=True),
            Column(key="planned_mm2", title="size planned", kind="mm2", weight=0.7),
            Column(key="pulled_mm2", title="size pulled", kind="mm2", weight=0.7, important=True),
            Column(key="planned_mm", title="cut planned", kind="mm", weight=0.8),
            Column(key="pulled_mm", title="length used", kind="mm", weight=0.8, important=True),
            Column(key="spare", title="spare", weight=0.6),
            Column(key="on", title="on", weight=0.9),
            Column(key="by", title="by", weight=0.9),
            Column(key="difference", title="difference from the plan", weight=2.4),
            Column(key="note", title="note", weight=2.0),
        ),
        rows=tuple(rows),
        notes=(KEPT_APART,) if rows else (NOT_PULLED,),
    )


def difference_words(row: AsPulled, planned: PlannedWire | None) -> str:
    """How what was pulled differs from what is planned, with numbers; "as planned" where it does not."""
    if row.spare:
        return "left as a spare"
    if planned is None:
        return "the plan has no such wire any more"
    told = []
    if row.section_mm2 is not None and abs(row.section_mm2 - planned.section_mm2) > SAME_MM2:
        told.append(f"{row.section_mm2:g} instead of {planned.section_mm2:g} mm²")
    if row.length_mm is not None and planned.cut_mm is not None and planned.route_mm is not None:
        if row.length_mm > planned.cut_mm:
            told.append(f"{mm(row.length_mm - planned.cut_mm)} mm longer than the cut")
        elif row.length_mm < planned.route_mm:
            told.append(f"{mm(planned.route_mm - row.length_mm)} mm shorter than its route")
    if row.channels and planned.channels and set(row.channels) != set(planned.channels):
        told.append("another way than planned")
    return ", ".join(told) or "as planned"


def waivers(analysis: Analysis) -> Table:
    """Findings that were set aside, with who, when and why; one that sets nothing aside any more says so."""
    names = Names(analysis.plan)
    rows: list[tuple[Cell, ...]] = []
    for waiver in analysis.plan.waivers:
        found = next(
            (f for f in analysis.findings if f.waived and f.code == waiver.code and f.subjects == waiver.subjects), None
        )
        where = ", ".join(names(subject) for subject in waiver.subjects)
        rows.append((found.message if found else f"{waiver.code} (not found any more)", where, waiver.reason, waiver.by,
                     waiver.on))  # fmt: skip
    return Table(
        name="waivers",
        title="Waivers",
        columns=(
            Column(key="message", title="what was found", weight=3.0),
            Column(key="where", title="where", weight=1.8),
            Column(key="reason", title="why it was set aside", weight=3.4, important=True),
            Column(key="by", title="by", weight=1.0),
            Column(key="on", title="on", weight=0.9),
        ),
        rows=tuple(rows),
        notes=() if rows else (NO_WAIVERS,),
    )


def inspection(analysis: Analysis) -> Table:
    """A page for the inspector: what the plan is held against, how it stands, and room for what he finds."""
    plan, profile = analysis.plan, analysis.profile
    standing = standing_findings(analysis.findings)
    counts = ", ".join(counted(sum(f.severity == s for f in standing), s) for s in SEVERITY_ORDER)
    read = sum(limit.known == "read" for limit in profile.limits)
    mains = [circuit.name for circuit in plan.circuits if circuit.group == "mains"]
    sources = [device.name for device in plan.devices if device.kind in ("battery", "shore_inlet", "solar", "inverter")]
    rcds = [device.name for device in plan.devices if device.kind == "rcd"]
    facts: list[tuple[str, str]] = [
        ("Held against", f"{profile.name}, version {profile.version}"),
        ("Limits", f"{len(profile.limits)}, of which {read} were read in their source; every other says where from"),
        ("Limits changed by the owner", ", ".join(limit.rule for limit in plan.profile.changes) or "none"),
        ("Findings", f"{counts}; {counted(len(plan.waivers), 'waiver')}"),
        ("Sources", ", ".join(sources) or "none"),
        ("Mains circuits", ", ".join(mains) or "none"),
        ("Residual-current protection", ", ".join(rcds) or ("NONE" if mains else "no mains")),
        ("Tests recorded", f"{sum(r.passed for r in plan.test_results)} passed of {len(plan.test_results)}"),
        ("Inspected by / on", f"{WRITE}{WRITE}  /  {WRITE}"),
        ("Remarks", f"{WRITE}{WRITE}{WRITE}{WRITE}"),
    ]
    return Table(
        name="inspection",
        title="For the inspector",
        columns=(
            Column(key="what", title="what", weight=1.4, important=True),
            Column(key="fact", title="how it is", weight=5.0),
            Column(key="seen", title="seen", kind="tick", weight=0.4),
        ),
        rows=tuple((what, fact, False) for what, fact in facts),
    )
