"""What a remedy is, and how it is tried out."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.analysis.results import Finding
from core.files.library import Library
from core.model import Plan


@dataclass(frozen=True)
class Remedy:
    """An edit that makes a finding go away. `label` is also its undo label; `gain` says what it does and costs.

    `apply` may raise EditRefused when the plan is another one than that of the finding.
    """

    label: str
    apply: Callable[[Plan], Plan]
    gain: str


def stands(finding: Finding, analysis: Analysis) -> bool:
    """Whether the finding is still there and not waived: same rule, about the same thing (its first subject)."""
    first = finding.subjects[:1]
    return any(f.code == finding.code and f.subjects[:1] == first and not f.waived for f in analysis.findings)


class Case:
    """A finding with all that is known about its plan; tries other plans out for it, with one memory of stages."""

    def __init__(self, finding: Finding, analysis: Analysis, library: Library) -> None:
        self.finding, self.analysis, self.library = finding, analysis, library

    @cached_property
    def _analyser(self) -> Analyser:
        return Analyser(self.library)

    def analyse(self, plan: Plan) -> Analysis:
        return self._analyser.analyse(plan, "quick")

    def helps(self, plan: Plan) -> bool:
        """Whether the finding is gone in that plan."""
        return plan is not self.analysis.plan and not stands(self.finding, self.analyse(plan))


Work = Callable[[Case], Iterable[Remedy]]


def edit(work: Callable[..., Plan], *args: object, **changes: object) -> Callable[[Plan], Plan]:
    """An edit that waits for its plan: `work(plan, *args, **changes)`."""
    return lambda plan: work(plan, *args, **changes)
