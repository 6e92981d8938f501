"""What a frame on the sheet costs with more than 10,000 objects: `python3 -m tests.bench.bench_canvas [van|coach]`.

Panning, zooming, dragging a device and pointing, by real events on a view of 1,400 x 900 pixels that nobody sees. Times
are processor milliseconds from the event to the painted frame, the median and the worst of some frames; the aim is
16 ms, 60 frames a second. The yardstick in the same run is what a frame costs that paints the whole sheet anew.
"""

import json
import os
import sys
import time
from collections.abc import Callable
from statistics import median
from typing import Any, cast

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QWidget

from app.canvas.items import DrawnItem
from app.canvas.sight import CanvasSight
from app.canvas.view import SheetView
from app.session import Session
from app.settings import Settings
from app.theme import Theme, load_fonts
from app.tools.desk import Desk
from app.tools.select import SelectTool
from core.files.library import load_library
from core.model import Plan
from tests.bench.vehicles import Size, vehicle

FRAMES = 40
#: The first frames of a movement also make ready for the others; they are told as the worst.
AIM_MS = 1000 / 60
WIDE, HIGH = 1400, 900


class Frames:
    """Milliseconds of the frames of one movement."""

    def __init__(self) -> None:
        self.ms: list[float] = []

    def take(self, event: Callable[[], object]) -> None:
        start = time.process_time()
        event()
        QApplication.processEvents()
        self.ms.append((time.process_time() - start) * 1e3)

    @property
    def told(self) -> dict[str, float]:
        return {"frame_ms": round(median(self.ms), 2), "worst_ms": round(max(self.ms), 2)}


