"""The canvas by real mouse and key events."""

from collections.abc import Iterator
from statistics import median
from typing import Any

import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QWheelEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.canvas.items import grid_step_mm
from app.canvas.rulers import steps
from app.canvas.sight import CanvasSight
from app.canvas.view import SheetView, lettering_scale
from app.session import Session
from app.settings import Settings
from app.theme import NAMES, Theme, load_fonts, swatch_colour
from app.tools.desk import Desk
from app.tools.events import CursorShape, KeyEvent, PointerEvent, ToolReply
from app.tools.select import SelectTool
from core.edits.devices import move_device
from core.errors import EditRefused
from core.files.library import load_library
from core.model import Plan, Point
from core.pages.looks import LOOKS
from core.pages.marks import LineMark
from tests.helpers.sheet_van import van

PLAN = van()


@pytest.fixture
def session(qapp: QApplication) -> Iterator[Session]:
    load_fonts()
    session = Session(load_library(), PLAN)
    yield session
    session.close()


@pytest.fixture
def view(session: Session, qtbot: QtBot) -> SheetView:
    view = SheetView(session, Theme("light"))
    view.set_tool(SelectTool(Desk(session, Settings), CanvasSight(view)))
    qtbot.addWidget(view)
    view.resize(1000, 800)
    view.show()
    qtbot.waitExposed(view)
    view.setFocus()
    return view


def named(collection: str, name: str) -> Any:
    return next(r for r in getattr(PLAN, collection) if r.name == name)


def pixel(view: SheetView, at: Point) -> QPoint:
    return view.mapFromScene(QPointF(*at))


def on_sheet(view: SheetView, record: Any) -> Point:
    place = view.session.analysis.sheet.layout.place(record.surface)
    return place.to_sheet(record.at_mm)


def near(colour: QColor, other: QColor) -> bool:
    return max(abs(a - b) for a, b in zip(colour.getRgb()[:3], other.getRgb()[:3], strict=True)) <= 3


def test_it_opens_with_the_whole_sheet_in_view(view: SheetView) -> None:
    shown = view.mapToScene(view.viewport().rect()).boundingRect()
    assert shown.contains(view.sheet_scene.content)
    assert len(view.sheet_scene.items_by_key) > 150


def test_y_points_up_and_is_turned_over_once(view: SheetView) -> None:
    assert pixel(view, (0, 1000)).y() < pixel(view, (0, 0)).y()
    assert pixel(view, (1000, 0)).x() > pixel(view, (0, 0)).x()


def test_a_click_selects_the_device_and_not_the_wall_under_it(view: SheetView, qtbot: QtBot) -> None:
    fridge = named("devices", "Fridge")
    at = pixel(view, on_sheet(view, fridge))
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert view.session.selection == (fridge.id,)
    assert view.sheet_scene.selection.marks
    # Empty wall beside it.
    left = named("surfaces", "Left wall")
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=pixel(view, (3300, -1300)))
    assert view.session.selection == (left.id,)
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert view.session.selection == ()


def test_a_thin_bundle_is_met_within_a_few_pixels(view: SheetView, qtbot: QtBot) -> None:
    line = pixel(view, (2640, 3400))
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=line + QPoint(5, 0))
    (chosen,) = view.session.selection
    assert chosen in view.session.analysis.bundles
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=line + QPoint(14, 0))
    assert view.session.selection != (chosen,)


def test_shift_adds_and_ctrl_turns_over(view: SheetView, qtbot: QtBot) -> None:
    fridge, fan = named("devices", "Fridge"), named("devices", "Roof fan")

    def click(device: Any, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, held, pixel(view, on_sheet(view, device)))

    click(fridge)
    click(fan, Qt.KeyboardModifier.ShiftModifier)
    assert view.session.selection == (fridge.id, fan.id)
    click(fridge, Qt.KeyboardModifier.ControlModifier)
    assert view.session.selection == (fan.id,)


def drag(view: SheetView, qtbot: QtBot, start: QPoint, end: QPoint, button: Qt.MouseButton) -> None:
    qtbot.mousePress(view.viewport(), button, pos=start)
    qtbot.mouseMove(view.viewport(), (start + end) / 2)
    qtbot.mouseMove(view.viewport(), end)
    qtbot.mouseRelease(view.viewport(), button, pos=end)


