"""What can be seen on the sheet, for the tool that selects."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF

from app.canvas.emphasis import emphasis_marks
from app.canvas.extent import all_within
from core.model import Point
from core.pages.marks import AnyMark

if TYPE_CHECKING:
    from app.canvas.paper_view import PaperView


class CanvasSight:
    """Answers for one view."""

    def __init__(self, view: "PaperView") -> None:
        self._view = view

    def glow(self, record: str) -> tuple[AnyMark, ...]:
        return emphasis_marks(self._view.sheet_scene.marks_of(record), "hover", 1.0 / self._view.px_per_mm)

    def within(self, a: Point, b: Point, touching: bool) -> tuple[str, ...]:
        area = QRectF(min(a[0], b[0]), min(a[1], b[1]), abs(a[0] - b[0]), abs(a[1] - b[1]))
        return self._view.sheet_scene.records_in(area, touching)

    def inside(self, outline: tuple[Point, ...]) -> tuple[str, ...]:
        """What lies wholly inside an outline; surfaces only when all of them does."""
        xs, ys = [p[0] for p in outline], [p[1] for p in outline]
        scene = self._view.sheet_scene
        near = scene.records_in(QRectF(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)), False)
        return tuple(each for each in near if all_within(scene.marks_of(each), outline))

    def middle_of(self, record: str) -> Point | None:
        """The middle of what is drawn of a record; None where nothing is."""
        area = self._view.sheet_scene.extent_of((record,))
        return None if area.isEmpty() else (area.center().x(), area.center().y())
