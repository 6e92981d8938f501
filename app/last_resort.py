"""What happens after a mistake of the program: the work is kept, the mistake is told with its text, and one goes on."""

import platform
import sys
import threading
import traceback
from collections.abc import Callable
from types import TracebackType

from PySide6.QtCore import QObject, Qt, Signal, qVersion
from PySide6.QtGui import QFontDatabase, QGuiApplication
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QPlainTextEdit, QVBoxLayout, QWidget

from app.log import log_error
from core import __version__

#: A mistake that comes back with every frame is counted, not told again.
MOST_TOLD = 20


class MistakeDialog(QDialog):
    """The text of a mistake, to be copied into a report."""

    def __init__(self, parent: QWidget, report: str) -> None:
        super().__init__(parent)
        self.setWindowTitle("Loomwright")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setMinimumSize(560, 380)
        head = QLabel("Loomwright made a mistake.", self)
        head.setObjectName("dialogHeadline")
        body = QLabel(
            "Your plan was kept aside as it was before, and you can go on. If something looks wrong, undo the last step"
            " or save under another name and start again. The text below helps to mend it; it may quote your plan.",
            self,
        )
        body.setWordWrap(True)
        self.text = QPlainTextEdit(report, self)
        self.text.setReadOnly(True)
        self.text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
        box = QDialogButtonBox(self)
        self.copy = box.addButton("Copy the text", QDialogButtonBox.ButtonRole.ActionRole)
        self.copy.clicked.connect(self._copy)
        self.go_on = box.addButton("Go on", QDialogButtonBox.ButtonRole.AcceptRole)
        self.go_on.clicked.connect(self.accept)
        self.go_on.setDefault(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(22, 20, 22, 16)
        layout.setSpacing(10)
        for part in (head, body, self.text, box):
            layout.addWidget(part)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.text.toPlainText())

    def add(self, report: str) -> None:
        self.text.appendPlainText(f"\n{report}")


class LastResort(QObject):
    """Takes every error that nobody caught, on any thread, from `install` to `remove`."""

    _elsewhere = Signal(str)

    def __init__(
        self, window: Callable[[], QWidget | None], save: Callable[[], object], parent: QObject | None = None
    ) -> None:
        """`window` gives the one to tell it over, None where there is none any more: then it is logged only."""
        super().__init__(parent)
        self._window = window
        self._save = save
        self._told: dict[str, int] = {}
        self._busy = False
        self.dialog: MistakeDialog | None = None
        self._hooks = (sys.excepthook, threading.excepthook)
        self._installed = False
        self._elsewhere.connect(self._tell, Qt.ConnectionType.QueuedConnection)

    def install(self) -> None:
        self._hooks = (sys.excepthook, threading.excepthook)
        sys.excepthook, threading.excepthook = self.caught, self._caught_on_thread
        self._installed = True

    def remove(self) -> None:
        if self._installed:
            sys.excepthook, threading.excepthook = self._hooks
            self._installed = False

    def caught(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """Keep the work, log, tell. Errors in here end in the log only."""
        if issubclass(kind, KeyboardInterrupt | SystemExit):
            sys.__excepthook__(kind, error, trace)
            return
        text = "".join(traceback.format_exception(kind, error, trace))
        place = "".join(traceback.format_tb(trace)[-1:]) + kind.__name__
        self._told[place] = self._told.get(place, 0) + 1
        if self._told[place] > 1 and (self._busy or self.dialog is not None):
            return
        log_error(kind, error, trace)
        if len(self._told) > MOST_TOLD:
            return
        if threading.current_thread() is threading.main_thread():
            self._tell(text)
        else:
            self._elsewhere.emit(text)

    def _caught_on_thread(self, args: threading.ExceptHookArgs) -> None:
        self.caught(args.exc_type, args.exc_value or args.exc_type(), args.exc_traceback)

    def _tell(self, text: str) -> None:
        if self._busy:
            return
        self._busy = True
        try:
            self._save()
            told = (
                f"Loomwright {__version__}, Python {platform.python_version()}, Qt {qVersion()}, {platform.platform()}"
            )
            if self.dialog is not None:
                self.dialog.add(text)
            elif (window := self._window()) is not None:
                self.dialog = MistakeDialog(window, f"{told}\n\n{text}")
                self.dialog.finished.connect(self._closed)
                self.dialog.open()
        except Exception as error:  # noqa: BLE001 - there is nobody behind the last resort
            log_error(type(error), error, error.__traceback__)
        finally:
            self._busy = False

    def _closed(self) -> None:
        self.dialog = None
        self._told.clear()
