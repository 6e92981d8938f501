"""The strip of the guided first plan: which step comes next, and a button that shows where."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.first_plan import STEPS, first_open
from app.session import Session


class GuideStrip(QFrame):
    """Hidden until it is started. It follows the plan: a step that is done, however it was done, leads to the next."""

    #: The number of the step to be shown on the window.
    asked = Signal(int)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("guideStrip")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAccessibleName("First plan, step by step")
        self._session = session
        self.step = 0
        self._open = 0
        self.head = QLabel(self)
        self.head.setObjectName("guideHead")
        self.told = QLabel(self)
        self.told.setObjectName("factsWords")
        self.told.setWordWrap(True)
        self.told.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.before = QPushButton("Back", self)
        self.next = QPushButton("Skip", self)
        self.show_me = QPushButton("Show me", self)
        self.leave = QPushButton("Leave", self)
        self.leave.setToolTip("Close the guide; Help > First plan opens it again where you are")
        words = QVBoxLayout()
        words.setSpacing(1)
        words.addWidget(self.head)
        words.addWidget(self.told)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(14, 7, 12, 8)
        layout.setSpacing(8)
        layout.addLayout(words, 1)
        for button in (self.show_me, self.before, self.next, self.leave):
            layout.addWidget(button, 0, Qt.AlignmentFlag.AlignVCenter)
        self.show_me.clicked.connect(self._show_me)
        self.before.clicked.connect(self._back)
        self.next.clicked.connect(self._skip)
        self.leave.clicked.connect(self.hide)
        session.analysis_changed.connect(self._follow)
        session.plan_changed.connect(self._follow)
        self.hide()

    def start(self) -> None:
        self._open = first_open(self._session.plan, self._errors())
        self.step = min(self._open, len(STEPS) - 1)
        self._tell()
        self.show()

    def _errors(self) -> int:
        plan = self._session.plan
        # Without circuits there is nothing to be right or wrong about, and no analysis to wait for.
        if not plan.circuits:
            return 0
        findings = self._session.analysis.findings
        return sum(finding.severity == "error" and not finding.waived for finding in findings)

    def _follow(self, *_: object) -> None:
        if self.isHidden() or self._session.previewing:
            return
        was, self._open = self._open, first_open(self._session.plan, self._errors())
        if self._open != was:
            self.step = min(self._open, len(STEPS) - 1)
        self._tell()

    def _tell(self) -> None:
        step = STEPS[self.step]
        done = step.is_done(self._session.plan, self._errors())
        if self._open == len(STEPS):
            self.head.setText("The first plan is done")
            self.told.setText("Print the cut list from Papers. Everything you drew can still be changed.")
        else:
            ticked = "  ✓ done" if done else ""
            self.head.setText(f"Step {self.step + 1} of {len(STEPS)}: {step.words}{ticked}")
            self.told.setText(step.told)
        self.next.setText("Next" if done else "Skip")
        self.before.setEnabled(self.step > 0)
        self.next.setEnabled(self.step < len(STEPS) - 1)
        self.setAccessibleDescription(f"{self.head.text()}. {self.told.text()}")

    def _show_me(self) -> None:
        self.asked.emit(self.step)

    def _back(self) -> None:
        self._go(self.step - 1)

    def _skip(self) -> None:
        self._go(self.step + 1)

    def _go(self, to: int) -> None:
        self.step = max(0, min(len(STEPS) - 1, to))
        self._tell()
        self.asked.emit(self.step)
