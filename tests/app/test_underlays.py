"""Underlays in the window: placed from every kind of file, made true by points and typed lengths, faded, locked."""

from collections.abc import Iterator
from io import StringIO
from math import dist
from pathlib import Path

import ezdxf
import pytest
from PySide6.QtCore import QBuffer, QPointF, Qt
from PySide6.QtGui import QColor, QImage, QPageSize, QPainter, QPdfWriter, QPolygonF, QTransform
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QLabel
from pytestqt.qtbot import QtBot

from app.commands import underlays
from app.dialogs.underlay import DxfDialog, PdfDialog
from app.render.underlay import kept_picture, straightened
from app.tools.underlay import corners_of
from core.edits.underlays import pixel_of, place_of_pixel
from core.files.pictures import look_at_picture
from core.model import Picture, Point
from tests.flows.hand import Hand, at_work
from tests.helpers.vans import shell

#: A wall of 3,000 x 1,800 mm as a camera aslant sees it, in pixels of a photo of 600 x 400, y down: upper left, upper
#: right, lower right, lower left.
WALL = ((60.0, 40.0), (540.0, 100.0), (540.0, 320.0), (60.0, 360.0))
#: A door on it, in mm of the wall from its upper left corner, y down.
DOOR = ((1_800.0, 200.0), (2_500.0, 200.0), (2_500.0, 1_600.0), (1_800.0, 1_600.0))


