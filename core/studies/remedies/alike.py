"""One remedy for every finding of its kind: twelve ribs are not protected one by one."""

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.errors import EditRefused
from core.files.library import Library
from core.model import Plan
from core.studies.remedies.remedy import Remedy


def alike(finding: Finding, remedy: Remedy, analysis: Analysis, library: Library) -> Remedy | None:
    """The remedy applied to all findings of the same rule for which the very same one is clear; None for one alone.

    Which ones those are is tried out when it is applied, on the plan of the analysis.
    """
    others = [f for f in analysis.findings if f.code == finding.code and not f.waived]
    if len(others) < 2:
        return None
    wanted = _pattern(remedy, finding, analysis)

    def apply(plan: Plan) -> Plan:
        from core.studies.remedies import remedies

        for each in others:
            fit = (r for r in remedies(each, analysis, library) if _pattern(r, each, analysis) == wanted)
            one = next(fit, None)
            if one is not None:
                try:
                    plan = one.apply(plan)
                except EditRefused:
                    continue  # an earlier one has seen to it
        return plan

    return Remedy(f"The same for all {len(others)} findings of this kind", apply, "where it is clear")


def _pattern(remedy: Remedy, finding: Finding, analysis: Analysis) -> str:
    """What the remedy does, without the name of what it does it to."""
    label = remedy.label
    for subject in finding.subjects:
        label = label.replace(analysis.word(subject), "")
    return label