class Trial:
    """A view on a plan, with the pointer that selects."""

    def __init__(self, plan: Plan) -> None:
        load_fonts()
        self.session = Session(load_library(), plan)
        self.view = SheetView(self.session, Theme("light"))
        self.desk = Desk(self.session, Settings)
        self.view.set_tool(SelectTool(self.desk, CanvasSight(self.view)))
        self.view.resize(WIDE, HIGH)
        self.view.show()
        self.rest()

    def rest(self) -> None:
        """Let everything that waits be done: zoom settled, estimates, paint."""
        until = time.monotonic() + 0.2
        while time.monotonic() < until or self.session.analysing or self.view.lettering:
            QApplication.processEvents()
            time.sleep(0.005)

    def close(self) -> None:
        self.session.close()
        self.view.close()
        self.view.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

    # --- movements ---------------------------------------------------------------------------------------------------

    def whole(self) -> dict[str, float]:
        """The yardstick: everything painted anew for each frame."""
        frames = Frames()
        for _ in range(5):
            frames.take(self.view.viewport().repaint)
        return frames.told

    def pan(self) -> dict[str, float]:
        frames = Frames()
        for number in range(FRAMES):
            step = 6 if number < FRAMES // 2 else -6
            frames.take(lambda step=step: self.view.scroll_px(step, step // 2))  # type: ignore[misc]
        self.rest()
        return frames.told

    def zoom(self) -> dict[str, float]:
        frames = Frames()
        for number in range(FRAMES):
            frames.take(lambda turn=120 if number < FRAMES // 2 else -120: self._wheel(turn))  # type: ignore[misc]
        self.rest()
        return frames.told

    def settle(self) -> dict[str, float]:
        """The one frame in which a zoom that rests is painted anew."""
        return self._after_zoom(self.view._settled)

    def letter(self) -> dict[str, float]:
        """The one frame, a little later on a large sheet, in which everything is drawn and lettered for the zoom."""
        return self._after_zoom(self.view._letter)

    def _after_zoom(self, work: Callable[[], object]) -> dict[str, float]:
        frames = Frames()
        for factor in (1.5, 1 / 1.5):
            self.view.zoom_by(factor)
            QApplication.processEvents()
            frames.take(work)
            self.rest()
        return frames.told

    def hover(self) -> dict[str, float]:
        frames = Frames()
        for number in range(FRAMES):
            at = QPoint(WIDE // 3 + 7 * number, HIGH // 2 + 3 * (number % 9))
            frames.take(lambda at=at: self._mouse(QEvent.Type.MouseMove, at, False))  # type: ignore[misc]
        return frames.told

    def drag(self) -> dict[str, float]:
        """A device in the middle of the vehicle, taken by the mouse and moved."""
        plan = self.session.plan
        device = plan.devices[len(plan.devices) // 2]
        at = self.desk.to_sheet(device.surface, device.at_mm)
        self.view.centerOn(QPointF(*at))
        self.rest()
        start = self.view.mapFromScene(QPointF(*at))
        self._mouse(QEvent.Type.MouseMove, start, False)
        self._mouse(QEvent.Type.MouseButtonPress, start, True)
        frames = Frames()
        for number in range(1, FRAMES + 1):
            to = start + QPoint(3 * number, number % 7)
            frames.take(lambda to=to: self._mouse(QEvent.Type.MouseMove, to, True))  # type: ignore[misc]
        if not self.session.previewing:
            raise RuntimeError("nothing was dragged")
        self._mouse(QEvent.Type.MouseButtonRelease, to, False)
        self.rest()
        self.session.undo()
        self.rest()
        return frames.told

    def _mouse(self, kind: QEvent.Type, at: QPoint, down: bool) -> None:
        viewport: QWidget = self.view.viewport()
        none, left = Qt.MouseButton.NoButton, Qt.MouseButton.LeftButton
        event = QMouseEvent(
            kind,
            QPointF(at),
            QPointF(viewport.mapToGlobal(at)),
            none if kind == QEvent.Type.MouseMove else left,
            left if down else none,
            Qt.KeyboardModifier.NoModifier,
        )
        QCoreApplication.sendEvent(viewport, event)

    def _wheel(self, turn: int) -> None:
        viewport: QWidget = self.view.viewport()
        at = QPoint(WIDE // 2, HIGH // 2)
        event = QWheelEvent(
            QPointF(at),
            QPointF(viewport.mapToGlobal(at)),
            QPoint(),
            QPoint(0, turn),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QCoreApplication.sendEvent(viewport, event)


def measured(size: Size) -> dict[str, Any]:
    """Frames by movement, once with the whole sheet in view and once near by."""
    trial = Trial(vehicle(size))
    plan = trial.session.plan
    result: dict[str, Any] = {
        "plan": {name: len(getattr(plan, name)) for name in ("nodes", "channels", "devices", "circuits", "ribs")},
        "views": {},
    }
    for name, zoom in (("whole sheet", None), ("near by", 0.25)):
        trial.view.zoom_to_fit()
        if zoom is not None:
            trial.view.zoom_by(zoom / trial.view.px_per_mm)
            trial.view._settled()
        trial.rest()
        result["views"][name] = {
            "objects": sum(isinstance(item, DrawnItem) for item in trial.view.sheet_scene.items()),
            "px_per_mm": round(trial.view.px_per_mm, 4),
            "everything painted anew": trial.whole(),
            "pan": trial.pan(),
            "zoom": trial.zoom(),
            "zoom at rest": trial.settle(),
            "lettered for a zoom": trial.letter(),
            "point": trial.hover(),
            "drag a device": trial.drag(),
        }
    trial.close()
    return result


def table(result: dict[str, Any]) -> str:
    counted = ", ".join(f"{count:,} {name}" for name, count in result["plan"].items())
    lines = [f"{counted}; aim {AIM_MS:.1f} ms a frame"]
    for name, found in result["views"].items():
        whole_ms = found["everything painted anew"]["frame_ms"]
        head = f"{name}: {found['objects']:,} objects drawn, {found['px_per_mm']:g} pixels a millimetre"
        lines += ["", head, f"{'':26s}{'frame':>10s}{'worst':>10s}"]
        for row, told in found.items():
            if isinstance(told, dict):
                ratio = (
                    f"{whole_ms / max(told['frame_ms'], 0.01):8.1f} x quicker" if told["frame_ms"] < whole_ms else ""
                )
                lines.append(f"{row:26s}{told['frame_ms']:8.1f} ms{told['worst_ms']:7.1f} ms{ratio}")
    return "\n".join(lines)


def main() -> None:
    application = QApplication.instance() or QApplication(sys.argv[:1])
    size = cast(Size, next((word for word in sys.argv[1:] if not word.startswith("-")), "coach"))
    result = measured(size)
    sys.stdout.write((json.dumps(result, indent=2) if "--json" in sys.argv else table(result)) + "\n")
    del application


if __name__ == "__main__":
    main()
