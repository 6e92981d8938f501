"""Waive a finding: a reason has to be typed, it is printed in the owner's book."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QLineEdit, QPlainTextEdit, QVBoxLayout, QWidget

from core.analysis.results import Finding


class WaiveDialog(QDialog):
    def __init__(
        self,
        parent: QWidget,
        finding: Finding,
        waived: Callable[[Finding, str, str], str],
        *,
        names_who: bool = False,
    ) -> None:
        """`waived` gets the reason and who decides it, and gives why it cannot be, or "".

        `names_who`: the plan is for a customer, so somebody has to stand for it by name.
        """
        super().__init__(parent)
        self._finding, self._waived = finding, waived
        self.setWindowTitle("Waive finding")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(460)
        told = QLabel(finding.message, self)
        told.setObjectName("dialogHeadline")
        told.setWordWrap(True)
        ask = QLabel("Why may it stay so? The reason is printed in the owner's book.", self)
        ask.setWordWrap(True)
        self.reason = QPlainTextEdit(self)
        self.reason.setTabChangesFocus(True)
        self.reason.setFixedHeight(90)
        self.reason.setAccessibleName("Reason")
        self.by = QLineEdit(self)
        self.by.setPlaceholderText("Who decides it")
        self.by.setAccessibleName("Who decides it")
        self.by.setVisible(names_who)
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setWordWrap(True)
        self.problem.hide()
        box = QDialogButtonBox(self)
        self.accept_button = box.addButton("Waive", QDialogButtonBox.ButtonRole.AcceptRole)
        keep = box.addButton("Keep the finding", QDialogButtonBox.ButtonRole.RejectRole)
        self.accept_button.clicked.connect(self._accept)
        keep.clicked.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 18, 22, 16)
        layout.setSpacing(10)
        for widget in (told, ask, self.reason, self.by, self.problem, box):
            layout.addWidget(widget)

    def _accept(self) -> None:
        reason = self.reason.toPlainText().strip()
        told = "A reason is needed." if not reason else self._waived(self._finding, reason, self.by.text().strip())
        self.problem.setText(told)
        self.problem.setVisible(bool(told))
        if not told:
            self.accept()
