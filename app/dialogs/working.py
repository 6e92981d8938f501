"""Work that takes a while: what is being done, how far it is, and a button that stops it."""

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QProgressBar, QVBoxLayout, QWidget

#: Work that is done sooner opens no dialog.
SOON_MS = 400


class Progress(QObject):
    """Carries progress from the thread that works to the window, and the wish to stop the other way.

    `tell` is called by the work; it answers whether to stop.
    """

    told = Signal(str, int, int)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._stopped = False

    def stop(self) -> None:
        self._stopped = True

    def tell(self, what: str, done: int, steps: int) -> bool:
        self.told.emit(what, done, steps)
        return self._stopped


class WorkingDialog(QDialog):
    """Shown while something is made; closed by who started it. Escape stops the work too."""

    def __init__(self, parent: QWidget, title: str, headline: str) -> None:
        super().__init__(parent)
        self.progress = Progress(self)
        self.progress.told.connect(self._tell, Qt.ConnectionType.QueuedConnection)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumWidth(420)
        head = QLabel(headline, self)
        head.setObjectName("dialogHeadline")
        head.setWordWrap(True)
        self.step = QLabel(self)
        self.step.setAccessibleName("What is being made")
        self.bar = QProgressBar(self)
        self.bar.setAccessibleName("How far it is")
        self.bar.setTextVisible(False)
        self.bar.setRange(0, 0)
        box = QDialogButtonBox(self)
        self.stop_button = box.addButton("Stop", QDialogButtonBox.ButtonRole.RejectRole)
        self.stop_button.clicked.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 18, 22, 16)
        layout.setSpacing(10)
        for widget in (head, self.step, self.bar, box):
            layout.addWidget(widget)
        self._over = False

    def _tell(self, what: str, done: int, steps: int) -> None:
        self.step.setText(what)
        self.bar.setRange(0, steps)
        self.bar.setValue(done)

    def reject(self) -> None:
        """Ask the work to stop; the dialog stays until it has."""
        if self._over:
            super().reject()
            return
        self.progress.stop()
        self.stop_button.setEnabled(False)
        self.step.setText("Stopping…")

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._over:
            self.reject()
            event.ignore()
            return
        super().closeEvent(event)

    def open_soon(self) -> None:
        """Open where the work takes longer than a blink."""
        QTimer.singleShot(SOON_MS, self, self._open_unless_over)

    def _open_unless_over(self) -> None:
        if not self._over:
            self.open()

    def over(self) -> None:
        """The work has ended."""
        self._over = True
        if self.isVisible():
            self.accept()
        else:
            self.deleteLater()
