"""Step through the findings, mend one by a click, waive one with a reason."""

from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtGui import QCursor

from app.commands.action import Action
from app.commands.bench import Bench
from app.dialogs.standards import StandardsDialog
from app.dialogs.waive import WaiveDialog
from core.analysis.results import Finding
from core.edits import records
from core.errors import EditRefused
from core.model import Plan

if TYPE_CHECKING:
    from core.studies.remedies import Remedy


def _no_findings(bench: Bench) -> str:
    return "" if bench.session.analysis.findings else "There are no findings."


def show_remedies(bench: Bench, finding: Finding) -> None:
    # Imported when asked for: the first window does not wait for the studies.
    from app.dialogs.mending import RemedyMenu

    menu = RemedyMenu(bench.window, finding, bench.analysis(), bench.library, partial(_mend, bench))
    menu.popup(QCursor.pos())


def _mend(bench: Bench, remedy: "Remedy", _checked: bool = False) -> None:
    if bench.attempt(remedy.label, remedy.apply) and remedy.gain:
        bench.say(f"{remedy.label}: {remedy.gain}")


def waive(bench: Bench, finding: Finding) -> None:
    WaiveDialog(bench.window, finding, partial(_waive, bench), names_who=bench.plan.build_for == "customer").open()


def _waive(bench: Bench, finding: Finding, reason: str, by: str) -> str:
    """Waive with a reason; why it cannot be, or ""."""
    today = date.today().isoformat()  # noqa: DTZ011 (the day on this desk)
    try:
        plan, _ = records.waive(bench.plan, finding.code, finding.subjects, reason, by, on=today)
    except EditRefused as refusal:
        return str(refusal)
    bench.session.commit("Waive finding", plan)
    return ""


def take_waiver_back(bench: Bench, finding: Finding) -> None:
    for row in bench.plan.waivers:
        if row.code == finding.code and set(row.subjects) <= set(finding.subjects):
            bench.attempt("Take waiver back", partial(_unwaived, waiver=row.id))
            return


def _unwaived(plan: Plan, waiver: str) -> Plan:
    return records.unwaive(plan, waiver)


def show_standards(bench: Bench) -> None:
    StandardsDialog(bench.window, bench.session).open()


ACTIONS = (
    Action("next-finding", "Next finding", "Findings", lambda b: b.findings.step(1), "F8", _no_findings,
           stages=("checks",)),
    Action("previous-finding", "Finding before", "Findings", lambda b: b.findings.step(-1), "Shift+F8", _no_findings,
           stages=("checks",)),
    Action("remedy", "Remedy of the finding…", "Findings", lambda b: b.findings.remedy.click(), "Ctrl+M",
           _no_findings, parted=True, stages=("checks",)),
    Action("waive", "Waive finding…", "Findings", lambda b: b.findings.waive.click(), "Ctrl+W", _no_findings,
           stages=("checks",)),
    Action("standards", "Standards and limits…", "Findings", show_standards, "Ctrl+Shift+M", parted=True,
           stages=("checks",)),
)  # fmt: skip
