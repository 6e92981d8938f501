"""Devices at hand: the library, searched by what people say (UK and US words)."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from core.files.library import DeviceTemplate, Library
from core.units import show


class ShelfList(QListWidget):
    asked = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.asked.emit()
            return
        super().keyPressEvent(event)


class ShelfPanel(QWidget):
    """A click, or Return, takes a device in hand; the next click on the sheet places it."""

    taken = Signal(object)

    def __init__(self, library: Library, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("shelfPane")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._templates = sorted(library.devices, key=lambda device: device.name.casefold())
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("Find a device: light, pump, fuse block…")
        self.search.setClearButtonEnabled(True)
        self.search.setAccessibleName("Find a device")
        self.list = ShelfList(self)
        self.list.setAccessibleName("Devices at hand")
        self.list.setUniformItemSizes(True)
        self._advice = QLabel(self)
        self._advice.setObjectName("shelfAdvice")
        self._advice.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 8)
        layout.setSpacing(6)
        layout.addWidget(self.search)
        layout.addWidget(self.list, 1)
        layout.addWidget(self._advice)
        self.setFocusProxy(self.search)
        self.search.textChanged.connect(self._fill)
        self.search.returnPressed.connect(self._take_first)
        self.list.itemClicked.connect(self._clicked)
        self.list.asked.connect(self._take_current)
        self.list.currentItemChanged.connect(self._tell)
        self._fill("")

    def _fill(self, text: str) -> None:
        self.list.clear()
        for template in found(self._templates, text):
            item = QListWidgetItem(f"{template.name}  ·  {rating(template)}")
            item.setData(Qt.ItemDataRole.UserRole, template.id)
            item.setToolTip(", ".join(template.words))
            self.list.addItem(item)
        self._advice.setText("" if self.list.count() else "No device is called so. Try another word.")

    def template(self, item: QListWidgetItem) -> DeviceTemplate:
        wanted = item.data(Qt.ItemDataRole.UserRole)
        return next(template for template in self._templates if template.id == wanted)

    def _clicked(self, item: QListWidgetItem) -> None:
        self.taken.emit(self.template(item))

    def _take_first(self) -> None:
        if self.list.count():
            self.list.setCurrentRow(0)
            self.taken.emit(self.template(self.list.item(0)))

    def _take_current(self) -> None:
        if (item := self.list.currentItem()) is not None:
            self.taken.emit(self.template(item))

    def _tell(self, item: QListWidgetItem | None, _before: object) -> None:
        self._advice.setText(self.template(item).advice if item is not None else "")


def found(templates: list[DeviceTemplate], text: str) -> list[DeviceTemplate]:
    """Those whose name or words hold every word of the text; those whose name starts with it first."""
    wanted = text.casefold().split()
    if not wanted:
        return templates
    hits = [
        template
        for template in templates
        if all(word in " ".join((template.name, *template.words, template.kind)).casefold() for word in wanted)
    ]
    return sorted(hits, key=lambda template: not template.name.casefold().startswith(wanted[0]))


def rating(template: DeviceTemplate) -> str:
    """What it draws, or how many ways it has, in a few characters."""
    electrical = template.electrical
    if template.ways:
        return f"{len(template.ways)} ways"
    if electrical.power_w is not None:
        return show(electrical.power_w, "W", 0)
    if electrical.current_a is not None:
        return show(electrical.current_a, "A")
    if electrical.rating_a is not None:
        return show(electrical.rating_a, "A", 0)
    return template.kind.replace("_", " ")
