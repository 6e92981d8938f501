"""Devices at hand: the library, searched by what people say (UK and US words), taken by a click or dragged out."""

from collections.abc import Callable

from PySide6.QtCore import QPoint, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QDrag, QKeyEvent, QPainter, QPen, QPixmap
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.panels.dropping import carried
from app.panels.fields import DEVICE_KINDS, SYSTEMS
from core.files.library import DeviceTemplate, Library
from core.files.own_devices import PREFIX
from core.files.search import search
from core.units import show

#: A dragged footprint is shown no larger and no smaller than this, in pixels.
LARGEST_PX, SMALLEST_PX = 900, 8


class ShelfList(QListWidget):
    """Return asks for what is current; a drag carries it to the sheet, its footprint at the scale of the sheet."""

    asked = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setDragEnabled(True)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragOnly)
        self.px_per_mm: Callable[[], float] = lambda: 0.1
        self.template_of: Callable[[QListWidgetItem], DeviceTemplate] | None = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.asked.emit()
            return
        super().keyPressEvent(event)

    def startDrag(self, _actions: Qt.DropAction) -> None:
        item = self.currentItem()
        if self.template_of is None or not self.selectedItems():
            return
        template = self.template_of(item)
        drag = QDrag(self)
        drag.setMimeData(carried(template.id))
        pixmap = self.footprint(template)
        drag.setPixmap(pixmap)
        ratio = pixmap.devicePixelRatio()
        drag.setHotSpot(QPoint(int(pixmap.width() / ratio / 2), int(pixmap.height() / ratio / 2)))
        drag.exec(Qt.DropAction.CopyAction)

    def footprint(self, template: DeviceTemplate) -> QPixmap:
        """The footprint as large as it will be on the sheet."""
        scale, ratio = self.px_per_mm(), self.devicePixelRatioF()
        wide, high = (
            max(min(size * scale, LARGEST_PX), SMALLEST_PX) for size in (template.width_mm, template.height_mm)
        )
        pixmap = QPixmap(int((wide + 2) * ratio), int((high + 2) * ratio))
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(Qt.GlobalColor.transparent)
        with QPainter(pixmap) as painter:
            accent = self.palette().highlight().color()
            faint = QColor(accent)
            faint.setAlpha(60)
            painter.setPen(QPen(accent, 1.4, Qt.PenStyle.DashLine))
            painter.setBrush(faint)
            painter.drawRect(QRectF(1, 1, wide - 0.5, high - 0.5))
        return pixmap


