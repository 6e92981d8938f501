"""Marks as DXF R2010: millimetres, a layer for each family of styles, arcs as bulges of polylines."""

import re
from collections.abc import Iterable
from io import StringIO
from typing import Any

from core.model import Point
from core.pages.fillet import Vertex, fillet
from core.pages.lettering import CUTS
from core.pages.looks import fill_colour, line_colour, look
from core.pages.marks import AnyMark, AreaMark, CircleMark, ImageMark, LineMark, PathMark, TextMark
from core.text import cap_height_mm

#: Line weights that DXF knows, in hundredths of a millimetre (DXF reference, group 370; from memory).
WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211)
APPLICATION = "LOOMWRIGHT"
TEXT_STYLE = "LOOMWRIGHT"
_ALIGN = {
    ("left", "base"): "LEFT",
    ("middle", "base"): "CENTER",
    ("right", "base"): "RIGHT",
    ("left", "middle"): "MIDDLE_LEFT",
    ("middle", "middle"): "MIDDLE_CENTER",
    ("right", "middle"): "MIDDLE_RIGHT",
    ("left", "top"): "TOP_LEFT",
    ("middle", "top"): "TOP_CENTER",
    ("right", "top"): "TOP_RIGHT",
}


def dxf_bytes(marks: Iterable[AnyMark]) -> bytes:
    """The drawing, one unit a millimetre. A picture becomes its frame: DXF keeps pictures in files of their own.

    The id of the record a mark stands for goes with it as extended data of LOOMWRIGHT.
    """
    from ezdxf import units
    from ezdxf.filemanagement import new

    document = new("R2010", setup=["linetypes"], units=units.MM)
    document.appids.add(APPLICATION)
    document.styles.add(TEXT_STYLE, font="arial.ttf")
    pen = _Pen(document)
    for mark in marks:
        pen.draw(mark)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode(document.output_encoding, "dxfreplace")


class _Pen:
    """Writes marks into the model space of one document and makes layers as they are needed."""

    def __init__(self, document: Any) -> None:
        self.document = document
        self.space = document.modelspace()
        self.layers: dict[str, str] = {}

    def layer(self, style: str) -> str:
        family = style.partition(":")[0]
        if family not in self.layers:
            name = re.sub(r"[^A-Za-z0-9_-]", "_", family).upper() or "PLAIN"
            self.layers[family] = name
            if name not in self.document.layers:
                dashes = "DASHDOT" if family == "fold" else "DASHED" if look(family).dashes else "CONTINUOUS"
                self.document.layers.add(name, linetype=dashes, lineweight=_weight(look(family).width_mm))
        return self.layers[family]

    def attributes(self, style: str, colour: str | None) -> dict[str, Any]:
        attributes: dict[str, Any] = {"layer": self.layer(style)}
        if colour is not None:
            attributes["true_color"] = int(colour[1:], 16)
        return attributes

    def draw(self, mark: AnyMark) -> None:
        entities: list[Any] = []
        match mark:
            case LineMark():
                vertices = tuple((x, y, 0.0) for x, y in mark.points_mm)
                entities = [self.polyline(mark.style, vertices, mark.closed, mark.width_mm)]
            case PathMark():
                entities = [self.polyline(mark.style, fillet(mark.points_mm, mark.radius_mm), False, mark.width_mm)]
            case AreaMark():
                entities = self.area(mark)
            case CircleMark():
                entities = self.circle(mark)
            case TextMark():
                entities = [self.text(mark)] if mark.text else []
            case ImageMark():
                frame = _frame(mark)
                entities = [self.polyline("image", tuple((x, y, 0.0) for x, y in frame), True, None)]
        for entity in entities:
            if mark.subject and entity is not None:
                entity.set_xdata(APPLICATION, [(1000, _line(mark.subject))])

    def polyline(self, style: str, vertices: tuple[Vertex, ...], closed: bool, width_mm: float | None) -> Any:
        if len(vertices) < 2:
            return None
        attributes = self.attributes(style, line_colour(style))
        if width_mm:
            attributes["const_width"] = width_mm
        return self.space.add_lwpolyline(vertices, format="xyb", close=closed, dxfattribs=attributes)

    def area(self, mark: AreaMark) -> list[Any]:
        vertices = fillet(mark.outline_mm, mark.radius_mm, closed=True)
        holes = [tuple((x, y, 0.0) for x, y in hole) for hole in mark.holes_mm]
        entities = []
        fill = fill_colour(mark.style)
        if fill is not None and len(vertices) > 2:
            hatch = self.space.add_hatch(dxfattribs=self.attributes(mark.style, fill))
            hatch.paths.add_polyline_path(vertices, is_closed=True, flags=1)
            for hole in holes:
                hatch.paths.add_polyline_path(hole, is_closed=True, flags=0)
            entities.append(hatch)
        if line_colour(mark.style) is not None:
            entities += [self.polyline(mark.style, ring, True, None) for ring in (vertices, *holes)]
        return entities

    def circle(self, mark: CircleMark) -> list[Any]:
        entities = []
        fill = fill_colour(mark.style) if mark.filled else None
        if fill is not None:
            hatch = self.space.add_hatch(dxfattribs=self.attributes(mark.style, fill))
            hatch.paths.add_edge_path().add_arc(mark.centre_mm, mark.radius_mm, 0, 360)
            entities.append(hatch)
        line = line_colour(mark.style)
        if line is not None or not entities:
            attributes = self.attributes(mark.style, line)
            entities.append(self.space.add_circle(mark.centre_mm, mark.radius_mm, dxfattribs=attributes))
        return entities

    def text(self, mark: TextMark) -> Any:
        from ezdxf.enums import TextEntityAlignment

        attributes = self.attributes(mark.style, line_colour(mark.style))
        attributes |= {"style": TEXT_STYLE, "rotation": mark.turn_deg}
        # DXF measures text by its capitals.
        height = cap_height_mm(CUTS[mark.font], mark.size_mm)
        entity = self.space.add_text(_line(mark.text), height=height, dxfattribs=attributes)
        return entity.set_placement(mark.at_mm, align=TextEntityAlignment[_ALIGN[mark.anchor, mark.baseline]])


def _weight(width_mm: float) -> int:
    return min(WEIGHTS, key=lambda weight: abs(weight - width_mm * 100))


def _line(text: str) -> str:
    """One line without what DXF reads as commands: `^` starts control codes, `%%` special signs."""
    return re.sub(r"[\x00-\x1f\x7f]", " ", text).replace("^", "^ ").replace("%%", "% %")


def _frame(mark: ImageMark) -> tuple[Point, ...]:
    from math import cos, radians, sin

    c, s = cos(radians(mark.turn_deg)), sin(radians(mark.turn_deg))
    corners = ((0.0, 0.0), (mark.width_mm, 0.0), (mark.width_mm, mark.height_mm), (0.0, mark.height_mm))
    return tuple((mark.at_mm[0] + c * x - s * y, mark.at_mm[1] + s * x + c * y) for x, y in corners)
