"""The tools at hand in a stage."""

from collections.abc import Mapping, Sequence

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


def hand_of(
    stage: str, tools: Mapping[str, QAction], actions: Mapping[str, QAction], drawing: Sequence[str]
) -> list[QAction | None]:
    """Select first, then the tools of the stage, then the actions that belong to it."""
    extra = {
        "survey": ("new",),
        "devices": ("find-device", "turn", "duplicate"),
        "channels": ("join",),
        "circuits": ("connect",),
        "checks": ("previous-finding", "next-finding", "waive"),
        "papers": ("print-cut-list", "export"),
    }
    hand: list[QAction | None] = [tools[""]]
    hand += [tools[each] for each in drawing]
    if more := extra.get(stage, ()):
        hand.append(None)
        hand += [actions[each] for each in more]
    return hand