def seen(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Where points of the wall lie in the photo. The map is Qt's own, not the one under test."""
    made = QTransform()
    flat = QPolygonF([QPointF(0, 0), QPointF(3_000, 0), QPointF(3_000, 1_800), QPointF(0, 1_800)])
    assert QTransform.quadToQuad(flat, QPolygonF([QPointF(*p) for p in WALL]), made)
    return tuple((made.map(QPointF(*p)).x(), made.map(QPointF(*p)).y()) for p in points)


def photo() -> bytes:
    image = QImage(600, 400, QImage.Format.Format_RGB32)
    image.fill(QColor("#8090a0"))
    with QPainter(image) as painter:
        painter.setBrush(QColor("white"))
        painter.drawPolygon(QPolygonF([QPointF(*p) for p in WALL]))
        painter.setBrush(QColor("#c00000"))
        painter.drawPolygon(QPolygonF([QPointF(*p) for p in seen(DOOR)]))
    target = QBuffer()
    target.open(QBuffer.OpenModeFlag.WriteOnly)
    image.save(target, "png")  # type: ignore[call-overload]
    return bytes(target.data().data())


@pytest.fixture
def hand(qtbot: QtBot) -> Iterator[Hand]:
    for one in at_work(qtbot):
        one.session.replace(shell(), None)
        one.view.zoom_to_fit()
        yield one


def placed(hand: Hand, path: Path, count: int = 1) -> Picture:
    underlays.place_file(hand.window.bench, path)
    hand.qtbot.waitUntil(lambda: len(hand.session.plan.pictures) == count, timeout=30_000)
    return hand.session.plan.pictures[-1]


def told(hand: Hand) -> str:
    """The words of the message that is open; it is closed."""
    hand.qtbot.waitUntil(lambda: any(d.isVisible() for d in hand.window.findChildren(QDialog)), timeout=30_000)
    dialog = next(d for d in hand.window.findChildren(QDialog) if d.isVisible())
    words = " ".join(label.text() for label in dialog.findChildren(QLabel))
    dialog.reject()
    return words


@pytest.fixture
def wall(hand: Hand, tmp_path: Path) -> Picture:
    path = tmp_path / "wall.png"
    path.write_bytes(photo())
    hand.session.select((next(s.id for s in hand.session.plan.surfaces if s.name == "Vehicle right"),))
    return placed(hand, path)


def on_sheet(hand: Hand, pixel: Point) -> Point:
    picture = hand.session.plan.pictures[-1]
    image = next(i for i in hand.session.plan.images if i.id == picture.image)
    height = look_at_picture(image.data).height_px
    return hand.on(picture.surface, place_of_pixel(picture, height, pixel))


def test_a_photo_lies_on_the_surface_that_is_selected_and_asks_to_be_scaled(hand: Hand, wall: Picture) -> None:
    right = next(s for s in hand.session.plan.surfaces if s.name == "Vehicle right")
    assert wall.surface == right.id
    assert wall.name == "wall"
    assert hand.session.selection == (wall.id,)
    assert hand.window.pointer.tool_id == "scale-underlay"
    # Two corners of the door, 700 mm apart as the tape says.
    a, b = seen(DOOR)[:2]
    hand.click(on_sheet(hand, a))
    hand.click(on_sheet(hand, b))
    hand.type_in("70 cm")
    scaled = hand.session.plan.pictures[0]
    assert dist(a, b) * scaled.mm_per_pixel == pytest.approx(700.0, rel=0.02)  # a click lies on whole screen pixels
    assert hand.session.undo_label == "Scale wall"
    hand.session.undo()
    assert hand.session.plan.pictures[0] == wall
    hand.session.undo()
    assert not hand.session.plan.pictures
    assert not hand.session.plan.images


def test_odd_distances_are_told_and_escape_takes_points_back(hand: Hand, wall: Picture) -> None:
    a, b = seen(DOOR)[:2]
    hand.click(on_sheet(hand, a))
    hand.click(on_sheet(hand, b))
    for odd in ("0", "1e12 km", "abc"):
        QTest.keyClicks(hand.view, "1")
        field = hand.typed_field()
        field.setText(odd)
        QTest.keyClick(field, Qt.Key.Key_Return)
        assert field.isVisible()
        assert hand.session.plan.pictures[0] == wall
        QTest.keyClick(field, Qt.Key.Key_Escape)
    for tool in ("scale-underlay", "scale-underlay", ""):
        hand.key(Qt.Key.Key_Escape)
        assert hand.window.pointer.tool_id == tool
    assert hand.session.plan.pictures[0] == wall


def test_a_photo_is_levelled_by_two_points(hand: Hand, wall: Picture) -> None:
    hand.key(Qt.Key.Key_Escape)
    hand.window.actions_by_id["level-underlay"].trigger()
    a, b = WALL[0], WALL[1]
    hand.click(on_sheet(hand, a))
    hand.click(on_sheet(hand, b))
    assert hand.session.undo_label == "Level wall"
    (ax, ay), (bx, by) = on_sheet(hand, a), on_sheet(hand, b)
    assert abs(by - ay) < 0.01 * abs(bx - ax)
    assert hand.session.plan.pictures[0].turn_deg != wall.turn_deg


def test_a_photo_is_straightened_by_four_corners_and_two_lengths(hand: Hand, wall: Picture) -> None:
    hand.key(Qt.Key.Key_Escape)
    hand.window.actions_by_id["straighten"].trigger()
    corners = seen(DOOR)
    hand.view.zoom_to_records((wall.surface,))
    middle = on_sheet(hand, corners[0])
    for k in (2, 3, 0, 1):  # any corner first
        hand.click(on_sheet(hand, corners[k]))
    hand.type_in("700\t1400")
    hand.qtbot.waitUntil(lambda: hand.session.undo_label == "Straighten photo", timeout=30_000)
    straight = hand.session.plan.pictures[0]
    assert len(hand.session.plan.images) == 1
    image = QImage.fromData(hand.session.plan.images[0].data)
    red = [
        (x, y) for x in range(0, image.width(), 4) for y in range(0, image.height(), 4)
        if image.pixelColor(x, y).red() > 120 and image.pixelColor(x, y).green() < 70
    ]  # fmt: skip
    wide = (max(x for x, _ in red) - min(x for x, _ in red)) * straight.mm_per_pixel
    high = (max(y for _, y in red) - min(y for _, y in red)) * straight.mm_per_pixel
    # The clicks lie on whole pixels of the screen, of which the door has some fifty.
    assert wide == pytest.approx(700, rel=0.06)
    assert high == pytest.approx(1_400, rel=0.06)
    assert dist(middle, hand.on(straight.surface, straight.at_mm)) < 4_000
    hand.session.undo()
    assert hand.session.plan.pictures[0] == wall


def test_straightening_is_exact_where_the_points_are() -> None:
    """The wall from Qt's projective map: straightened by the door, the wall's own corners are 3,000 x 1,800 apart."""
    made = straightened(photo(), seen(DOOR), 700.0, 1_400.0, "wall")
    image = QImage.fromData(made.kept.data)
    bright = [
        (x, y) for x in range(image.width()) for y in (round(made.middle_px[1]),)
        if image.pixelColor(x, y).red() > 190 or image.pixelColor(x, y).green() < 60
    ]  # fmt: skip
    wide = (max(x for x, _ in bright) - min(x for x, _ in bright)) * made.mm_per_pixel
    # White also lies beyond the photo; the wall begins behind its grey margin.
    assert wide >= 2_950
    x, y = made.middle_px
    assert image.pixelColor(round(x), round(y)).red() > 150
    assert image.pixelColor(round(x), round(y)).green() < 70
    for dx, dy, is_red in ((-340, 0, True), (340, 0, True), (0, 690, True), (-370, 0, False), (370, 0, False)):
        colour = image.pixelColor(round(x + dx / made.mm_per_pixel), round(y + dy / made.mm_per_pixel))
        assert (colour.green() < 128) is is_red, (dx, dy)


def test_corners_are_put_in_order_wherever_they_began() -> None:
    upright = ((0.0, 10.0), (10.0, 11.0), (11.0, 0.0), (1.0, -1.0))
    for start in range(4):
        turned = (*upright[start:], *upright[:start])
        assert corners_of(turned) == upright
        assert corners_of(tuple(reversed(turned))) == upright


def test_a_pixel_and_its_place_are_each_others_inverse() -> None:
    picture = Picture(id="p", surface="s", image="i", at_mm=(120.0, 40.0), mm_per_pixel=2.5, turn_deg=33.0)
    for pixel in ((0.0, 0.0), (599.0, 12.5), (300.0, 400.0)):
        assert pixel_of(picture, 400, place_of_pixel(picture, 400, pixel)) == pytest.approx(pixel)
    # The lower left corner of the picture lies where the picture lies.
    assert place_of_pixel(picture, 400, (0.0, 400.0)) == pytest.approx(picture.at_mm)


def test_a_drawing_in_millimetres_is_true_at_once(hand: Hand, tmp_path: Path) -> None:
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = 4
    drawing.modelspace().add_lwpolyline([(0, 0), (2_000, 0), (2_000, 1_000), (0, 1_000)], close=True)
    text = StringIO()
    drawing.write(text)
    path = tmp_path / "floor.dxf"
    path.write_text(text.getvalue(), encoding="utf-8")
    picture = placed(hand, path)
    image = QImage.fromData(hand.session.plan.images[0].data)
    dark = [x for x in range(image.width()) if image.pixelColor(x, image.height() // 2).red() < 128]
    assert (max(dark) - min(dark)) * picture.mm_per_pixel == pytest.approx(2_000, abs=8)
    assert hand.window.pointer.tool_id == ""


def test_a_drawing_without_unit_asks_for_it(hand: Hand, tmp_path: Path) -> None:
    drawing = ezdxf.new()
    drawing.header["$INSUNITS"] = 0
    drawing.modelspace().add_line((0, 0), (2, 1))
    text = StringIO()
    drawing.write(text)
    path = tmp_path / "floor.dxf"
    path.write_text(text.getvalue(), encoding="utf-8")
    underlays.place_file(hand.window.bench, path)
    hand.qtbot.waitUntil(lambda: bool(hand.window.findChildren(DxfDialog)), timeout=30_000)
    dialog = hand.dialog(DxfDialog)
    assert isinstance(dialog, DxfDialog)
    dialog.unit.setCurrentIndex(dialog.unit.findData(1_000.0))
    assert "2 000 × 1 000 mm" in dialog.unit.currentText().replace("\u202f", " ").replace("\xa0", " ")
    hand.press(dialog.place)
    hand.qtbot.waitUntil(lambda: len(hand.session.plan.pictures) == 1, timeout=30_000)
    picture = hand.session.plan.pictures[0]
    info = look_at_picture(hand.session.plan.images[0].data)
    assert info.width_px * picture.mm_per_pixel == pytest.approx(2_040, rel=0.01)  # with its margin


def test_a_page_of_a_pdf_is_placed_at_its_scale(hand: Hand, tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    writer = QPdfWriter(str(path))
    writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    with QPainter(writer) as painter:
        painter.drawRect(100, 100, 400, 300)
        writer.newPage()
        painter.drawRect(100, 100, 400, 300)
    underlays.place_file(hand.window.bench, path)
    hand.qtbot.waitUntil(lambda: bool(hand.window.findChildren(PdfDialog)), timeout=30_000)
    dialog = hand.dialog(PdfDialog)
    assert isinstance(dialog, PdfDialog)
    assert dialog.page.count() == 2
    for odd in ("", "nought", "0", "-3", "1e9", "nan"):
        hand.write_only(dialog.scale, odd)
        hand.press(dialog.place)
        assert dialog.problem.isVisible()
    hand.write_only(dialog.scale, "1:20")
    hand.press(dialog.place)
    hand.qtbot.waitUntil(lambda: len(hand.session.plan.pictures) == 1, timeout=30_000)
    picture = hand.session.plan.pictures[0]
    info = look_at_picture(hand.session.plan.images[0].data)
    # A4 is 297 mm high (ISO 216).
    assert info.height_px * picture.mm_per_pixel == pytest.approx(297 * 20, rel=0.005)


@pytest.mark.parametrize(
    ("name", "data", "word"),
    [
        ("cut.png", b"\x89PNG\r\n\x1a\n\0\0", "breaks off"),
        ("text.jpg", b"hello", "no picture"),
        ("empty.pdf", b"", "no PDF"),
        ("broken.dxf", b"0\nSECTION\nnonsense", "no DXF drawing"),
        ("video.mp4", b"\0" * 64, "no picture"),
    ],
)
def test_files_that_cannot_lie_there_are_told(hand: Hand, tmp_path: Path, name: str, data: bytes, word: str) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    underlays.place_file(hand.window.bench, path)
    words = told(hand)
    assert word in words
    assert name in words
    assert not hand.session.plan.pictures
    assert not hand.session.can_undo


def test_a_huge_file_is_not_even_read(hand: Hand, tmp_path: Path) -> None:
    path = tmp_path / "huge.png"
    with path.open("wb") as file:
        file.truncate(65 * 1024 * 1024)
    underlays.place_file(hand.window.bench, path)
    assert "65 MB" in told(hand)


def test_a_large_photo_is_reduced(qapp: object) -> None:
    image = QImage(3_000, 2_000, QImage.Format.Format_RGB32)
    image.fill(QColor("green"))
    target = QBuffer()
    target.open(QBuffer.OpenModeFlag.WriteOnly)
    image.save(target, "jpg")  # type: ignore[call-overload]
    kept = kept_picture(bytes(target.data().data()), "large.jpg")
    assert (kept.width_px, kept.height_px) == (2_000, 1_333)


def test_it_fades_and_locks(hand: Hand, wall: Picture) -> None:
    hand.key(Qt.Key.Key_Escape)
    assert hand.window.pointer.tool_id == ""
    hand.window.actions_by_id["fainter"].trigger()
    assert hand.session.plan.pictures[0].opacity == pytest.approx(0.45)
    hand.window.actions_by_id["lock-underlay"].trigger()
    assert hand.session.plan.pictures[0].locked
    assert hand.window.actions_by_id["lock-underlay"].isChecked()
    assert "locked" in hand.window.actions_by_id["scale-underlay"].toolTip()
    at = on_sheet(hand, (20.0, 200.0))
    hand.session.select(())
    hand.click(at)
    assert wall.id not in hand.session.selection
    hand.session.select((wall.id,))
    before = hand.session.plan
    hand.drag(at, (at[0] + 400, at[1]))
    assert hand.session.plan.pictures == before.pictures
    hand.session.select((wall.id,))
    hand.window.actions_by_id["lock-underlay"].trigger()
    hand.session.select(())
    hand.click(at)
    assert hand.session.selection == (wall.id,)


def test_without_a_floor_it_says_so(qtbot: QtBot, tmp_path: Path) -> None:
    for hand in at_work(qtbot):
        underlays.place_file(hand.window.bench, tmp_path / "any.png")
        assert "Draw the floor first" in hand.window.status.currentMessage()
        assert "no underlay" in hand.window.actions_by_id["scale-underlay"].toolTip()
