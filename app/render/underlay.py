"""Pixels of underlays: a drawing as a picture, a photo straightened, and both small enough to be kept in a plan."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QPointF, QSize, Qt
from PySide6.QtGui import QColor, QImage, QImageReader, QImageWriter, QPainter, QPen, QPolygonF

from core.errors import FileProblem
from core.files.limits import PICTURE_BYTES, PICTURE_PIXELS
from core.files.pictures import look_at_picture
from core.files.underlays import DxfDrawing
from core.geometry.homography import straighten, warp, widened
from core.model import Point

QUALITIES = (88, 75, 60, 45, 30)
#: Lines of a drawing: still seen where the sheet is shown at a third of its pixels.
LINE_PX = 4.0
#: Paper round a drawing, as a share of its longer side.
MARGIN = 0.01


class Kept(NamedTuple):
    """A picture as a plan keeps it."""

    data: bytes
    media_type: str
    width_px: int
    height_px: int


class Straight(NamedTuple):
    """A straightened photo, its scale, and where the middle of the rectangle that was picked lies in it (y down)."""

    kept: Kept
    mm_per_pixel: float
    middle_px: Point


def kept_picture(data: bytes, name: str) -> Kept:
    """A PNG or JPEG turned upright and reduced to what a plan keeps. Raises FileProblem for anything else."""
    info = look_at_picture(data, name)
    if info.fits:
        return Kept(data, info.media_type, info.width_px, info.height_px)
    return _encoded(_decoded(data, name, QSize(*info.reduced_px)), name)


def drawn_dxf(drawing: DxfDrawing, name: str) -> tuple[Kept, float]:
    """The lines of a drawing, black on white, as large as a plan keeps pictures, and the millimetres of a pixel."""
    (left, low), (right, high) = drawing.size_mm
    longest = max(right - left, high - low)
    if longest <= 0:
        raise FileProblem("the drawing has no size", name, "lines that lie apart")
    margin = longest * MARGIN
    mm_per_pixel = (longest + 2 * margin) / PICTURE_PIXELS
    wide = max(2, round((right - left + 2 * margin) / mm_per_pixel))
    tall = max(2, round((high - low + 2 * margin) / mm_per_pixel))
    image = QImage(min(wide, PICTURE_PIXELS), min(tall, PICTURE_PIXELS), QImage.Format.Format_RGB32)
    image.fill(QColor("white"))
    with QPainter(image) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(QColor("black"), LINE_PX))
        for line in drawing.lines:
            painter.drawPolyline(
                QPolygonF(
                    [
                        QPointF((x - left + margin) / mm_per_pixel, image.height() - (y - low + margin) / mm_per_pixel)
                        for x, y in line.points_mm
                    ]
                )
            )
    return _encoded(image, name, lines=True), mm_per_pixel


def straightened(data: bytes, corners_px: Sequence[Point], width_mm: float, height_mm: float, name: str) -> Straight:
    """The photo as seen from straight ahead, by the four corners of a rectangle of a known size (upper left, upper
    right, lower right, lower left). Raises FileProblem with a sentence where the points say nothing."""
    image = _decoded(data, name, None).convertToFormat(QImage.Format.Format_RGB888)
    try:
        whole = widened(
            straighten(corners_px, width_mm, height_mm, PICTURE_PIXELS), (image.width(), image.height()), PICTURE_PIXELS
        )
        work = whole.work
        pixels = warp(_pixels(image), work)
    except (ValueError, np.linalg.LinAlgError) as error:
        raise FileProblem(f"the photo cannot be straightened: {error}", name) from error
    made = QImage(
        pixels.tobytes(), work.width_px, work.height_px, 3 * work.width_px, QImage.Format.Format_RGB888
    ).copy()
    middle = (
        whole.left_px + width_mm / work.mm_per_pixel / 2,
        whole.top_px + height_mm / work.mm_per_pixel / 2,
    )
    return Straight(_encoded(made, name), work.mm_per_pixel, middle)


def _pixels(image: QImage) -> NDArray[np.uint8]:
    rows = np.frombuffer(image.constBits(), dtype=np.uint8).reshape(image.height(), image.bytesPerLine())
    return np.ascontiguousarray(rows[:, : 3 * image.width()]).reshape(image.height(), image.width(), 3)


def _decoded(data: bytes, name: str, size: QSize | None) -> QImage:
    source = QBuffer()
    source.setData(QByteArray(data))
    source.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(source)
    reader.setAutoTransform(True)
    if size is not None:
        reader.setScaledSize(size)
    image = reader.read()
    if image.isNull():
        raise FileProblem("the picture cannot be opened", name, "a whole PNG or JPEG file")
    return image


def _encoded(image: QImage, name: str, lines: bool = False) -> Kept:
    """As PNG where it is lines and small enough, else as JPEG, coarser until it fits."""
    if max(image.width(), image.height()) > PICTURE_PIXELS:
        image = image.scaled(
            PICTURE_PIXELS, PICTURE_PIXELS, Qt.AspectRatioMode.KeepAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )  # fmt: skip
    kinds = [("png", "image/png", -1)] if lines else []
    kinds += [("jpeg", "image/jpeg", quality) for quality in QUALITIES]
    for kind, media_type, quality in kinds:
        target = QBuffer()
        target.open(QIODevice.OpenModeFlag.WriteOnly)
        writer = QImageWriter(target, QByteArray(kind.encode()))
        writer.setQuality(quality)
        writer.write(image.convertToFormat(QImage.Format.Format_RGB32))
        small = bytes(target.data().data())
        if len(small) <= PICTURE_BYTES:
            return Kept(small, media_type, image.width(), image.height())
    raise FileProblem("the picture stays too large", name, f"at most {PICTURE_BYTES // 2**20} MB")
