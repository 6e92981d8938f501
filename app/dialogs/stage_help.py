"""What each stage is for, in plain words, beside the window."""

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QListWidget, QTextBrowser, QWidget

from core.resources import resource


class StageHelp(QDialog):
    """A page a stage; it stays open beside the work. `stages` are the words of each by its id."""

    def __init__(self, parent: QWidget, stages: Mapping[str, str], stage_id: str) -> None:
        super().__init__(parent)
        self.setWindowTitle("Help on the stages")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(760, 520)
        self.list = QListWidget(self)
        self.list.setAccessibleName("Stages")
        self.list.setFixedWidth(130)
        self.list.addItems(list(stages.values()))
        self.page = QTextBrowser(self)
        self.page.setAccessibleName("Help")
        self.page.setOpenLinks(False)
        self.page.document().setDocumentMargin(16)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(14, 14, 14, 14)
        layout.addWidget(self.list)
        layout.addWidget(self.page, 1)
        self._ids = list(stages)
        self.list.currentRowChanged.connect(self._show)
        self.list.setCurrentRow(self._ids.index(stage_id))

    def _show(self, row: int) -> None:
        self.page.setMarkdown(resource(f"help/{self._ids[row]}.md").read_text(encoding="utf-8"))
