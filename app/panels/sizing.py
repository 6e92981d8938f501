"""The sizing sheet in the facts: every size of a wire's kind with each rule's word on it, and what would be if.

It is worked out only while it is open, from the analysis that is shown, a moment after the last change.
"""

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QLabel,
    QToolButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.panels.sizing_lines import (
    Line,
    about_lines,
    candidate_cells,
    rule_lines,
    sheet_wires,
    what_if_cells,
    what_if_lines,
    wire_words,
)
from app.session import Session
from app.theme import Theme
from core.analysis.sizing_sheet import SizeRow, SizingDesk, SizingSheet
from core.analysis.what_if import WhatIf, what_if

#: Nobody reads a sheet while the plan still changes.
SETTLED_MS = 120
#: Rows of a table that are seen without scrolling in it.
MOST_ROWS = 9
SIZE_COLUMNS = ("Size", "Carries", "Drop", "Verdict")
IF_COLUMNS = ("Change", "Size", "Drop")


class Rows(QTreeWidget):
    """A small table in the facts: as high as its rows, moved in with the arrow keys, left with Tab."""

    def __init__(self, columns: tuple[str, ...], name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("sizingRows")
        self.setAccessibleName(name)
        self.setColumnCount(len(columns))
        self.setHeaderLabels(columns)
        self.setRootIsDecorated(False)
        self.setUniformRowHeights(True)
        self.setAllColumnsShowFocus(True)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTabKeyNavigation(False)
        header = self.header()
        header.setStretchLastSection(True)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setMinimumSectionSize(24)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)

    def show_rows(self, rows: list[tuple[str, ...]], told: list[str], current: int) -> None:
        """Cells of each row, what a screen reader and a tip say of it, and the row to begin with (bold)."""
        self.clear()
        items = []
        for number, (cells, words) in enumerate(zip(rows, told, strict=True)):
            item = QTreeWidgetItem(list(cells))
            for column in range(len(cells)):
                item.setToolTip(column, words)
                item.setData(column, Qt.ItemDataRole.AccessibleTextRole, words if column == 0 else cells[column])
                font = item.font(column)
                font.setBold(number == current)
                item.setFont(column, font)
            items.append(item)
        self.addTopLevelItems(items)
        if 0 <= current < len(items):
            self.setCurrentItem(items[current])
            self.scrollToItem(items[current], QAbstractItemView.ScrollHint.PositionAtCenter)
        self.updateGeometry()
        self.setFixedHeight(self.sizeHint().height())

    def current(self) -> int:
        """The number of the current row, -1 for none."""
        item: QTreeWidgetItem | None = self.currentItem()
        return self.indexOfTopLevelItem(item) if item is not None else -1

    def sizeHint(self) -> QSize:
        count = min(max(self.topLevelItemCount(), 1), MOST_ROWS)
        row = self.sizeHintForRow(0) if self.topLevelItemCount() else self.fontMetrics().height() + 6
        return QSize(200, self.header().sizeHint().height() + count * row + 2 * self.frameWidth())


