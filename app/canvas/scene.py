"""The scene: the sheet drawing as items, changed only where the drawing changed."""

from collections.abc import Iterable, Mapping

from PySide6.QtCore import QObject, QRectF
from PySide6.QtWidgets import QGraphicsScene

from app.canvas.emphasis import emphasis_marks
from app.canvas.extent import distance, meets
from app.canvas.items import OVERLAY_Z, PEN_PX, DrawnItem, GridItem, OverlayItem
from app.canvas.layers import Layers
from app.render.painter import Detail, Kit
from app.theme import Theme
from core.model import Point
from core.pages.marks import AnyMark, AreaMark
from core.pages.sheet import Drawn

#: What a click means where several things lie, the first wins.
PRIORITY: dict[str, int] = {
    "devices": 0,
    "device_names": 0,
    "findings": 1,
    "nodes": 1,
    "crossings": 2,
    "pills": 2,
    "bundles": 2,
    "channels": 2,
    "falls": 3,
    "dimensions": 3,
    "metal_edges": 4,
    "zones": 4,
    "openings": 4,
    "names": 5,
    "boxes": 5,
    "ribs": 5,
    "panels": 6,
    "folds": 6,
    "outlines": 7,
    "captions": 7,
    "pictures": 8,
    "ground": 9,
}
#: Layers of lettering and of wires that run to a device: no part of a thing's body.
NAMES = frozenset({"captions", "names", "device_names", "pills", "findings", "falls"})
#: Items have room for pens of a zoom this many times smaller, so that not every step of the zoom changes all of them.
PAD_ROOM = 2.0
#: Empty sheet around the drawing, so that there is room to draw and to pan.
ROOM_MM = 6_000.0


