"""Keep a device of the plan as a device of one's own: its name, what it is called else, a word of advice."""

from collections.abc import Callable

from PySide6.QtWidgets import QFormLayout, QLineEdit, QPlainTextEdit, QWidget

from app.dialogs.work import WorkDialog
from core.files.library import DeviceTemplate
from core.model import Device


class OwnDeviceDialog(WorkDialog):
    """`keep` gives why it cannot be kept, or ""."""

    def __init__(
        self, parent: QWidget, device: Device, made_from: DeviceTemplate | None,
        keep: Callable[[str, tuple[str, ...], str], str],
    ) -> None:  # fmt: skip
        super().__init__(
            parent, "Keep as a device of my own", f"Keep “{device.name}” as a device of my own",
            "Its size, electrical data, terminals and ways are kept as they are now, for every plan.", 480,
        )  # fmt: skip
        self._keep = keep
        self.name = QLineEdit(device.name, self)
        self.name.selectAll()
        self.words = QLineEdit(", ".join(made_from.words) if made_from is not None else "", self)
        self.words.setPlaceholderText("other names to find it by, with commas")
        self.advice = QPlainTextEdit(made_from.advice if made_from is not None else "", self)
        self.advice.setTabChangesFocus(True)
        self.advice.setFixedHeight(74)
        self.advice.setAccessibleName("Advice")
        form = QFormLayout()
        form.setHorizontalSpacing(14)
        form.setVerticalSpacing(8)
        form.addRow("Name", self.name)
        form.addRow("Also called", self.words)
        form.addRow("Advice", self.advice)
        self.row(form)
        self.keep_button = self.button("Keep it", self._accept, default=True)
        self.way_out()

    def _accept(self) -> None:
        words = tuple(word.strip() for word in self.words.text().split(",") if word.strip())
        told = self._keep(self.name.text(), words, self.advice.toPlainText())
        self.say(told)
        if not told:
            self.accept()
