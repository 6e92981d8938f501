"""What was pulled: measured sizes and lengths, day and note of every wire, and what finished jobs teach."""

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QPushButton, QTableWidgetItem, QVBoxLayout, QWidget

from app.dialogs.as_built.work import KEY, Cells, Work, problem_label, say
from core.analysis.analysis import Analysis
from core.edits.finishing import forget_pulled, pulled_entry, record_pulled
from core.edits.records import set_assumptions
from core.model import AsPulled, Plan
from core.studies.as_planned import Lesson, PlannedWire, as_planned, learned
from core.tables.handing_over import difference_words
from core.text import counted, mm
from core.units import UnitProblem, read_length_mm, read_section_mm2

TITLES = ("wire", "size planned", "cut planned", "size pulled", "length used", "day", "by", "note",
          "difference from the plan")  # fmt: skip
FIELDS = {3: "section_mm2", 4: "length_mm", 5: "on", 6: "by", 7: "note"}
NO_LESSON = "Nothing is changed by this: it is a proposal."


class PulledPage(QWidget):
    def __init__(self, parent: QWidget, work: Work) -> None:
        super().__init__(parent)
        self._work = work
        self._planned: dict[str, PlannedWire] = {}
        self._lesson: Lesson | None = None
        told = QLabel(
            "Type what was measured: it is kept apart from the plan. A wire that is marked as pulled keeps its way, "
            "whatever is planned later.", self,
        )  # fmt: skip
        told.setWordWrap(True)
        self.only_open = QCheckBox("Only wires that are not pulled yet", self)
        self.only_open.toggled.connect(self.refresh)
        self.table = Cells(self, "Wires as pulled", TITLES, typed=tuple(FIELDS), wide=(7, 8))
        self.table.itemChanged.connect(self._typed)
        self.mark = self._button("Mark as pulled today", self._mark)
        self.spare = self._button("Left as spare", self._spare)
        self.forget = self._button("Take back", self._forget)
        self.learn = self._button("Learn allowances…", self._learn)
        self.problem = problem_label(self)
        self.lesson = QLabel(self)
        self.lesson.setWordWrap(True)
        self.lesson.hide()
        self.adopt = self._button("Use these allowances", self._adopt)
        self.adopt.hide()
        row = QHBoxLayout()
        for widget in (self.mark, self.spare, self.forget):
            row.addWidget(widget)
        row.addStretch(1)
        row.addWidget(self.learn)
        taught = QHBoxLayout()
        taught.addWidget(self.lesson, 1)
        taught.addWidget(self.adopt)
        layout = QVBoxLayout(self)
        for part in (told, self.only_open, self.table, self.problem):
            layout.addWidget(part)
        layout.addLayout(row)
        layout.addLayout(taught)
        self._fresh = True

    def _button(self, words: str, run: Callable[[], object]) -> QPushButton:
        button = QPushButton(words, self)
        button.setAutoDefault(False)
        button.clicked.connect(run)
        return button

    def refresh(self) -> None:
        """Show the plan as it is; the first time what is selected on the sheet is chosen."""
        analysis = self._work.analysis()
        self._planned = dict(as_planned(analysis))
        entries = {row.wire: row for row in analysis.plan.as_pulled}
        wires = [*analysis.wires, *(wire for wire in entries if wire not in analysis.wires)]
        if self.only_open.isChecked():
            wires = [wire for wire in wires if wire not in entries]
        self.table.show_rows([(wire, _row(wire, self._planned.get(wire), entries.get(wire))) for wire in wires])
        if self._fresh:
            self._fresh = False
            self.table.choose(self._work.selected)

    # --- typing ------------------------------------------------------------------------------------------------------

    def _typed(self, item: QTableWidgetItem) -> None:
        wire, field, text = str(item.data(KEY)), FIELDS[item.column()], item.text().strip()
        try:
            value = _value(field, text)
        except UnitProblem as problem:
            self.refresh()
            say(self.problem, str(problem))
            return
        way = self._way(wire)

        def edit(plan: Plan) -> Plan:
            before = pulled_entry(plan, wire)
            told = {name: getattr(before, name, None) for name in ("section_mm2", "length_mm")}
            told |= {name: getattr(before, name, "") for name in ("on", "by", "note")}
            told["on"] = told["on"] or self._work.today
            told[field] = value
            after, _ = record_pulled(plan, wire, way if before is None else (), **told)  # type: ignore[arg-type]
            return after

        self._change(f"As pulled: {wire}", edit)

    def _way(self, wire: str) -> tuple[str, ...]:
        route = self._work.analysis().routes.get(wire)
        return tuple(step.channel for step in route.steps) if route is not None else ()

    def _change(self, label: str, edit: Callable[[Plan], Plan]) -> None:
        problem = self._work.change(label, edit)
        self.refresh()
        say(self.problem, problem)

    # --- buttons -----------------------------------------------------------------------------------------------------

    def _mark(self) -> None:
        self._record(spare=False)

    def _spare(self) -> None:
        self._record(spare=True)

    def _record(self, spare: bool) -> None:
        wires = self.table.chosen()
        if not wires:
            say(self.problem, "Choose wires first.")
            return
        ways = {wire: self._way(wire) for wire in wires}

        def edit(plan: Plan) -> Plan:
            for wire in wires:
                before = pulled_entry(plan, wire)
                plan, _ = record_pulled(
                    plan, wire, ways[wire] if before is None else (), spare=spare,
                    length_mm=before.length_mm if before else None,
                    section_mm2=before.section_mm2 if before else None,
                    on=(before.on if before else "") or self._work.today,
                    by=before.by if before else "", note=before.note if before else "",
                )  # fmt: skip
            return plan

        self._change(f"As pulled: {counted(len(wires), 'wire')}", edit)

    def _forget(self) -> None:
        wires = [wire for wire in self.table.chosen() if pulled_entry(self._work.analysis().plan, wire) is not None]
        if not wires:
            say(self.problem, "Choose wires that are pulled.")
            return

        def edit(plan: Plan) -> Plan:
            for wire in wires:
                plan = forget_pulled(plan, wire)
            return plan

        self._change(f"Take back: {counted(len(wires), 'wire')}", edit)

    # --- learning ----------------------------------------------------------------------------------------------------

    def _learn(self) -> None:
        self._work.other_jobs(self._taught)

    def _taught(self, others: Sequence[Analysis]) -> None:
        analysis = self._work.analysis()
        self._lesson = learned((analysis, *others))
        now = analysis.plan.assumptions
        self.lesson.setText(lesson_words(self._lesson, now.tolerance_percent, now.tolerance_least_mm, len(others) + 1))
        self.lesson.show()
        self.adopt.setVisible(self._lesson.differs_from(now))

    def _adopt(self) -> None:
        lesson = self._lesson
        assert lesson is not None

        def edit(plan: Plan) -> Plan:
            return set_assumptions(
                plan, tolerance_percent=lesson.tolerance_percent, tolerance_least_mm=lesson.tolerance_least_mm
            )

        self._change("Allowances from finished jobs", edit)
        self.adopt.hide()