class SheetScene(QGraphicsScene):
    """Items by key of the drawing. `px_per_mm`, `theme` and `painter_detail` say how they paint."""

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.px_per_mm = 0.15
        #: Room for pens round every item; `set_zoom` keeps it large enough.
        self.pad_mm = PAD_ROOM * PEN_PX / self.px_per_mm
        self.painter_detail: Detail = "full"
        self.unit_mm = 1.0
        self.kit = Kit()
        self.items_by_key: dict[str, DrawnItem] = {}
        self._keys_of: dict[str, tuple[str, ...]] = {}
        #: Layer of the body of each record: its lettering is hidden and locked with it.
        self._body_of: dict[str, str] = {}
        self.layers = Layers()
        #: Records that are locked one by one: underlays.
        self.locked_records: frozenset[str] = frozenset()
        self.grid = GridItem(self)
        self.selection = OverlayItem(self, OVERLAY_Z)
        self.hover = OverlayItem(self, OVERLAY_Z + 1)
        self.tool = OverlayItem(self, OVERLAY_Z + 2)
        self.flash = OverlayItem(self, OVERLAY_Z + 3)
        for item in (self.grid, self.selection, self.hover, self.tool, self.flash):
            self.addItem(item)
        self._grounds: tuple[Drawn, ...] = ()
        self.content = QRectF()
        self.setSceneRect(QRectF(-ROOM_MM, -ROOM_MM, 2 * ROOM_MM, 2 * ROOM_MM))

    def set_zoom(self, px_per_mm: float) -> None:
        """Pixels of a millimetre from now on. Pens keep their pixels, so items need more room when it is smaller."""
        self.px_per_mm = px_per_mm
        self.kit = Kit()
        needed = PEN_PX / px_per_mm
        if needed <= self.pad_mm <= 4 * PAD_ROOM * needed:
            return
        for item in self.items_by_key.values():
            item.pad_changes()
        for overlay in (self.selection, self.hover, self.tool, self.flash):
            overlay.pad_changes()
        self.pad_mm = PAD_ROOM * needed

    def show_drawing(self, drawing: Mapping[str, Drawn]) -> int:
        """Make the items show this drawing; gives how many were made, changed or taken away."""
        gone = [key for key in self.items_by_key if key not in drawing]
        for key in gone:
            self.removeItem(self.items_by_key.pop(key))
        new = changed = 0
        ground_changed = bool(gone)
        for key, drawn in drawing.items():
            item = self.items_by_key.get(key)
            if item is None:
                item = DrawnItem(key, drawn, self)
                self.items_by_key[key] = item
                self.addItem(item)
                new += 1
            elif item.drawn is not drawn:
                item.show_drawn(drawn)
                changed += 1
            else:
                continue
            ground_changed = ground_changed or drawn.layer == "ground"
        if gone or new:
            self._index()
            self._apply_layers()
        if ground_changed:
            self._lay_ground()
        return len(gone) + new + changed

    def show_changed(self, changed: Mapping[str, Drawn | None]) -> None:
        """Make only these keys show something else; None takes one away. The ground stays as it is."""
        new = gone = False
        for key, drawn in changed.items():
            item = self.items_by_key.get(key)
            if drawn is None:
                if item is not None:
                    self.removeItem(self.items_by_key.pop(key))
                    gone = True
            elif item is None:
                item = self.items_by_key[key] = DrawnItem(key, drawn, self)
                self.addItem(item)
                new = True
            elif item.drawn is not drawn:
                item.show_drawn(drawn)
        if new or gone:
            self._index()
            self._apply_layers()

    def _index(self) -> None:
        keys: dict[str, list[str]] = {}
        for key, item in self.items_by_key.items():
            keys.setdefault(item.record, []).append(key)
        self._keys_of = {record: tuple(found) for record, found in keys.items()}
        # The key of a body is the record's own id; outlines of surfaces and crossings of channels have others.
        self._body_of = {
            item.record: item.drawn.layer
            for item in sorted(self.items_by_key.values(), key=lambda item: item.key == item.record)
            if item.drawn.layer not in NAMES
        }

    # --- layers ------------------------------------------------------------------------------------------------------

    def set_layers(self, layers: Layers) -> None:
        """What is shown and what is locked from now on."""
        self.layers = layers
        self._apply_layers()

    def _apply_layers(self) -> None:
        for item in self.items_by_key.values():
            shown = not self.layers.hidden or self.layers.shows(item.drawn.layer, self._body(item))
            if item.isVisible() != shown:
                item.setVisible(shown)
            item.setOpacity(self.layers.opacity(item.drawn.layer, self._body(item)))

    def _body(self, item: DrawnItem) -> str:
        return self._body_of.get(item.record, item.drawn.layer)

    def _picks(self, item: DrawnItem) -> bool:
        return item.record not in self.locked_records and self.layers.picks(item.drawn.layer, self._body(item))

    def _lay_ground(self) -> None:
        grounds = tuple(item.drawn for item in self.items_by_key.values() if item.drawn.layer == "ground")
        if grounds == self._grounds:
            return
        self._grounds = grounds
        self.grid.show_grounds(
            mark.outline_mm for drawn in grounds for mark in drawn.marks if isinstance(mark, AreaMark)
        )
        self.content = self.grid.boundingRect()
        wanted = self.content.adjusted(-ROOM_MM, -ROOM_MM, ROOM_MM, ROOM_MM)
        if not self.sceneRect().contains(wanted):
            # It only grows: a scene that shrinks makes the view jump.
            self.setSceneRect(self.sceneRect().united(wanted))

    def set_theme(self, theme: Theme) -> None:
        self.theme = theme
        self.kit = Kit()
        self.update()

    # --- what lies where ---------------------------------------------------------------------------------------------

    def records_at(self, p: Point, within_mm: float) -> tuple[str, ...]:
        """Records under a point, the most likely first."""
        area = QRectF(p[0] - within_mm, p[1] - within_mm, 2 * within_mm, 2 * within_mm)
        found: list[tuple[int, float, float, str]] = []
        for item in self.items(area):
            if not isinstance(item, DrawnItem) or item.drawn.layer not in PRIORITY or not self._picks(item):
                continue
            if not item.is_near(*p, within_mm):
                continue
            away = distance(item.drawn.marks, p)
            if away <= (0.0 if item.drawn.layer == "ground" else within_mm):
                found.append((PRIORITY[item.drawn.layer], away, -item.zValue(), item.record))
        found.sort(key=lambda each: each[:3])
        return tuple(dict.fromkeys(record for *_, record in found))

    def records_in(self, area: QRectF, touching: bool) -> tuple[str, ...]:
        """Records in a rubber band: those wholly inside, or also those it touches. Surfaces only when wholly inside."""
        chosen: dict[str, None] = {}
        edges = (area.left(), area.top(), area.right(), area.bottom())
        for item in self.items(area):
            if not isinstance(item, DrawnItem) or item.drawn.layer in NAMES or not self._picks(item):
                continue
            if item.drawn.layer in ("outlines", "folds", "route"):
                continue
            inside = area.contains(item.reach)
            if inside or (touching and item.drawn.layer != "ground" and meets(item.drawn.marks, edges)):
                chosen[item.record] = None
        return tuple(chosen)

    def extent_of(self, records: Iterable[str]) -> QRectF:
        """Smallest rectangle around the records, names not counted; empty where none is drawn."""
        found = QRectF()
        for record in records:
            for key in self._keys_of.get(record, ()):
                item = self.items_by_key[key]
                if item.drawn.layer not in NAMES:
                    found = found.united(item.reach)
        return found

    def marks_of(self, record: str) -> tuple[AnyMark, ...]:
        """The body of a record as drawn, without its names."""
        return tuple(
            mark
            for key in self._keys_of.get(record, ())
            if (item := self.items_by_key[key]).drawn.layer not in NAMES
            for mark in item.drawn.marks
        )

    # --- emphasis ----------------------------------------------------------------------------------------------------

    def show_selection(self, records: Iterable[str]) -> None:
        k = 1.0 / self.px_per_mm
        self.selection.show_marks(
            tuple(mark for record in records for mark in emphasis_marks(self.marks_of(record), "select", k))
        )

    def show_hover(self, record: str | None) -> None:
        k = 1.0 / self.px_per_mm
        marks = () if record is None else emphasis_marks(self.marks_of(record), "hover", k)
        self.hover.show_marks(tuple(marks))