class SizingSection(QFrame):
    """Under the costs of a wire or circuit: candidates, the rules on the one that is chosen, and what would be if."""

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("costCard")
        self._theme = theme
        self._session = session
        self._desk: SizingDesk | None = None
        self._wires: tuple[str, ...] = ()
        self.sheet: SizingSheet | None = None
        self.changes: tuple[WhatIf, ...] = ()
        self.opener = self._opener("Sizing sheet", "Every size of this wire, and why it is taken or not")
        self.wire = Choice(self)
        self.wire.setAccessibleName("Wire of the sizing sheet")
        self.sizes = Rows(SIZE_COLUMNS, "Sizes of this wire, with the verdict on each", self)
        self.rules = _words(self, "Rules on the size")
        self.about = _words(self, "How it was counted")
        self.if_opener = self._opener("What if", "The same circuit at 24 V, one size up, two in parallel")
        self.ifs = Rows(IF_COLUMNS, "What if: the circuit after a change", self)
        self.if_words = _words(self, "About this change")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 10)
        layout.setSpacing(6)
        parts = (self.opener, self.wire, self.sizes, self.rules, self.about, self.if_opener, self.ifs, self.if_words)
        for part in parts:
            layout.addWidget(part)
        self._settled = QTimer(self)
        self._settled.setSingleShot(True)
        self._settled.setInterval(SETTLED_MS)
        self._settled.timeout.connect(self._work_out)
        self.opener.toggled.connect(self._refresh)
        self.if_opener.toggled.connect(self._show_ifs)
        self.wire.currentIndexChanged.connect(self._work_out)
        self.sizes.currentItemChanged.connect(self._show_rules)
        self.ifs.currentItemChanged.connect(self._show_if)
        self.opener.setChecked(True)
        self.hide()

    def _opener(self, words: str, tip: str) -> QToolButton:
        button = QToolButton(self)
        button.setObjectName("sizingOpener")
        button.setText(words)
        button.setToolTip(tip)
        button.setAccessibleName(words)
        button.setAccessibleDescription(tip)
        button.setCheckable(True)
        button.setArrowType(Qt.ArrowType.RightArrow)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.toggled.connect(self._point)
        return button

    def _point(self) -> None:
        for button in (self.opener, self.if_opener):
            button.setArrowType(Qt.ArrowType.DownArrow if button.isChecked() else Qt.ArrowType.RightArrow)

    # --- what is shown ----------------------------------------------------------------------------------------------

    def show_of(self, record_id: str) -> None:
        """The sheet of a wire, or of a wire of a circuit; hidden for anything else."""
        wires = sheet_wires(self._session.analysis, record_id)
        if wires != self._wires:
            self._wires = wires
            self.sheet = None
            self.wire.blockSignals(True)
            self.wire.clear()
            for wire in wires:
                self.wire.addItem(wire_words(self._session.analysis, wire), wire)
            self.wire.blockSignals(False)
        self.setVisible(bool(wires))
        self._refresh()

    def _refresh(self) -> None:
        """Show or hide the parts; what is open is worked out when the plan has settled."""
        is_open = self.opener.isChecked() and bool(self._wires)
        self.wire.setVisible(is_open and len(self._wires) > 1)
        for part in (self.sizes, self.rules, self.about, self.if_opener):
            part.setVisible(is_open and self.sheet is not None)
        if is_open:
            self._settled.start()
        self._show_ifs()

    def _work_out(self) -> None:
        analysis = self._session.analysis
        wire = self.wire.currentData()
        if not self.opener.isChecked() or wire not in analysis.wires or analysis.provisional:
            return
        if self._desk is None or self._desk.analysis is not analysis:
            self._desk = SizingDesk(analysis)
        sheet = self._desk.sheet(wire)
        if sheet == self.sheet:
            return
        self.sheet, self.changes = sheet, ()
        told = [f"{row.size}: {row.remark}" for row in sheet.rows]
        chosen = next((i for i, row in enumerate(sheet.rows) if row.chosen), -1)
        self.sizes.show_rows([candidate_cells(row) for row in sheet.rows], told, chosen)
        self._fill(self.about, about_lines(sheet))
        for part in (self.sizes, self.rules, self.about, self.if_opener):
            part.setVisible(True)
        self._show_rules()
        self._show_ifs()

    def current_row(self) -> SizeRow | None:
        index = self.sizes.current()
        return self.sheet.rows[index] if self.sheet is not None and 0 <= index < len(self.sheet.rows) else None

    def _show_rules(self) -> None:
        row = self.current_row()
        self._fill(self.rules, rule_lines(row) if row is not None else ())

    def _show_ifs(self) -> None:
        is_open = self.opener.isChecked() and self.if_opener.isChecked() and self.sheet is not None
        if is_open and not self.changes and self._desk is not None and self.sheet is not None:
            self.changes = what_if(self._desk, self.sheet.wire)
            cells = [what_if_cells(row) for row in self.changes]
            self.ifs.show_rows(cells, [f"{row.change}: {row.remark or 'holds'}" for row in self.changes], 0)
            self._show_if()
        self.ifs.setVisible(is_open and bool(self.changes))
        self.if_words.setVisible(is_open)

    def _show_if(self) -> None:
        if not self.changes:
            self._fill(self.if_words, (Line("A wire without load current: there is nothing to change."),))
            return
        index = self.ifs.current()
        row = self.changes[index] if 0 <= index < len(self.changes) else None
        self._fill(self.if_words, what_if_lines(row, self.changes[0]) if row is not None else ())

    def focus_first(self) -> None:
        """Give the keyboard to the sizes, or to what opens them."""
        where = self.sizes if self.sizes.isVisible() else self.opener
        where.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        if self.sheet is not None:
            self._fill(self.about, about_lines(self.sheet))
            self._show_rules()
            self._show_if()

    def _fill(self, label: QLabel, lines: tuple[Line, ...]) -> None:
        """Lines as rich text (escaped), and the plain words for a screen reader."""
        muted = self._theme.colour("muted").name()
        label.setText("".join(line.html(muted) for line in lines))
        label.setAccessibleDescription("\n".join(line.plain() for line in lines))


def _words(parent: QWidget, name: str) -> QLabel:
    label = QLabel(parent)
    label.setObjectName("sizingWords")
    label.setAccessibleName(name)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.RichText)
    label.setTextInteractionFlags(
        Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
    )
    return label