def lesson_words(lesson: Lesson, percent_now: float, least_now_mm: float, jobs: int) -> str:
    """The proposal in words, with what it rests on."""
    if lesson.why_not:
        return lesson.why_not
    over = f", the worst by {mm(lesson.longest_over_mm)} mm" if lesson.short else ""
    spared = (
        f"spares {lesson.spared_mm / 1000:.1f} m of wire" if lesson.spared_mm >= 0 else
        f"takes {-lesson.spared_mm / 1000:.1f} m more wire"
    )  # fmt: skip
    return (
        f"{counted(lesson.wires, 'wire')} measured in {counted(jobs, 'job')}: {lesson.short} were longer than their "
        f"cut{over}. A tolerance of {lesson.tolerance_percent:g} %, at least {mm(lesson.tolerance_least_mm)} mm, would "
        f"have been enough for {lesson.enough} of them and {spared}. Now it is {percent_now:g} %, at least "
        f"{mm(least_now_mm)} mm. {NO_LESSON}"
    )


def _row(wire: str, planned: PlannedWire | None, entry: AsPulled | None) -> tuple[str, ...]:
    return (
        wire,
        f"{planned.section_mm2:g} mm²" if planned else "",
        f"{planned.cut_mm:.0f} mm" if planned and planned.cut_mm is not None else "",
        f"{entry.section_mm2:g}" if entry and entry.section_mm2 is not None else "",
        f"{entry.length_mm:g}" if entry and entry.length_mm is not None else "",
        entry.on if entry else "",
        entry.by if entry else "",
        entry.note if entry else "",
        difference_words(entry, planned) if entry else "",
    )


def _value(field: str, text: str) -> float | str | None:
    if field not in ("section_mm2", "length_mm"):
        return text
    if not text:
        return None
    return read_section_mm2(text) if field == "section_mm2" else read_length_mm(text, "mm")