def test_a_rubber_band_takes_what_lies_inside(view: SheetView, qtbot: QtBot) -> None:
    lights = {named("devices", f"Light {n}").id for n in (1, 2, 3, 4)}
    start, end = pixel(view, (250, 5520)), pixel(view, (2450, 5180))
    drag(view, qtbot, start, end, Qt.MouseButton.LeftButton)
    assert lights <= set(view.session.selection)
    assert not any(s.id in view.session.selection for s in PLAN.surfaces)
    assert not any(r.id in view.session.selection for r in PLAN.ribs)
    # The other way round it takes what it touches: the ribs too.
    drag(view, qtbot, end, start, Qt.MouseButton.LeftButton)
    assert any(r.id in view.session.selection for r in PLAN.ribs)


def test_the_wheel_zooms_about_the_pointer(view: SheetView) -> None:
    at = QPointF(300, 200)
    before, zoom = view.sheet_at(at), view.px_per_mm
    wheel = QWheelEvent(
        at,
        QPointF(view.viewport().mapToGlobal(at.toPoint())),
        QPoint(),
        QPoint(0, 240),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(view.viewport(), wheel)
    assert view.px_per_mm == pytest.approx(zoom * 1.44)
    after = view.sheet_at(at)
    one_pixel = 1.5 / view.px_per_mm
    assert after == (pytest.approx(before[0], abs=one_pixel), pytest.approx(before[1], abs=one_pixel))


def test_middle_button_and_space_pan(view: SheetView, qtbot: QtBot) -> None:
    for button, with_space in ((Qt.MouseButton.MiddleButton, False), (Qt.MouseButton.LeftButton, True)):
        before = pixel(view, (0, 0))
        if with_space:
            qtbot.keyPress(view, Qt.Key.Key_Space)
        drag(view, qtbot, QPoint(400, 400), QPoint(460, 430), button)
        if with_space:
            qtbot.keyRelease(view, Qt.Key.Key_Space)
        assert pixel(view, (0, 0)) - before == QPoint(60, 30)
        assert view.session.selection == ()


def test_lettering_keeps_its_size_on_the_screen(view: SheetView, qtbot: QtBot) -> None:
    for zoom in (0.02, 0.15, 0.7, 4.0):
        assert 0.8 < lettering_scale(zoom) * zoom / 4.1 < 1.25
    view.zoom_by(4.0)
    qtbot.waitUntil(lambda: view._drawn_as is not None and view._drawn_as[1] == lettering_scale(view.px_per_mm))


def test_only_the_items_that_changed_are_touched(view: SheetView, qtbot: QtBot) -> None:
    items = dict(view.sheet_scene.items_by_key)
    drawn = {key: item.drawn for key, item in items.items()}
    fridge = named("devices", "Fridge")
    view.session.commit("Move", move_device(PLAN, fridge.id, fridge.surface, (fridge.at_mm[0] + 30, fridge.at_mm[1])))
    # On a busy machine the analysis comes from the worker.
    qtbot.waitUntil(lambda: view._analysis.plan is view.session.plan)
    now = view.sheet_scene.items_by_key
    kept = [key for key in items if now.get(key) is items[key]]
    assert len(kept) > 0.95 * len(items)
    changed = [key for key in kept if now[key].drawn is not drawn[key]]
    assert fridge.id in changed
    assert len(changed) < 15
    view.session.undo()


class Mover:
    """A tool as the window makes them: drags a device, takes a typed distance."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.held: tuple[Any, Point] | None = None
        self.words: list[str] = []
        self.cursor: CursorShape = "cross"

    def _moved(self, dx: float, dy: float) -> Plan:
        assert self.held is not None
        device = self.held[0]
        at = (device.at_mm[0] + dx, device.at_mm[1] + dy)
        return move_device(self.session.plan, device.id, device.surface, at)

    def press(self, event: PointerEvent) -> ToolReply:
        device = next((d for d in self.session.plan.devices if d.id in event.item_ids[:1]), None)
        if device is None:
            raise EditRefused("There is no device here.")
        self.held = (device, event.sheet_mm)
        return ToolReply(prompt="along", word="device")

    def move(self, event: PointerEvent) -> ToolReply:
        if self.held is None:
            return ToolReply()
        x, y = event.sheet_mm[0] - self.held[1][0], event.sheet_mm[1] - self.held[1][1]
        line = LineMark(style="preview", points_mm=(self.held[1], event.sheet_mm))
        return ToolReply(plan=self._moved(x, y), overlay=(line,), word="moving", prompt="along")

    def release(self, event: PointerEvent) -> ToolReply:
        if self.held is None:
            return ToolReply()
        x, y = event.sheet_mm[0] - self.held[1][0], event.sheet_mm[1] - self.held[1][1]
        return ToolReply(plan=self._moved(x, y), commit="Move device", done=True)

    def key(self, event: KeyEvent) -> ToolReply | None:
        self.words.append(event.key)
        return None

    def typed(self, text: str) -> ToolReply:
        return ToolReply(plan=self._moved(float(text), 0.0), commit="Move device", done=True)


def test_a_tool_previews_and_commits(view: SheetView, qtbot: QtBot) -> None:
    fridge = named("devices", "Fridge")
    view.set_tool(Mover(view.session))
    start = pixel(view, on_sheet(view, fridge))
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(view.viewport(), start + QPoint(20, 0))
    assert view.session.previewing
    assert view.sheet_scene.tool.marks
    with qtbot.waitSignal(view.tool_left):
        qtbot.mouseRelease(view.viewport(), Qt.MouseButton.LeftButton, pos=start + QPoint(40, 0))
    assert not view.session.previewing
    moved = next(d for d in view.session.plan.devices if d.id == fridge.id)
    assert moved.at_mm[0] - fridge.at_mm[0] == pytest.approx(40 / view.px_per_mm)
    assert view.tool is None
    assert not view.sheet_scene.tool.marks
    view.session.undo()
    assert view.session.plan is PLAN


def test_escape_drops_the_preview_and_then_the_tool(view: SheetView, qtbot: QtBot) -> None:
    fridge = named("devices", "Fridge")
    tool = Mover(view.session)
    view.set_tool(tool)
    start = pixel(view, on_sheet(view, fridge))
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(view.viewport(), start + QPoint(20, 0))
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert tool.words == ["Escape"]
    assert view.tool is None
    assert view.session.shown is PLAN


def test_a_refusal_is_said_and_changes_nothing(view: SheetView, qtbot: QtBot) -> None:
    view.set_tool(Mover(view.session))
    with qtbot.waitSignal(view.said) as said:
        qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=pixel(view, (3300, -1300)))
    assert said.args == ["There is no device here."]
    assert view.session.shown is PLAN
    view.set_tool(None)


def test_a_typed_dimension_goes_to_the_tool(view: SheetView, qtbot: QtBot) -> None:
    fridge = named("devices", "Fridge")
    view.set_tool(Mover(view.session))
    start = pixel(view, on_sheet(view, fridge))
    qtbot.mousePress(view.viewport(), Qt.MouseButton.LeftButton, pos=start)
    qtbot.keyClicks(view, "1")
    assert view._field.isVisible()
    qtbot.keyClicks(view._field.focusProxy(), "25")
    qtbot.keyClick(view._field.focusProxy(), Qt.Key.Key_Return)
    moved = next(d for d in view.session.plan.devices if d.id == fridge.id)
    assert moved.at_mm[0] == fridge.at_mm[0] + 125
    assert not view._field.isVisible()
    view.session.undo()


def grabbed(view: SheetView) -> QImage:
    return view.viewport().grab().toImage()


def test_themes_change_while_it_runs(view: SheetView) -> None:
    for name in ("dark", "light"):
        theme = Theme(name)
        view.set_theme(theme)
        image = grabbed(view)
        corner = image.pixelColor(image.width() - 3, image.height() - 3)
        assert near(corner, theme.colour("desk"))
        ground = pixel(view, (3300, -1300))
        assert near(image.pixelColor(ground * int(image.devicePixelRatio())), theme.colour("ground"))


def test_a_thick_bundle_is_as_wide_on_the_screen_as_its_diameter(view: SheetView, qtbot: QtBot) -> None:
    """Zoomed in, the pixels across the thickest level or upright bundle can be counted."""
    analysis = view.session.analysis
    _, bundle, a, b = max(
        (
            (bundle.diameter_laid_mm, bundle, a, b)
            for channel, bundle in analysis.bundles.items()
            for a, b in zip(analysis.paths[channel].sheet_mm, analysis.paths[channel].sheet_mm[1:], strict=False)
            if min(abs(a[0] - b[0]), abs(a[1] - b[1])) < 1 and max(abs(a[0] - b[0]), abs(a[1] - b[1])) > 500
        ),
        key=lambda found: found[0],
    )
    view.zoom_to(QRectF(a[0] - 100, a[1] - 100, 200, 200))
    assert view.px_per_mm > 2
    counts = []
    # Ticks, labels and other bundles cover it here and there, so it is measured at many places.
    for share in (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        view.centerOn(QPointF(a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
        image = grabbed(view)
        middle = pixel(view, (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
        across = QPoint(1, 0) if abs(a[0] - b[0]) < 1 else QPoint(0, 1)
        colours = [image.pixelColor(middle + across * step) for step in range(-60, 61)]
        counts.append(max(sum(near(c, view.theme.bundle_colour(n)) for c in colours) for n in range(6)))
    assert median(counts) == pytest.approx(bundle.diameter_laid_mm * view.px_per_mm, abs=2.5)


@pytest.mark.parametrize("name", NAMES)
def test_every_style_has_a_look_in_every_theme(name: Any, qapp: QApplication) -> None:
    load_fonts()
    theme = Theme(name)
    for style in (*LOOKS, "bundle:3", "pill:5", "node:0", "swatch:red", "nobody:knows"):
        assert theme.text_colour(style).isValid()
        theme.pen(style)
        theme.brush(style)
    bundles = {theme.bundle_colour(n).name() for n in range(6)}
    assert len(bundles) == 6


def luminance(colour: QColor) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance; from memory)."""

    def linear(c: float) -> float:
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    return 0.2126 * linear(colour.redF()) + 0.7152 * linear(colour.greenF()) + 0.0722 * linear(colour.blueF())


@pytest.mark.parametrize("name", NAMES)
def test_words_can_be_read_on_their_ground(name: Any, qapp: QApplication) -> None:
    """Contrast of text at least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3; from memory)."""
    theme = Theme(name)
    read = {
        "ink": ("paper", "box", "device", "base", "window", "alternate", "hovered", "ruler"),
        "muted": ("paper", "ground", "base", "window", "alternate", "ruler"),
        "error": ("base", "window"),
        "warning_text": ("base",),
        # Lengths while drawing, over whatever lies there.
        "accent": ("base", "paper", "ground", "box"),
    }
    for words, grounds in read.items():
        for ground in grounds:
            if name == "print" and (words, ground) == ("accent", "box"):
                continue  # nobody draws on paper
            a, b = sorted((luminance(theme.colour(words)), luminance(theme.colour(ground))), reverse=True)
            assert (a + 0.05) / (b + 0.05) >= 4.5, (words, ground)


@pytest.mark.parametrize("name", NAMES)
def test_lines_that_mean_something_can_be_made_out_on_their_ground(name: Any, qapp: QApplication) -> None:
    """Contrast of lines that are needed to understand the sheet at least 3 to 1 (WCAG 2.2, 1.4.11; from memory)."""
    theme = Theme(name)
    for line in ("free", "zone", "panel", "box_line", "opening_line", "warning", "error", "accent"):
        for ground in ("paper", "ground", "floor"):
            a, b = sorted((luminance(theme.colour(line)), luminance(theme.colour(ground))), reverse=True)
            assert (a + 0.05) / (b + 0.05) >= 3.0, (line, ground)


def test_colours_of_wires_by_their_words(qapp: QApplication) -> None:
    assert swatch_colour("Red") == swatch_colour("red/black")
    assert swatch_colour("#123456") == QColor("#123456")
    assert swatch_colour("octarine").isValid()


@pytest.mark.parametrize("unit_mm", [1.0, 25.4])
def test_grid_and_rulers_keep_their_distance_at_every_zoom(unit_mm: float) -> None:
    zoom = 0.012
    while zoom < 12:
        assert grid_step_mm(zoom, unit_mm) * zoom >= 47.9 or zoom < 0.02
        named_at, parts = steps(zoom * unit_mm, unit_mm)
        assert named_at * zoom * unit_mm >= 69.9 or (unit_mm == 25.4 and zoom < 0.01)
        assert named_at * zoom * unit_mm / parts >= 3
        zoom *= 1.07
