"""Rings that close in on a place a few times, so that the eye finds it: where a line goes on beyond a seam."""

from PySide6.QtCore import QObject, QTimer

from app.canvas.items import OverlayItem
from core.model import Point
from core.pages.marks import CircleMark

FRAME_MS = 40
#: Frames of one ring, and how many rings there are.
FRAMES, RINGS = 12, 3
WIDEST_PX, NARROWEST_PX = 44.0, 7.0


class Flash(QObject):
    """Blinks on an overlay; the same places said again blink no second time."""

    def __init__(self, overlay: OverlayItem, parent: QObject) -> None:
        super().__init__(parent)
        self._overlay = overlay
        self._places: tuple[Point, ...] = ()
        self._frame = 0
        self._mm_per_px = 1.0
        self._timer = QTimer(self)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self._step)

    @property
    def is_running(self) -> bool:
        return self._timer.isActive()

    def show(self, places: tuple[Point, ...], mm_per_px: float) -> None:
        """Blink at these places of the sheet; none stops it."""
        near = 3.0 * mm_per_px
        same = len(places) == len(self._places) and all(
            abs(a[0] - b[0]) <= near and abs(a[1] - b[1]) <= near for a, b in zip(places, self._places, strict=True)
        )
        moved, self._places = self._places != places, places
        self._mm_per_px = mm_per_px
        if not places:
            self._stop()
        elif not same:
            self._frame = 0
            self._timer.start()
            self._paint()
        elif moved and self.is_running:
            self._paint()

    def _step(self) -> None:
        self._frame += 1
        if self._frame >= FRAMES * RINGS:
            self._stop()
        else:
            self._paint()

    def _stop(self) -> None:
        self._timer.stop()
        self._overlay.show_marks(())

    def _paint(self) -> None:
        share = self._frame % FRAMES / (FRAMES - 1)
        radius = (WIDEST_PX + (NARROWEST_PX - WIDEST_PX) * share) * self._mm_per_px
        self._overlay.show_marks(
            tuple(CircleMark(style="snap", centre_mm=place, radius_mm=radius) for place in self._places)
        )
