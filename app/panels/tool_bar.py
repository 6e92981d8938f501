"""The tools at hand in a stage."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QToolBar, QToolButton, QWidget


class GroupButton(QToolButton):
    """Opens a menu of actions that are not wanted every minute; looks pressed while one of them is in hand."""

    def __init__(self, group: str, actions: Sequence[QAction], parent: QWidget) -> None:
        super().__init__(parent)
        self._group = group
        self._actions = tuple(actions)
        menu = QMenu(self)
        menu.setToolTipsVisible(True)
        menu.addActions(self._actions)
        self.setMenu(menu)
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setText(f"{group} ▾")
        # The sign in the words is enough; the style's own would stand beside it.
        self.setStyleSheet("QToolButton::menu-indicator { image: none; }")
        self.setCheckable(True)
        for action in self._actions:
            action.toggled.connect(self._show_checked)
        # A click on a button that can be checked checks it; this one shows what is in hand instead.
        menu.aboutToHide.connect(self._show_checked)
        self._show_checked()

    def _show_checked(self, _checked: bool = False) -> None:
        chosen = next((action.text() for action in self._actions if action.isChecked()), "")
        self.setChecked(bool(chosen))
        self.setAccessibleName(f"{self._group}: {chosen}" if chosen else self._group)


class StageBar(QToolBar):
    """Shows the actions of a stage; they live elsewhere. Those with a group in their data share a button."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Tools at hand", parent)
        self.setObjectName("stageBar")
        self.setMovable(False)
        self.setFloatable(False)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        self.groups: dict[str, GroupButton] = {}

    def show_actions(self, actions: Sequence[QAction | None]) -> None:
        """None is a gap."""
        self.clear()
        for group_button in self.groups.values():
            group_button.deleteLater()
        self.groups = {}
        for action in actions:
            if action is None:
                self.addSeparator()
            elif group := str(action.data() or ""):
                self._show_group(group, [each for each in actions if each is not None and each.data() == group])
            else:
                self.addAction(action)
                button = self.widgetForAction(action)
                if isinstance(button, QToolButton):
                    button.setAccessibleName(action.text())
                    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)

    def _show_group(self, group: str, actions: Sequence[QAction]) -> None:
        """Where the first of a group would stand."""
        if group not in self.groups:
            self.groups[group] = GroupButton(group, actions, self)
            self.addWidget(self.groups[group])


def hand_of(tools: Sequence[QAction], actions: Sequence[QAction]) -> list[QAction | None]:
    """The tools of a stage, then the actions that belong to it; those of a group of tools stand with them."""
    groups = {tool.data() for tool in tools if tool.data()}
    alone = [action for action in actions if action.data() not in groups]
    together = [action for action in actions if action.data() in groups]
    return [*tools, *together, *((None, *alone) if alone else ())]
