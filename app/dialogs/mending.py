"""The remedies of a finding as a menu: each was tried out on the plan and makes the finding go away."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMenu, QWidget

from core.analysis.analysis import Analysis
from core.analysis.results import Finding
from core.files.library import Library
from core.studies.remedies import Remedy, alike, remedies

NOTHING = "Nothing clear to do by a click: read the remedy, or waive it with a reason"


class RemedyMenu(QMenu):
    """`take` gets the remedy that was chosen."""

    def __init__(
        self, parent: QWidget, finding: Finding, analysis: Analysis, library: Library, take: Callable[[Remedy], None]
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        found = remedies(finding, analysis, library)
        for remedy in found:
            action = self.addAction(_shown(f"{remedy.label}: {remedy.gain}" if remedy.gain else remedy.label))
            action.triggered.connect(partial(take, remedy))
        more = alike(finding, found[0], analysis, library) if found else None
        if more is not None:
            self.addSeparator()
            self.addAction(_shown(f"{more.label}: {found[0].label}")).triggered.connect(partial(take, more))
        if not found:
            self.addAction(NOTHING).setEnabled(False)


def _shown(words: str) -> str:
    """Names of records may hold the sign that marks a letter of a menu."""
    return words.replace("&", "&&")
