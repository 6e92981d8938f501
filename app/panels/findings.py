"""Below the sheet: what is wrong or missing, with a sign and a word for how bad it is; each leads to its subjects."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QIcon, QKeyEvent, QPainter, QPen, QPixmap, QPolygonF, QResizeEvent
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

from app.panels.tree_model import GROUPS
from app.session import Session
from app.theme import Theme
from core.analysis.results import Finding, Severity
from core.tables.names import SEVERITY_ORDER, Names
from core.text import counted

Index = QModelIndex | QPersistentModelIndex
WORDS: dict[Severity, str] = {"error": "Error", "warning": "Warning", "note": "Note"}
NARROW_PX = 900
COLUMNS = ("", "What", "Where", "Remedy")


def severity_icon(severity: Severity, theme: Theme, size: int = 16, ratio: float = 2.0) -> QIcon:
    """Triangle with a sign for an error, triangle for a warning, ring for a note: shapes differ, not only colours."""
    pixmap = QPixmap(int(size * ratio), int(size * ratio))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    with QPainter(pixmap) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if severity == "note":
            painter.setPen(QPen(theme.colour("muted"), 1.4))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QRectF(2.5, 2.5, size - 5, size - 5))
            painter.drawLine(QPointF(size / 2, size / 2 - 0.5), QPointF(size / 2, size - 5))
            painter.drawPoint(QPointF(size / 2, 5.2))
        else:
            names = ("sign_error", "sign_error_line", "sign_error_text")
            fill, line, sign = names if severity == "error" else ("sign", "sign_line", "sign_text")
            painter.setPen(QPen(theme.colour(line), 1.2, j=Qt.PenJoinStyle.RoundJoin))
            painter.setBrush(theme.colour(fill))
            if severity == "error":
                painter.drawPolygon(QPolygonF([QPointF(x * size / 16, y * size / 16) for x, y in OCTAGON]))
            else:
                painter.drawPolygon(QPolygonF([QPointF(size / 2, 1.5), QPointF(size - 1, 14), QPointF(1, 14)]))
            pen = QPen(theme.colour(sign), 1.7)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            top = 4.2 if severity == "error" else 6.0
            painter.drawLine(QPointF(size / 2, top), QPointF(size / 2, 9.2))
            painter.drawPoint(QPointF(size / 2, 11.7))
    return QIcon(pixmap)


OCTAGON = ((5, 1), (11, 1), (15, 5), (15, 11), (11, 15), (5, 15), (1, 11), (1, 5))


class FindingsModel(QAbstractTableModel):
    """Findings in order: errors, warnings, notes, then the waived ones."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self.rows: tuple[Finding, ...] = ()
        self._where: tuple[str, ...] = ()
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._icons = {severity: severity_icon(severity, theme) for severity in WORDS}

    def show(self, findings: Sequence[Finding], names: Names) -> None:
        rows = tuple(sorted(findings, key=lambda row: (bool(row.waived), SEVERITY_ORDER[row.severity])))
        where = tuple(_where(row, names) for row in rows)
        if rows == self.rows and where == self._where:
            return
        self.beginResetModel()
        self.rows, self._where = rows, where
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 (Qt's own default)
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = int(Qt.ItemDataRole.DisplayRole)
    ) -> Any:
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return COLUMNS[section]
        return None

    def data(self, index: Index, role: int = int(Qt.ItemDataRole.DisplayRole)) -> Any:
        row, column = self.rows[index.row()], index.column()
        word = f"Waived {WORDS[row.severity].lower()}" if row.waived else WORDS[row.severity]
        texts = (word, row.message, self._where[index.row()], row.remedy)
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return texts[column]
            case Qt.ItemDataRole.DecorationRole if column == 0:
                return self._icons[row.severity]
            case Qt.ItemDataRole.ForegroundRole if row.waived or column >= 2:
                return self._theme.colour("muted")
            case Qt.ItemDataRole.ToolTipRole:
                parts = [row.message, row.remedy, f"Rule: {row.code}"]
                parts += [f"Source: {row.source}"] if row.source else []
                parts += [f"Waived: {row.waived}"] if row.waived else []
                return "\n".join(part for part in parts if part)
            case Qt.ItemDataRole.AccessibleTextRole:
                return f"{texts[0]}: {texts[column]}" if column == 1 else texts[column]
        return None


def _where(finding: Finding, names: Names) -> str:
    told = [named(subject, names) for subject in finding.subjects[:3]]
    return ", ".join(dict.fromkeys(told)) + ("…" if len(finding.subjects) > 3 else "")


def named(record_id: str, names: Names) -> str:
    """A record's name; of one without a name what it is, with its id."""
    name = names(record_id)
    if name != record_id:
        return name
    return next((f"{word} {name}" for name_of, _, word in GROUPS if _has(names, name_of, record_id)), name)


def _has(names: Names, collection: str, record_id: str) -> bool:
    return any(record.id == record_id for record in getattr(names.plan, collection))


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
        heading = QLabel("Findings", self)
        heading.setObjectName("paneHeading")
        bar = QHBoxLayout()
        bar.setContentsMargins(12, 6, 10, 4)
        bar.setSpacing(12)
        bar.addWidget(heading)
        bar.addWidget(self.summary, 1)
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
        row = self.table.currentIndex().row()
        return self.model.rows[row] if 0 <= row < len(self.model.rows) else None

    def step(self, by: int) -> None:
        """Go to the next or the previous finding and show it."""
        count = len(self.model.rows)
        if not count:
            return
        row = self.table.currentIndex().row()
        new = (row + by) % count if row >= 0 else (0 if by > 0 else count - 1)
        self.table.selectRow(new)
        self._show_current()

    def _analysis_changed(self, _analysis: object) -> None:
        analysis = self._session.analysis
        if analysis.provisional:
            return  # while something is dragged, findings stay
        was = self.current
        self.model.show(analysis.findings, Names(analysis.plan))
        if was is not None:
            keys = [(row.code, row.subjects) for row in self.model.rows]
            if (was.code, was.subjects) in keys:
                self.table.selectRow(keys.index((was.code, was.subjects)))
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
    told = [_sentence(finding.message), _sentence(finding.remedy)]
    told += [f"Source: {finding.source}."] if finding.source else []
    told += [f"Waived: {_sentence(finding.waived)}"] if finding.waived else []
    return " ".join(part for part in told if part)


def _sentence(words: str) -> str:
    words = words.strip()
    return words[:1].upper() + words[1:] + ("" if words.endswith((".", "!", "?")) else ".") if words else ""


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
