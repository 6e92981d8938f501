"""The tables of actions and tools as Qt's actions, kept as they are now: words, checks, and why one is greyed out."""

from functools import partial
from typing import get_args

from PySide6.QtCore import QObject, QPoint, Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu, QMenuBar, QWidget

from app.commands.action import MenuName, words
from app.commands.bench import Bench
from app.commands.table import ACTIONS
from app.tools.toolbox import TOOLS, needed

MENUS = get_args(MenuName)


class ActionSet(QObject):
    """`by_id` are the actions, `tools` the tools by their ids, "" is selecting."""

    #: Why an action did not run.
    said = Signal(str)

    def __init__(self, bench: Bench, sheet: QWidget, parent: QWidget) -> None:
        super().__init__(parent)
        self._bench, self._pointer = bench, bench.pointer
        self.by_id: dict[str, QAction] = {}
        self.tools: dict[str, QAction] = {}
        for row in ACTIONS:
            action = QAction(row.words, parent)
            action.setData(row.group)
            if row.keys:
                action.setShortcut(QKeySequence(row.keys))
            action.setCheckable(row.is_on is not None)
            action.triggered.connect(partial(self.run, row.id))
            self.by_id[row.id] = action
        self._make_tools(sheet, parent)
        self._pointer.changed.connect(self._tool_changed)
        bench.view.edit_asked.connect(partial(self.run, "facts"))
        bench.view.key_menu_asked.connect(partial(self.menu_by_key, bench.view.viewport()))

    def _make_tools(self, sheet: QWidget, parent: QWidget) -> None:
        group = QActionGroup(self)
        select = QAction("Select", parent)
        select.setToolTip("Select and move  (Escape)")
        select.triggered.connect(self._pointer.select)
        self.tools[""] = select
        for tool in TOOLS:
            action = self.tools[tool.id] = QAction(tool.words, parent)
            action.setData(tool.group)
            action.setShortcut(QKeySequence(tool.key))
            # Letters are shortcuts on the sheet only; elsewhere they are typed.
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            action.triggered.connect(partial(self._pointer.take, tool.id))
            sheet.addAction(action)
        for action in self.tools.values():
            action.setCheckable(True)
            group.addAction(action)

    def run(self, action_id: str) -> None:
        row = next(row for row in ACTIONS if row.id == action_id)
        told = row.why_not(self._bench)
        if told:
            self.said.emit(told)
        else:
            row.run(self._bench)
        self.refresh()

    def refresh(self) -> None:
        """Words, checks and greyed-out actions as they are now."""
        session = self._bench.session
        for row in ACTIONS:
            action, told = self.by_id[row.id], row.why_not(self._bench)
            now = words(row, session)
            # Names of records may hold the sign that marks a letter of a menu.
            action.setText(now.replace("&", "&&"))
            action.setEnabled(not told)
            action.setToolTip(told or (f"{now}  ({row.keys})" if row.keys else now))
            if row.is_on is not None:
                action.setChecked(row.is_on(self._bench))
        for tool in TOOLS:
            action, told = self.tools[tool.id], needed(session.plan, tool.needs)
            action.setEnabled(not told)
            action.setToolTip(told or f"{tool.tip}  ({tool.key})")

    def fill(self, bar: QMenuBar) -> dict[str, QMenu]:
        """The menus of the window; "Open recent", "Samples" and "Panes" are filled by others."""
        menus: dict[str, QMenu] = {}
        for title in MENUS:
            menus[title] = bar.addMenu(title)
            menus[title].setToolTipsVisible(True)
        for row in ACTIONS:
            if row.parted:
                menus[row.menu].addSeparator()
            menus[row.menu].addAction(self.by_id[row.id])
            if row.id == "open":
                for title in ("Open recent", "Samples"):
                    menus[title] = menus[row.menu].addMenu(title)
        for tool in TOOLS:
            menus[tool.menu].addAction(self.tools[tool.id])
        menus["Panes"] = menus["View"].addMenu("Panes")
        return menus

    def menu_at(self, sheet: QWidget, at: QPoint) -> None:
        """What can be done with what lies under the pointer, while nothing is being drawn."""
        if self._pointer.tool_id:
            return
        session = self._bench.session
        found = self._pointer.record_at(at)
        if found and found not in session.selection:
            session.select((found,))
        self._pop_up(sheet, at)

    def menu_by_key(self, sheet: QWidget, at: QPoint) -> None:
        """What can be done with what is selected."""
        if not self._pointer.tool_id:
            self._pop_up(sheet, at)

    def _pop_up(self, sheet: QWidget, at: QPoint) -> None:
        menu = QMenu(sheet)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.setToolTipsVisible(True)
        for group in sorted({row.on_sheet for row in ACTIONS if row.on_sheet is not None}):
            menu.addActions([self.by_id[row.id] for row in ACTIONS if row.on_sheet == group])
            menu.addSeparator()
        menu.popup(sheet.mapToGlobal(at))

    def _tool_changed(self, tool_id: str) -> None:
        chosen = self.tools.get(tool_id)
        for action in self.tools.values():
            action.setChecked(action is chosen)
