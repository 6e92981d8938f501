"""Left of the sheet: everything in the plan as a searchable tree, in step with the selection on the sheet."""

from PySide6.QtCore import (
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QLineEdit, QTreeView, QVBoxLayout, QWidget

from app.panels.tree_model import SEARCH_ROLE, PlanTree
from app.session import Session


class Tree(QTreeView):
    """Return asks for what is current to be shown."""

    asked = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.asked.emit()
            return
        super().keyPressEvent(event)


class _Search(QLineEdit):
    """Return goes to the first thing found; with Shift or Ctrl it is for all of them."""

    all_asked = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        held = event.modifiers() & (Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.ControlModifier)
        if held and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.all_asked.emit()
            return
        super().keyPressEvent(event)


class OutlinePanel(QWidget):
    """A view on the session: choosing here selects there, and the other way round."""

    #: A record was activated (Return, double click): show it on the sheet.
    activated = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("outlinePane")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._session = session
        self._following = False
        self.search = _Search(self)
        self.search.setToolTip("Return selects the first that is found, Shift+Return all of them.")
        self.search.all_asked.connect(self._all_found)
        self.search.setPlaceholderText("Find by name, kind or place")
        self.search.setClearButtonEnabled(True)
        self.search.setAccessibleName("Find in the plan")
        self.model = PlanTree(self)
        self._filter = QSortFilterProxyModel(self)
        self._filter.setSourceModel(self.model)
        self._filter.setFilterRole(SEARCH_ROLE)
        self._filter.setFilterCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self._filter.setRecursiveFilteringEnabled(True)
        self.tree = Tree(self)
        self.tree.setAccessibleName("Everything in the plan")
        self.tree.setHeaderHidden(True)
        self.tree.setUniformRowHeights(True)
        self.tree.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.tree.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.tree.setIndentation(14)
        self.tree.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.tree.setModel(self._filter)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 0, 0)
        layout.setSpacing(6)
        row = QVBoxLayout()
        row.setContentsMargins(0, 0, 8, 0)
        row.addWidget(self.search)
        layout.addLayout(row)
        layout.addWidget(self.tree, 1)
        self.setFocusProxy(self.tree)
        self.search.textChanged.connect(self._searched)
        self.search.returnPressed.connect(self._first_found)
        self.tree.selectionModel().selectionChanged.connect(self._chosen)
        self.tree.doubleClicked.connect(self._double_clicked)
        self.tree.asked.connect(self._asked)
        session.plan_changed.connect(self._plan_changed)
        session.analysis_changed.connect(self._analysis_changed)
        session.selection_changed.connect(self.follow)
        self._plan_changed(None, session.shown)
        self._analysis_changed(session.analysis)

    def _plan_changed(self, _old: object, _new: object) -> None:
        self._following = True
        try:
            self.model.show_plan(self._session.shown)
        finally:
            self._following = False
        self.follow()

    def _analysis_changed(self, _analysis: object) -> None:
        if self._session.analysis.provisional:
            return
        self._following = True
        try:
            self.model.show_analysis(self._session.analysis)
        finally:
            self._following = False

    def follow(self) -> None:
        """Mark what is selected in the session."""
        if self._following:
            return
        self._following = True
        try:
            chosen = QItemSelection()
            last = QModelIndex()
            for record_id in self._session.selection:
                item = self.model.item_of(record_id)
                if item is not None:
                    last = self._filter.mapFromSource(item.index())
                    chosen.select(last, last)
            flags = QItemSelectionModel.SelectionFlag
            self.tree.selectionModel().select(chosen, flags.ClearAndSelect | flags.Rows)
            if last.isValid():
                self.tree.scrollTo(last)
                self.tree.selectionModel().setCurrentIndex(last, flags.NoUpdate)
        finally:
            self._following = False

    def _chosen(self, _selected: object, _deselected: object) -> None:
        if self._following:
            return
        self._following = True
        try:
            indexes = self.tree.selectionModel().selectedIndexes()
            self._session.select(found for index in indexes if (found := self.model.id_at(index)))
        finally:
            self._following = False

    def _searched(self, text: str) -> None:
        self._filter.setFilterFixedString(text)
        if text:
            self.tree.expandAll()
        self.follow()

    def _first_found(self) -> None:
        """Return in the search field selects the first thing found and shows it."""
        index = self._filter.index(0, 0)
        while index.isValid() and not self.model.id_at(index):
            index = self._filter.index(0, 0, index)
        found = self.model.id_at(index)
        if found:
            self._session.select((found,))
            self.activated.emit(found)
            self.tree.setFocus()

    def _all_found(self) -> None:
        """Select everything that the search has found."""
        words = self.search.text().strip().casefold()
        if not words:
            return
        found: list[str] = []
        waiting = [QModelIndex()]
        while waiting:
            parent = waiting.pop()
            for row in range(self._filter.rowCount(parent)):
                index = self._filter.index(row, 0, parent)
                waiting.append(index)
                # A group is kept for what is in it: only what has the words itself was found.
                if (each := self.model.id_at(index)) and words in str(index.data(SEARCH_ROLE)).casefold():
                    found.append(each)
        self._session.select(found)

    def _double_clicked(self, index: QModelIndex) -> None:
        if found := self.model.id_at(index):
            self.activated.emit(found)

    def _asked(self) -> None:
        index = self.tree.currentIndex()
        if found := self.model.id_at(index):
            self.activated.emit(found)
        elif index.isValid():
            self.tree.setExpanded(index, not self.tree.isExpanded(index))
