"""The tools at hand in a stage."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QToolBar, QToolButton, QWidget


class StageBar(QToolBar):
    """Shows the actions of a stage; they live elsewhere."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Tools at hand", parent)
        self.setObjectName("stageBar")
        self.setMovable(False)
        self.setFloatable(False)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)

    def show_actions(self, actions: Sequence[QAction | None]) -> None:
        """None is a gap."""
        self.clear()
        for action in actions:
            if action is None:
                self.addSeparator()
                continue
            self.addAction(action)
            button = self.widgetForAction(action)
            if isinstance(button, QToolButton):
                button.setAccessibleName(action.text())
                button.setFocusPolicy(Qt.FocusPolicy.TabFocus)


def hand_of(tools: Sequence[QAction], actions: Sequence[QAction]) -> list[QAction | None]:
    """The tools of a stage, then the actions that belong to it."""
    return [*tools, *((None, *actions) if actions else ())]
