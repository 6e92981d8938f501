"""Remedies: for a finding, the edits that make it go away, where there is a clear one.

`remedies(finding, analysis, library)` is asked for one finding at a time, when somebody looks at it: a remedy that
chooses a size tries it out, so the answer takes some analyses of the plan.
"""

from collections.abc import Iterable

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.errors import EditRefused
from core.files.library import Library
from core.studies.remedies import electrical, fixing, near, room, routing, sheet, supply
from core.studies.remedies.alike import alike
from core.studies.remedies.remedy import Case, Remedy, stands

__all__ = ["Remedy", "alike", "remedies", "stands", "waiving"]

_BY_CODE = {
    **sheet.REMEDIES,
    **routing.REMEDIES,
    **electrical.REMEDIES,
    **supply.REMEDIES,
    **fixing.REMEDIES,
    **room.REMEDIES,
    **near.REMEDIES,
}


def remedies(finding: Finding, analysis: Analysis, library: Library) -> tuple[Remedy, ...]:
    """The remedies of a finding that were tried out on its plan and make it go away, the best first; () where none
    is clear. Applied to another plan than that of the analysis, one may refuse (`EditRefused`)."""
    work = _BY_CODE.get(finding.code) or (fixing.rub if finding.code.startswith("rub.") else None)
    if work is None:
        return ()
    case = Case(finding, analysis, library)
    return tuple(_tried(work(case), case))


def _tried(found: Iterable[Remedy], case: Case) -> Iterable[Remedy]:
    seen: set[str] = set()
    for remedy in found:
        if remedy.label in seen:
            continue
        seen.add(remedy.label)
        try:
            after = remedy.apply(case.analysis.plan)
        except EditRefused:
            continue
        if case.helps(after):
            yield remedy


def waiving(finding: Finding, reason: str, by: str = "", on: str = "") -> Remedy:
    """Waive with a reason: always possible, and printed in the owner's book. Applying refuses an empty reason, and in
    a customer's plan one without a name."""
    from core.edits.records import waive

    return Remedy(
        label="Waive a finding",
        apply=lambda plan: waive(plan, finding.code, finding.subjects, reason, by, on)[0],
        gain="set aside, not mended; the reason is printed in the owner's book",
    )
