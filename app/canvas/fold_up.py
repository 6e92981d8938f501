"""The vehicle folded up, to be turned by mouse and keys; what is selected is the same as on the sheet."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QEasingCurve, QPointF, QSize, Qt, QVariantAnimation, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas.emphasis import emphasis_marks
from app.canvas.extent import distance
from app.render.painter import paint
from app.session import Session
from app.theme import Theme
from core.model import Point, records
from core.pages.fold_up import MOST_RISE_DEG, View, fold_up
from core.pages.marks import AnyMark, AreaMark
from core.pages.transform import bounds

#: Pixels of one millimetre of the picture: its lettering is then as large as that of the window.
PX_PER_MM = 4.0
#: Degrees for a pixel of the mouse, and for a press of an arrow key.
DEG_PER_PX = 0.4
STEP_DEG, FINE_DEG = 10.0, 1.0
ZOOM = (0.4, 6.0)
ZOOM_STEP = 1.15
PICK_PX = 6.0
#: A press that moved less than this was a click.
CLICK_PX = 4.0
FIRST = View(turn_deg=28.0, rise_deg=30.0, zoom=1.0)
#: Names of the ways to look at it, with turn and rise.
SIDES: dict[str, tuple[float, float]] = {
    "Overview": (FIRST.turn_deg, FIRST.rise_deg),
    "From vehicle left": (0.0, 8.0),
    "From behind": (90.0, 8.0),
    "From vehicle right": (180.0, 8.0),
    "From the front": (270.0, 8.0),
    "From above": (0.0, MOST_RISE_DEG),
}
FOLDING_MS = 1_600
#: How much of the window a view from one of the sides fills.
FILLED = 0.93


class FoldUpView(QWidget):
    """A view on the session; holds nothing but where the eye is."""

    #: The share of the folds that is made, while it plays or was set.
    folded_changed = Signal(float)

    def __init__(self, session: Session, theme: Callable[[], Theme], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._theme = session, theme
        self.seen = FIRST
        self._marks: tuple[AnyMark, ...] = ()
        self._drawn: tuple[object, View, QSize] | None = None
        #: Until somebody zooms, the vehicle is as large as the window.
        self._fitted = True
        self._pressed: QPointF | None = None
        self._last = QPointF()
        self._fold = QVariantAnimation(self)
        self._fold.setDuration(FOLDING_MS)
        self._fold.setEasingCurve(QEasingCurve.Type.InOutCubic)
        self._fold.setStartValue(0.0)
        self._fold.setEndValue(1.0)
        self._fold.valueChanged.connect(self._folding)
        self.setObjectName("foldUp")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(QSize(360, 260))
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        self.setAccessibleName("The vehicle folded up")
        session.analysis_changed.connect(self._changed)
        session.plan_changed.connect(self._changed)
        session.selection_changed.connect(self._changed)
        self._tell()

    # --- the eye -----------------------------------------------------------------------------------------------------

    def look(self, seen: View) -> None:
        """Look from elsewhere, within what can be looked from."""
        rise = min(max(seen.rise_deg, -MOST_RISE_DEG), MOST_RISE_DEG)
        zoom = min(max(seen.zoom or 1.0, ZOOM[0]), ZOOM[1])
        self.seen = replace(seen, turn_deg=seen.turn_deg % 360.0, rise_deg=rise, zoom=zoom)
        self._tell()
        self.update()

    def look_from(self, side: str) -> None:
        """One of `SIDES`."""
        turn, rise = SIDES[side]
        self.look(replace(self.seen, turn_deg=turn, rise_deg=rise))
        self.fit()

    def fit(self) -> None:
        """As near as the whole vehicle can be seen from here; of the overview, also when it is turned round."""
        here = self.seen
        is_overview = (here.turn_deg, here.rise_deg) == SIDES["Overview"]
        turns = [here.turn_deg + step for step in range(0, 360, 45)] if is_overview else [here.turn_deg]
        self.look(replace(here, zoom=min(self._fitting(replace(here, turn_deg=turn)) for turn in turns)))
        self._fitted = True

    def _fitting(self, seen: View) -> float:
        wide, high = self.width() / PX_PER_MM, self.height() / PX_PER_MM
        box = bounds(fold_up(self._session.analysis, replace(seen, zoom=1.0, names=False), wide, high))
        if box is None:
            return 1.0
        # The eye keeps the middle of the vehicle in the middle, so the farther side decides.
        across, up = (max(half - low, top - half) for half, low, top in (
            (wide / 2, box.left, box.right), (high / 2, box.bottom, box.top)
        ))  # fmt: skip
        return FILLED * min(wide / 2 / max(across, 1.0), high / 2 / max(up, 1.0))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._fitted:
            self.fit()

    def show_folded(self, share: float) -> None:
        """0 the flat sheet, 1 the whole vehicle."""
        if share != self.seen.folded:
            self.look(replace(self.seen, folded=share))
            self.folded_changed.emit(share)

    def play(self) -> None:
        """Fold the sheet up before one's eyes."""
        self._fold.stop()
        self._fold.start()

    def _folding(self, share: object) -> None:
        if isinstance(share, float):
            self.show_folded(share)

    def _turn(self, by_deg: float, up_deg: float = 0.0) -> None:
        self.look(replace(self.seen, turn_deg=self.seen.turn_deg + by_deg, rise_deg=self.seen.rise_deg + up_deg))

    def _zoom(self, factor: float) -> None:
        self._fitted = False
        self.look(replace(self.seen, zoom=(self.seen.zoom or 1.0) * factor))

    # --- what is seen ------------------------------------------------------------------------------------------------

    def _changed(self, *_: object) -> None:
        self._tell()
        self.update()

    def _tell(self) -> None:
        chosen = self._session.selection
        name = next(
            (str(getattr(r, "name", "") or r.id) for _, r in records(self._session.shown) if r.id in chosen), ""
        )
        told = f"{name} and {len(chosen) - 1} more selected" if len(chosen) > 1 else f"{name or 'Nothing'} selected"
        turn, rise = round(self.seen.turn_deg), round(self.seen.rise_deg)
        self.setAccessibleDescription(f"Turned by {turn}°, seen from {rise}° above. {told}.")

    def marks(self) -> tuple[AnyMark, ...]:
        """The picture in millimetres of `PX_PER_MM` pixels, from the lower left, without what is selected."""
        analysis = self._session.analysis
        key = (analysis, self.seen, self.size())
        if self._drawn is None or self._drawn[0] is not analysis or self._drawn[1:] != key[1:]:
            wide, high = self.width() / PX_PER_MM, self.height() / PX_PER_MM
            self._marks, self._drawn = fold_up(analysis, self.seen, wide, high), key
        return self._marks

    def paintEvent(self, _event: QPaintEvent) -> None:
        theme = self._theme()
        marks = self.marks()
        chosen = set(self._session.selection)
        chosen |= {
            step.channel
            for each in self._session.selection
            if (route := self._session.analysis.routes.get(each)) is not None
            for step in route.steps
        }
        lit = emphasis_marks([mark for mark in marks if mark.subject in chosen], "select", 1.0 / PX_PER_MM)
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), theme.colour("desk"))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.translate(0, self.height())
            painter.scale(PX_PER_MM, -PX_PER_MM)
            paint(painter, (*marks, *lit), theme, px_per_mm=PX_PER_MM)

    def record_at(self, pixel: QPointF) -> str:
        """What is seen at a pixel: the nearest that is drawn over the others, things before walls; "" for nothing."""
        at: Point = (pixel.x() / PX_PER_MM, (self.height() - pixel.y()) / PX_PER_MM)
        surfaces = {surface.id for surface in self._session.shown.surfaces}
        ground = ""
        for mark in reversed(self.marks()):
            if not mark.subject or mark.style.startswith("text"):
                continue
            away = distance((mark,), at)
            if mark.subject not in surfaces:
                if away <= PICK_PX / PX_PER_MM:
                    return mark.subject
            elif not ground and away == 0.0 and isinstance(mark, AreaMark):
                if mark.style.startswith("box"):
                    return mark.subject
                ground = mark.subject
        return ground

    # --- mouse and keys ----------------------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed = self._last = event.position()
        self._fold.stop()
        self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if event.buttons():
            moved = event.position() - self._last
            self._last = event.position()
            # As if the vehicle was held by hand: it goes where the hand goes.
            self._turn(-moved.x() * DEG_PER_PX, moved.y() * DEG_PER_PX)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        if self._pressed is None:
            return
        away = event.position() - self._pressed
        self._pressed = None
        if abs(away.x()) + abs(away.y()) < CLICK_PX and event.button() == Qt.MouseButton.LeftButton:
            found = self.record_at(event.position())
            held = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            before = self._session.selection if held else ()
            self._session.select((*before, found) if found else before)

    def wheelEvent(self, event: QWheelEvent) -> None:
        self._zoom(ZOOM_STEP ** (event.angleDelta().y() / 120.0))
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = FINE_DEG if event.modifiers() & Qt.KeyboardModifier.ControlModifier else STEP_DEG
        match event.key():
            case Qt.Key.Key_Left:
                self._turn(step)
            case Qt.Key.Key_Right:
                self._turn(-step)
            case Qt.Key.Key_Up:
                self._turn(0.0, step)
            case Qt.Key.Key_Down:
                self._turn(0.0, -step)
            case Qt.Key.Key_Plus | Qt.Key.Key_Equal:
                self._zoom(ZOOM_STEP)
            case Qt.Key.Key_Minus:
                self._zoom(1 / ZOOM_STEP)
            case Qt.Key.Key_Home:
                self.look_from("Overview")
            case _:
                super().keyPressEvent(event)