class ShelfPanel(QWidget):
    """A click, or Return, takes a device in hand; the next click on the sheet places it. A drag does both."""

    taken = Signal(object)
    #: A device of one's own is to be taken off the shelf.
    forget_asked = Signal(object)

    def __init__(self, library: Library, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("shelfPane")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._templates: list[DeviceTemplate] = []
        self._kinds_of_wire: dict[str, str] = {}
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("Find a device: light, pump, fuse block…")
        self.search.setClearButtonEnabled(True)
        self.search.setAccessibleName("Find a device")
        self.kind = Choice(self)
        self.kind.setAccessibleName("Kind of device")
        self.list = ShelfList(self)
        self.list.setAccessibleName("Devices at hand")
        self.list.setUniformItemSizes(True)
        self.list.template_of = self.template
        self._facts = QLabel(self)
        self._facts.setObjectName("costWhy")
        self._facts.setWordWrap(True)
        self._facts.setTextFormat(Qt.TextFormat.PlainText)
        self._advice = QLabel(self)
        self._advice.setObjectName("shelfAdvice")
        self._advice.setWordWrap(True)
        self.forget = QPushButton("Take off the shelf", self)
        self.forget.setToolTip("Only a device of your own; those in plans stay")
        self.forget.clicked.connect(self._forget)
        row = QHBoxLayout()
        row.addWidget(self.forget)
        row.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 8)
        layout.setSpacing(6)
        layout.addWidget(self.search)
        layout.addWidget(self.kind)
        layout.addWidget(self.list, 1)
        layout.addWidget(self._facts)
        layout.addWidget(self._advice)
        layout.addLayout(row)
        self.setFocusProxy(self.search)
        self.search.textChanged.connect(self._fill)
        self.search.returnPressed.connect(self._take_first)
        self.kind.activated.connect(self._fill)
        self.list.itemClicked.connect(self._clicked)
        self.list.asked.connect(self._take_current)
        self.list.currentItemChanged.connect(self._tell)
        self.show_library(library)

    @property
    def facts_text(self) -> str:
        return self._facts.text()

    def show_library(self, library: Library) -> None:
        """The devices of a library; what is searched for stays."""
        self._templates = list(library.devices)
        self._kinds_of_wire = {kind.id: kind.name for kind in library.wire_kinds}
        there = {template.kind for template in self._templates}
        chosen = self.kind.currentData()
        self.kind.clear()
        self.kind.addItem("all kinds", "")
        if any(template.id.startswith(PREFIX) for template in self._templates):
            self.kind.addItem("of your own", PREFIX)
        for kind, words in DEVICE_KINDS:
            if kind in there:
                self.kind.addItem(words, kind)
        self.kind.setCurrentIndex(max(self.kind.findData(chosen), 0))
        self._fill()

    def _fill(self) -> None:
        self.list.clear()
        kind = self.kind.currentData()
        rows = [
            t for t in self._templates if not kind or t.kind == kind or (kind == PREFIX and t.id.startswith(PREFIX))
        ]
        found = search(rows, self.search.text())
        # By name to look through; as the catalogue has them, the usual ones first, among what a word finds.
        for template in found if self.search.text().strip() else sorted(rows, key=lambda row: row.name.casefold()):
            own = "  ·  yours" if template.id.startswith(PREFIX) else ""
            item = QListWidgetItem(f"{template.name}  ·  {rating(template)}{own}")
            item.setData(Qt.ItemDataRole.UserRole, template.id)
            item.setToolTip(", ".join(template.words))
            self.list.addItem(item)
        self._tell(None, None)
        if not self.list.count():
            self._advice.setText("No device is called so. Try another word.")

    def template(self, item: QListWidgetItem) -> DeviceTemplate:
        wanted = item.data(Qt.ItemDataRole.UserRole)
        return next(template for template in self._templates if template.id == wanted)

    def by_id(self, template_id: str) -> DeviceTemplate | None:
        return next((template for template in self._templates if template.id == template_id), None)

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
        template = self.template(item) if item is not None else None
        self._facts.setText(facts(template, self._kinds_of_wire) if template is not None else "")
        self._facts.setVisible(template is not None)
        self._advice.setText(template.advice if template is not None else "")
        self.forget.setVisible(template is not None and template.id.startswith(PREFIX))

    def _forget(self) -> None:
        if (item := self.list.currentItem()) is not None:
            self.forget_asked.emit(self.template(item))


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


def facts(template: DeviceTemplate, kinds_of_wire: dict[str, str]) -> str:
    """Its data in lines: what it is fed with, footprint, depth, room, heat, ends, terminals, wire."""
    data = template.electrical
    mark = " (typical: read the label of yours)" if data.typical else ""
    lines = [f"{dict(SYSTEMS)[data.system]}, {_draws(template)}{mark}"]
    if data.lowest_v is not None:
        lines.append(f"Works down to {show(data.lowest_v, 'V')}")
    lines.append(
        f"Footprint {template.width_mm:g} × {template.height_mm:g} mm, {template.depth_mm:g} mm deep behind the panel"
    )
    room = [f"{template.clearance_mm:g} mm clear around it"] if template.clearance_mm else []
    room += [f"{show(data.heat_w, 'W', 0 if data.heat_w >= 5 else 1)} of heat"] if data.heat_w else []
    if room:
        lines.append(", ".join(room))
    end = f"{template.end_allowance_mm:g} mm" if template.end_allowance_mm is not None else "as the plan assumes"
    lines.append(f"End allowance {end}")
    terminals = dict.fromkeys(port.terminal for port in template.ports if port.terminal)
    if terminals:
        lines.append(f"Ends in: {', '.join(terminals)}")
    wires = [kinds_of_wire[kind] for kind in template.wire_kinds if kind in kinds_of_wire]
    if wires:
        lines.append(f"Wire: {'; '.join(wires)}")
    return "\n".join(lines)


def _draws(template: DeviceTemplate) -> str:
    data = template.electrical
    parts = []
    if data.power_w is not None:
        parts.append(show(data.power_w, "W", 0))
    if data.current_a is not None:
        parts.append(show(data.current_a, "A"))
    if data.peak_a is not None:
        parts.append(f"peak {show(data.peak_a, 'A')}")
    if data.rating_a is not None:
        parts.append(f"rated {show(data.rating_a, 'A', 0)}")
    if template.ways:
        parts.append(f"{len(template.ways)} ways up to {show(max(w.largest_a for w in template.ways), 'A', 0)}")
    return ", ".join(parts) or "draws next to nothing"
