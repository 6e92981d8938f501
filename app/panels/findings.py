"""Below the sheet: what is wrong or missing, with a sign and a word for how bad it is; each leads to its subjects."""

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.panels.findings_model import COLUMNS, FindingsModel
from app.session import Session
from app.theme import Theme
from core.analysis.results import Finding
from core.tables.names import SEVERITY_ORDER
from core.text import counted, sentence

NARROW_PX = 900
#: How they are grouped, in words.
GROUPINGS = (("weight", "Worst first"), ("place", "By place"), ("rule", "By rule"))


class FindingsTable(QTableView):
    entered_key = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.entered_key.emit()
            return
        super().keyPressEvent(event)


class FindingsPanel(QWidget):
    """A view on the session's findings."""

    #: The subjects of the finding that was chosen.
    chosen = Signal(object)
    #: Show what would mend this finding.
    remedy_asked = Signal(object)
    #: Waive this finding: somebody has to say why.
    waive_asked = Signal(object)
    unwaive_asked = Signal(object)

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("findingsPane")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._session = session
        self.model = FindingsModel(theme, self)
        self.table = FindingsTable(self)
        self.table.setModel(self.model)
        self.table.setAccessibleName("Findings")
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setShowGrid(False)
        self.table.setWordWrap(False)
        self.table.setTabKeyNavigation(False)
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(27)
        header = self.table.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for column, mode in enumerate(
            (QHeaderView.ResizeMode.Fixed, QHeaderView.ResizeMode.Stretch, QHeaderView.ResizeMode.Interactive,
             QHeaderView.ResizeMode.Stretch)
        ):  # fmt: skip
            header.setSectionResizeMode(column, mode)
        for column, width in ((0, 96), (2, 140)):
            header.resizeSection(column, width)
        self.summary = QLabel(self)
        self.summary.setObjectName("findingsSummary")
        self.remedy = QPushButton("Remedy…", self)
        self.remedy.setEnabled(False)
        self.remedy.setToolTip("What mends this finding by a click, tried out on the plan")
        self.waive = QPushButton("Waive…", self)
        self.waive.setEnabled(False)
        self.waive.setToolTip("Set this finding aside with a reason; it is printed in the owner's book")
        self.grouping = Choice(self)
        self.grouping.setAccessibleName("Order of the findings")
        self.grouping.setFixedWidth(130)
        for by, words in GROUPINGS:
            self.grouping.addItem(words, by)
        heading = QLabel("Findings", self)
        heading.setObjectName("paneHeading")
        bar = QHBoxLayout()
        bar.setContentsMargins(12, 6, 10, 4)
        bar.setSpacing(12)
        bar.addWidget(heading)
        bar.addWidget(self.summary, 1)
        bar.addWidget(self.grouping)
        bar.addWidget(self.remedy)
        bar.addWidget(self.waive)
        #: The whole of the finding that is current; a row has not room for every sentence.
        self.detail = QLabel(self)
        self.detail.setObjectName("findingDetail")
        self.detail.setWordWrap(True)
        self.detail.setTextFormat(Qt.TextFormat.PlainText)
        self.detail.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.detail.hide()
        self._empty = QLabel("Nothing is wrong or missing as far as the plan tells.", self)
        self._empty.setObjectName("emptyWords")
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(bar)
        layout.addWidget(self.table, 1)
        layout.addWidget(self._empty, 1)
        layout.addWidget(self.detail)
        self.setFocusProxy(self.table)
        self.table.clicked.connect(self._clicked)
        self.table.entered_key.connect(self._show_current)
        self.table.selectionModel().currentRowChanged.connect(self._current_changed)
        self.grouping.currentIndexChanged.connect(self._analysis_changed)
        self.remedy.clicked.connect(self._remedy_clicked)
        self.waive.clicked.connect(self._waive_clicked)
        session.analysis_changed.connect(self._analysis_changed)
        self._analysis_changed(session.analysis)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # Where there is little room the place gives way; a click leads there anyway.
        self.table.setColumnHidden(2, event.size().width() < NARROW_PX)

    def set_theme(self, theme: Theme) -> None:
        self.model.set_theme(theme)
        self.table.viewport().update()

    @property
    def current(self) -> Finding | None:
        return self.model.finding(self.table.currentIndex().row())

    def step(self, by: int) -> None:
        """Go to the next or the previous finding and show it."""
        rows = self.model.rows
        if not rows:
            return
        current = self.current
        at = next((number for number, row in enumerate(rows) if row is current), None)
        new = (0 if by > 0 else len(rows) - 1) if at is None else (at + by) % len(rows)
        self.table.selectRow(self.model.line_of(rows[new]))
        self._show_current()

    def _analysis_changed(self, _analysis: object) -> None:
        analysis = self._session.analysis
        if analysis.provisional:
            return  # while something is dragged, findings stay
        was = self.current
        self.model.show(analysis, self.grouping.currentData())
        self.table.clearSpans()
        for line in self.model.headings:
            self.table.setSpan(line, 0, 1, len(COLUMNS))
        same = (
            row for row in self.model.rows if was is not None and (row.code, row.subjects) == (was.code, was.subjects)
        )
        if (row := next(same, None)) is not None:
            self.table.selectRow(self.model.line_of(row))
        self.summary.setText(summary(analysis.findings))
        self.table.setVisible(bool(self.model.rows))
        self._empty.setVisible(not self.model.rows)
        self._current_changed()

    def _clicked(self, _index: object) -> None:
        self._show_current()

    def _show_current(self) -> None:
        if (finding := self.current) is not None:
            self.chosen.emit(finding.subjects)

    def _current_changed(self, *_: object) -> None:
        finding = self.current
        self.remedy.setEnabled(finding is not None and not finding.waived)
        self.waive.setEnabled(finding is not None)
        self.detail.setText(sentences(finding) if finding is not None else "")
        self.detail.setVisible(finding is not None)
        self.waive.setText("Take waiver back" if finding is not None and finding.waived else "Waive…")

    def _remedy_clicked(self) -> None:
        if (finding := self.current) is not None:
            self.remedy_asked.emit(finding)

    def _waive_clicked(self) -> None:
        finding = self.current
        if finding is not None:
            (self.unwaive_asked if finding.waived else self.waive_asked).emit(finding)


def sentences(finding: Finding) -> str:
    """What is wrong, what to do, where the limit comes from, why it was waived."""
    told = [sentence(finding.message), sentence(finding.remedy)]
    told += [f"Source: {finding.source}."] if finding.source else []
    told += [f"Waived: {sentence(finding.waived)}"] if finding.waived else []
    return " ".join(part for part in told if part)


def summary(findings: Sequence[Finding]) -> str:
    """`2 errors, 1 warning, 3 notes, 1 waived`."""
    counts = dict.fromkeys(SEVERITY_ORDER, 0)
    waived = 0
    for finding in findings:
        if finding.waived:
            waived += 1
        else:
            counts[finding.severity] += 1
    told = [counted(count, severity) for severity, count in counts.items() if count]
    if waived:
        told.append(f"{waived} waived")
    return ", ".join(told) or "No findings"
