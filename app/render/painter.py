"""The one painter of marks, for canvas, print and PDF.

It expects a painter whose coordinates are millimetres with y UP, as marks are. A canvas gets there with a negative
vertical scale of its view, a page with `page_transform`. Text is turned upright here.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import Literal, Protocol

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QPainter,
    QPainterPath,
    QPen,
    QPolygonF,
    QTransform,
)

from core.model import Point
from core.pages.fillet import Vertex, arc, fillet
from core.pages.marks import AnyMark, AreaMark, CircleMark, ImageMark, LineMark, PathMark, TextMark

Detail = Literal["full", "medium", "low"]

#: Text is set at this size in pixels and scaled to its millimetres, so that hinting never changes its width.
EM_PX = 100
#: Text smaller than this on the screen is not drawn: nobody could read it.
SMALLEST_TEXT_PX = 3.0
#: Pixels of one millimetre on a screen of 96 dots per inch, for line weights that are given on paper.
SCREEN_PX_PER_MM = 96 / 25.4


class Styles(Protocol):
    """What the painter asks of a theme. Pen widths are millimetres on paper."""

    def pen(self, style: str, /) -> QPen: ...
    def brush(self, style: str, /) -> QBrush: ...
    def font(self, name: str, /) -> QFont: ...
    def text_colour(self, style: str, /) -> QColor: ...


def page_transform(height_mm: float, px_per_mm: float) -> QTransform:
    """From page millimetres, origin lower left, y up, to device pixels, y down."""
    return QTransform(px_per_mm, 0, 0, -px_per_mm, 0, height_mm * px_per_mm)


class Kit:
    """Pens, brushes and fonts already made, for one theme and one zoom. A screen that paints a thousand things a frame
    keeps one until either changes."""

    def __init__(self) -> None:
        self.pens: dict[tuple[str, float | None], QPen] = {}
        self.brushes: dict[str, QBrush] = {}
        self.fonts: dict[str, tuple[QFont, QFontMetricsF]] = {}
        self.colours: dict[str, QColor] = {}


def paint(
    painter: QPainter,
    marks: Iterable[AnyMark],
    theme: Styles,
    *,
    detail: Detail = "full",
    px_per_mm: float | None = None,
    kit: Kit | None = None,
) -> None:
    """Draw `marks` in their order.

    `px_per_mm` is given by a screen: the pixels of one millimetre of the drawing at its zoom. Lines without a width of
    their own then keep their weight on the screen whatever the zoom, and text nobody could read is left out. On
    paper it is None: a line is as wide as its style says in millimetres. `kit` holds what was made for the same theme
    and zoom. `low` detail leaves out text, pictures
    and rounded corners.
    """
    pen_scale = 1.0 if px_per_mm is None else SCREEN_PX_PER_MM / px_per_mm
    hand = _Hand(painter, theme, detail, px_per_mm, pen_scale, kit or Kit())
    for mark in marks:
        match mark:
            case LineMark():
                hand.line(mark)
            case PathMark():
                hand.path(mark)
            case AreaMark():
                hand.area(mark)
            case TextMark():
                hand.text(mark)
            case CircleMark():
                hand.circle(mark)
            case ImageMark():
                hand.image(mark)


class _Hand:
    """The painter with what holds for one call: theme, detail, zoom, and the pens and brushes already made."""

    def __init__(
        self, painter: QPainter, theme: Styles, detail: Detail, px_per_mm: float | None, pen_scale: float, kit: Kit
    ) -> None:
        self.painter = painter
        self.theme = theme
        self.full = detail != "low"
        self.px_per_mm = px_per_mm
        self.pen_scale = pen_scale
        self.pens, self.brushes, self.fonts, self.colours = kit.pens, kit.brushes, kit.fonts, kit.colours

    def pen(self, style: str, width_mm: float | None = None) -> QPen:
        key = (style, width_mm)
        pen = self.pens.get(key)
        if pen is None:
            pen = QPen(self.theme.pen(style))
            pen.setCosmetic(False)
            pen.setWidthF(pen.widthF() * self.pen_scale if width_mm is None else width_mm)
            self.pens[key] = pen
        return pen

    def brush(self, style: str) -> QBrush:
        brush = self.brushes.get(style)
        if brush is None:
            brush = self.brushes[style] = self.theme.brush(style)
        return brush

    def line(self, mark: LineMark) -> None:
        painter = self.painter
        painter.setPen(self.pen(mark.style, mark.width_mm))
        if mark.closed:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in mark.points_mm]))
        elif len(mark.points_mm) == 2:
            (ax, ay), (bx, by) = mark.points_mm
            painter.drawLine(QPointF(ax, ay), QPointF(bx, by))
        else:
            painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in mark.points_mm]))

    def path(self, mark: PathMark) -> None:
        painter = self.painter
        painter.setPen(self.pen(mark.style, mark.width_mm))
        if not self.full or mark.radius_mm <= 0 or len(mark.points_mm) < 3:
            painter.drawPolyline(QPolygonF([QPointF(x, y) for x, y in mark.points_mm]))
            return
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(path_of(fillet(mark.points_mm, mark.radius_mm), closed=False))

    def area(self, mark: AreaMark) -> None:
        painter = self.painter
        painter.setPen(self.pen(mark.style))
        painter.setBrush(self.brush(mark.style))
        if not mark.holes_mm and (mark.radius_mm <= 0 or not self.full):
            painter.drawPolygon(QPolygonF([QPointF(x, y) for x, y in mark.outline_mm]))
            return
        path = path_of(fillet(mark.outline_mm, mark.radius_mm if self.full else 0.0, closed=True), closed=True)
        for hole in mark.holes_mm:
            path.addPolygon(QPolygonF([QPointF(x, y) for x, y in hole]))
            path.closeSubpath()
        path.setFillRule(Qt.FillRule.OddEvenFill)
        painter.drawPath(path)

    def circle(self, mark: CircleMark) -> None:
        painter = self.painter
        painter.setPen(self.pen(mark.style))
        painter.setBrush(self.brush(mark.style) if mark.filled else Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QPointF(*mark.centre_mm), mark.radius_mm, mark.radius_mm)

    def text(self, mark: TextMark) -> None:
        if not mark.text:
            return
        if self.px_per_mm is not None and (not self.full or mark.size_mm * self.px_per_mm < SMALLEST_TEXT_PX):
            return
        if mark.font not in self.fonts:
            font = set_font(self.theme, mark.font)
            self.fonts[mark.font] = (font, QFontMetricsF(font))
        font, metrics = self.fonts[mark.font]
        if mark.style not in self.colours:
            self.colours[mark.style] = self.theme.text_colour(mark.style)
        painter = self.painter
        painter.save()
        painter.translate(*mark.at_mm)
        if mark.turn_deg:
            painter.rotate(mark.turn_deg)
        scale = mark.size_mm / EM_PX
        painter.scale(scale, -scale)
        painter.setFont(font)
        painter.setPen(self.colours[mark.style])
        x = 0.0
        if mark.anchor != "left":
            width = metrics.horizontalAdvance(mark.text)
            x = -width if mark.anchor == "right" else -width / 2
        y = 0.0
        if mark.baseline == "middle":
            y = metrics.capHeight() / 2
        elif mark.baseline == "top":
            y = metrics.capHeight()
        painter.drawText(QPointF(x, y), mark.text)
        painter.restore()

    def image(self, mark: ImageMark) -> None:
        if not self.full:
            return
        image = _decoded(mark.data)
        if image.isNull():
            return
        painter = self.painter
        painter.save()
        painter.translate(*mark.at_mm)
        if mark.turn_deg:
            painter.rotate(mark.turn_deg)
        painter.scale(1, -1)
        painter.setOpacity(mark.opacity)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(QRectF(0, -mark.height_mm, mark.width_mm, mark.height_mm), image)
        painter.restore()


def set_font(theme: Styles, name: str) -> QFont:
    """The font as it was measured in core: at EM_PX, without kerning and hinting."""
    font = QFont(theme.font(name))
    font.setPixelSize(EM_PX)
    font.setKerning(False)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font


@lru_cache(maxsize=16)
def _decoded(data: bytes) -> QImage:
    """A picture's bytes are hashed once; the plan's limits keep each of them under 2 MB."""
    return QImage.fromData(data)


def path_of(vertices: tuple[Vertex, ...], closed: bool) -> QPainterPath:
    """A painter's path of straight lines and true arcs."""
    path = QPainterPath()
    if not vertices:
        return path
    path.moveTo(vertices[0][0], vertices[0][1])
    pairs = list(zip(vertices, vertices[1:], strict=False))
    if closed:
        pairs.append((vertices[-1], vertices[0]))
    for start, end in pairs:
        if start[2] == 0:
            path.lineTo(end[0], end[1])
            continue
        (cx, cy), radius, start_deg, sweep_deg = arc(start, end)
        # QPainterPath counts angles clockwise where y is up.
        path.arcTo(QRectF(cx - radius, cy - radius, 2 * radius, 2 * radius), -start_deg, -sweep_deg)
    if closed:
        path.closeSubpath()
    return path


def text_rect(mark: TextMark, theme: Styles) -> tuple[Point, Point]:
    """Lower left and upper right corner of an unturned text, for hit tests and level of detail."""
    metrics = QFontMetricsF(set_font(theme, mark.font))
    scale = mark.size_mm / EM_PX
    width, cap = metrics.horizontalAdvance(mark.text) * scale, metrics.capHeight() * scale
    x = mark.at_mm[0] - {"left": 0.0, "middle": width / 2, "right": width}[mark.anchor]
    y = mark.at_mm[1] - {"base": 0.0, "middle": cap / 2, "top": cap}[mark.baseline]
    return (x, y - metrics.descent() * scale), (x + width, y + cap)
