"""The dialog with its four pages."""

from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QTabWidget, QVBoxLayout, QWidget

from app.dialogs.as_built.closing import ClosingPage
from app.dialogs.as_built.photos import PhotosPage
from app.dialogs.as_built.pulled import PulledPage
from app.dialogs.as_built.testing import TestsPage
from app.dialogs.as_built.work import Work

PageName = Literal["pulled", "tests", "photos", "closing"]


class AsBuiltDialog(QDialog):
    """What is entered is in the plan at once; every step can be undone in the window."""

    def __init__(self, parent: QWidget, work: Work, page: PageName = "pulled") -> None:
        super().__init__(parent)
        self.setWindowTitle("As built")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(1120, 720)
        self.tabs = QTabWidget(self)
        self.tabs.setAccessibleName("Records")
        self.tabs.tabBar().setAccessibleName("Records")
        self.pulled = PulledPage(self, work)
        self.tests = TestsPage(self, work)
        self.photos = PhotosPage(self, work)
        self.closing = ClosingPage(self, work)
        pages: dict[PageName, tuple[str, QWidget]] = {
            "pulled": ("As &pulled", self.pulled),
            "tests": ("&Tests", self.tests),
            "photos": ("P&hotos", self.photos),
            "closing": ("&Close panels", self.closing),
        }
        for words, widget in pages.values():
            self.tabs.addTab(widget, words)
        self.tabs.setCurrentIndex(list(pages).index(page))
        self.tabs.currentChanged.connect(self._turned)
        box = QDialogButtonBox(self)
        # Of another role it would be the default, and Return in a field would close the dialog.
        close = box.addButton("Done", QDialogButtonBox.ButtonRole.RejectRole)
        close.clicked.connect(self.accept)
        close.setAutoDefault(False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 14, 14, 12)
        layout.addWidget(self.tabs, 1)
        layout.addWidget(box)
        self._turned(0)

    def _turned(self, _number: int) -> None:
        """Show the page as the plan is now: what was entered on another page counts here."""
        page = self.tabs.currentWidget()
        if isinstance(page, PulledPage | TestsPage | PhotosPage | ClosingPage):
            page.refresh()
