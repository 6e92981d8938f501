"""Stage `findings`: everything that is wrong, missing or worth knowing, as values.

A check is a function ``(analysis) -> Iterable[Finding]``; `CHECKS` lists them in the order of the build. Adding one is
writing the function in the module of its subject and naming it here.
"""

from collections.abc import Callable, Iterable

from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.checks import (
    capacity,
    cutting,
    electrical,
    fixing,
    fuse_places,
    mains,
    protection,
    routing,
    screws,
    securing,
    separation,
    sheet,
    sight,
    standing,
    systems,
)
from core.analysis.checks import clearances as clear
from core.analysis.results import Finding
from core.model import Plan, Waiver

Check = Callable[[Analysis], Iterable[Finding]]

CHECKS: tuple[Check, ...] = (
    sheet.profile_version,
    sheet.folds,
    sheet.overlaps,
    sheet.seams,
    sheet.outlines,
    sheet.channels,
    sheet.outside,
    sheet.in_openings,
    routing.unconnected_devices,
    routing.wires_without_route,
    routing.provisional_routes,
    routing.moved_pulled_wires,
    routing.overfull,
    routing.separation,
    separation.shared_channels,
    separation.neighbours,
    routing.visible,
    sight.uncovered,
    electrical.unusable_kinds,
    electrical.without_kind,
    electrical.sizing_faults,
    electrical.drop_with_ends,
    electrical.maker_tables,
    electrical.empty_limits,
    systems.loads,
    systems.stated_currents,
    systems.voltages,
    systems.unfed,
    systems.meshes,
    protection.missing,
    protection.family,
    protection.limits,
    protection.terminals,
    protection.peak,
    protection.coordination,
    protection.breaking,
    protection.exception,
    fuse_places.distances,
    electrical.overloaded_points,
    electrical.small_parallel,
    electrical.cable_cores,
    systems.always_live,
    systems.returns,
    systems.cases,
    systems.reach,
    mains.mains,
    securing.gaps,
    securing.wanted,
    securing.places,
    securing.falls,
    securing.panel_screws,
    screws.in_bands,
    fixing.rub_points,
    fixing.joints_passed,
    clear.zones,
    clear.along_edges,
    clear.moving_parts,
    clear.devices_in_the_way,
    standing.device_clearances,
    fixing.small_holes,
    capacity.small_pass_throughs,
    capacity.plugs,
    capacity.slides,
    capacity.pulling,
    capacity.jam,
    capacity.nearly_full,
    capacity.inner,
    capacity.spare_ducts,
    capacity.measured,
    fixing.bends,
    fixing.bends_in_holes,
    fixing.bends_at_nodes,
    fixing.wrap,
    cutting.without_spool,
    cutting.unproven,
    cutting.provisional,
)

_ORDER = {"error": 0, "warning": 1, "note": 2}


def _waived(finding: Finding, waivers: tuple[Waiver, ...]) -> Finding:
    for waiver in waivers:
        if waiver.code == finding.code and (not waiver.subjects or set(waiver.subjects) == set(finding.subjects)):
            return replace(finding, waived=waiver.reason or "no reason given")
    return finding


def _loud_waivers(plan: Plan, findings: list[Finding]) -> Iterable[Finding]:
    """In a customer's plan a safety rule cannot be set aside silently."""
    if plan.build_for != "customer":
        return
    for finding in findings:
        if finding.waived and finding.severity == "error":
            yield Finding(
                code="waiver.customer",
                severity="warning",
                subjects=finding.subjects,
                message=f"A safety rule ({finding.code}) is waived in a customer's plan: {finding.waived}",
                remedy="agree it with the customer in writing; it is printed in the owner's book",
            )


def find_all(analysis: Analysis) -> tuple[Finding, ...]:
    """All findings, the severe ones first, then in the order of the build; waived ones carry their reason."""
    found = [_waived(f, analysis.plan.waivers) for check in CHECKS for f in check(analysis)]
    found.extend(_loud_waivers(analysis.plan, found))
    return tuple(sorted(found, key=lambda f: _ORDER[f.severity]))
