"""Findings as rows of a table: errors, warnings, notes, the waived ones last; in groups by place or by rule."""

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QIcon, QPainter, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QWidget

from app.panels.tree_model import GROUPS
from app.theme import Theme
from core.analysis.analysis import Analysis
from core.analysis.results import Finding, Severity
from core.tables.grouping import By, grouped
from core.tables.names import Names

Index = QModelIndex | QPersistentModelIndex
WORDS: dict[Severity, str] = {"error": "Error", "warning": "Warning", "note": "Note"}
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
    """`lines` are findings and, where they are grouped, headings between them; `rows` are the findings alone."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self.rows: tuple[Finding, ...] = ()
        self.lines: tuple[Finding | str, ...] = ()
        self._where: dict[int, str] = {}
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._icons = {severity: severity_icon(severity, theme) for severity in WORDS}

    def show(self, analysis: Analysis, by: By) -> None:
        lines: list[Finding | str] = []
        for heading, rows in grouped(analysis, by):
            lines += [f"{heading}  ({len(rows)})", *rows] if heading else rows
        names = Names(analysis.plan)
        where = {number: _where(line, names) for number, line in enumerate(lines) if isinstance(line, Finding)}
        if tuple(lines) == self.lines and where == self._where:
            return
        self.beginResetModel()
        self.lines, self._where = tuple(lines), where
        self.rows = tuple(line for line in lines if isinstance(line, Finding))
        self.endResetModel()

    def finding(self, line: int) -> Finding | None:
        """The finding on a line of the table; None on a heading and beyond."""
        found = self.lines[line] if 0 <= line < len(self.lines) else None
        return found if isinstance(found, Finding) else None

    def line_of(self, finding: Finding) -> int:
        return next(number for number, line in enumerate(self.lines) if line is finding)

    @property
    def headings(self) -> tuple[int, ...]:
        return tuple(number for number, line in enumerate(self.lines) if isinstance(line, str))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 (Qt's own default)
        return 0 if parent.isValid() else len(self.lines)

    def flags(self, index: Index) -> Qt.ItemFlag:
        return super().flags(index) if self.finding(index.row()) is not None else Qt.ItemFlag.ItemIsEnabled

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = int(Qt.ItemDataRole.DisplayRole)
    ) -> Any:
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return COLUMNS[section]
        return None

    def data(self, index: Index, role: int = int(Qt.ItemDataRole.DisplayRole)) -> Any:
        row, column = self.lines[index.row()], index.column()
        if isinstance(row, str):
            return self._heading(row, role)
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

    def _heading(self, words: str, role: int) -> Any:
        match role:
            case Qt.ItemDataRole.DisplayRole:
                return words
            case Qt.ItemDataRole.FontRole:
                font = QFont(self._theme.widget_font())
                font.setBold(True)
                return font
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
