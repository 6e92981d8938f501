"""Marks: a drawing as data. Millimetres, x to the right, y UP, style names instead of colours and pens.

One painter (`app.render`) draws marks for canvas, print and PDF; the SVG and DXF writers walk the same marks. A mark
knows the record it stands for (`subject`), so that a click on the canvas finds it and a DXF layer can be chosen.

Style names are ``family`` or ``family:variant``; the families and what they mean:

``outline`` surface outline, ``fold``, ``seam``, ``grid``, ``rib``, ``opening``, ``box``, ``zone``, ``panel``,
``metal_edge``, ``device``, ``channel`` (no wires in it), ``bundle:N`` (N = colour 0..5), ``bundle_gap`` (paper-coloured
halo), ``tick`` (securing point), ``node``, ``crossing``, ``dimension``, ``warning``, ``error``, ``note``, ``select``,
``preview``, ``text``, ``text:muted``, ``text:heading``, ``text:title``, ``rule`` (page line), ``swatch:COLOUR``.
"""

from typing import Literal

import msgspec

from core.model import Point


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """Base: style name, subject id ("" for none)."""

    style: str
    subject: str = ""


class LineMark(Mark, frozen=True, kw_only=True, tag="line"):
    """A polyline. `width_mm` None takes the width of the style on paper; a number is true to scale (a bundle)."""

    points_mm: tuple[Point, ...]
    closed: bool = False
    width_mm: float | None = None


class PathMark(Mark, frozen=True, kw_only=True, tag="path"):
    """A polyline with rounded corners: at every inner point an arc of `radius_mm` (as much of it as fits)."""

    points_mm: tuple[Point, ...]
    radius_mm: float
    width_mm: float | None = None


class AreaMark(Mark, frozen=True, kw_only=True, tag="area"):
    """A filled polygon with holes, even-odd; `radius_mm` rounds the corners."""

    outline_mm: tuple[Point, ...]
    holes_mm: tuple[tuple[Point, ...], ...] = ()
    radius_mm: float = 0.0


class CircleMark(Mark, frozen=True, kw_only=True, tag="circle"):
    centre_mm: Point
    radius_mm: float
    filled: bool = False


class TextMark(Mark, frozen=True, kw_only=True, tag="text"):
    """Text whose anchor stands at `at_mm`; `size_mm` is the height of a capital's em on paper or in the drawing.

    `fixed` text keeps its size on the canvas whatever the zoom (captions); turned counter-clockwise by `turn_deg`.
    """

    at_mm: Point
    text: str
    size_mm: float
    anchor: Literal["left", "middle", "right"] = "left"
    baseline: Literal["base", "middle", "top"] = "base"
    turn_deg: float = 0.0
    font: Literal["label", "label_medium", "label_bold", "text", "text_medium", "text_bold"] = "label"


class ImageMark(Mark, frozen=True, kw_only=True, tag="image"):
    """A picture: lower left corner, size, PNG or JPEG bytes."""

    at_mm: Point
    width_mm: float
    height_mm: float
    data: bytes
    turn_deg: float = 0.0
    opacity: float = 1.0


AnyMark = LineMark | PathMark | AreaMark | CircleMark | TextMark | ImageMark


class Page(msgspec.Struct, frozen=True, kw_only=True):
    """One page to print: size in mm, marks with the origin in the lower left corner."""

    width_mm: float
    height_mm: float
    marks: tuple[AnyMark, ...]
    title: str = ""
