"""A page as SVG: millimetres, text as text, one class for each style."""

import re
from base64 import b64encode
from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from core.model import Point
from core.pages.fillet import Vertex, arc, fillet
from core.pages.lettering import CUTS
from core.pages.looks import fill_colour, line_colour, look
from core.pages.marks import AnyMark, AreaMark, CircleMark, ImageMark, LineMark, Page, PathMark, TextMark
from core.text import FONTS, cap_height_mm, text_width_mm

#: Signs that XML 1.0 cannot hold, escaped or not.
NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
#: Families people may have instead of the shipped ones, which carry their own names.
INSTEAD = {"Loomwright Drawing": "'Barlow Semi Condensed', 'Arial Narrow', sans-serif",
           "Loomwright Text": "Inter, Arial, sans-serif"}  # fmt: skip


def svg_bytes(page: Page) -> bytes:
    """The page in the print look. Its y axis is turned over, so every number is a page coordinate from the top."""
    styles = sorted({mark.style for mark in page.marks if not isinstance(mark, ImageMark)})
    texts = sorted({mark.style for mark in page.marks if isinstance(mark, TextMark)})
    fonts = sorted({mark.font for mark in page.marks if isinstance(mark, TextMark)})
    rules = [*map(_shape_rule, styles), *map(_text_rule, texts), *map(_font_rule, fonts)]
    size = f'width="{_n(page.width_mm)}mm" height="{_n(page.height_mm)}mm"'
    box = f'viewBox="0 0 {_n(page.width_mm)} {_n(page.height_mm)}"'
    body = [_element(mark, page.height_mm) for mark in page.marks]
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box}>',
        f"<title>{_text(page.title)}</title>",
        "<style>",
        *rules,
        "</style>",
        *body,
        "</svg>",
        "",
    ]
    return "\n".join(lines).encode()


def _n(value: float) -> str:
    """A number to a ten-thousandth of a millimetre, without needless zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _text(text: str) -> str:
    return escape(NOT_XML.sub("", text))


def _class(style: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", style.lower()).strip("-") or "plain"


def _shape_rule(style: str) -> str:
    line, fill, drawn = line_colour(style), fill_colour(style), look(style)
    dashes = ""
    if drawn.dashes:
        dashes = f"stroke-dasharray:{' '.join(_n(dash * drawn.width_mm) for dash in drawn.dashes)};"
    width = _n(drawn.width_mm)
    return f".{_class(style)}{{stroke:{line or 'none'};stroke-width:{width};{dashes}fill:{fill or 'none'}}}"


def _text_rule(style: str) -> str:
    return f"text.{_class(style)}{{stroke:none;stroke-dasharray:none;fill:{line_colour(style) or '#000000'}}}"


def _font_rule(name: str) -> str:
    cut = FONTS[CUTS[name]]
    family = f"'{cut.family}',{INSTEAD[cut.family]}"
    return f".font-{_class(name)}{{font-family:{family};font-weight:{cut.weight};font-kerning:none;white-space:pre}}"


def _element(mark: AnyMark, height: float) -> str:
    attributes = f"class={quoteattr(_class(mark.style))}"
    if mark.subject:
        attributes += f" data-record={quoteattr(NOT_XML.sub('', mark.subject))}"
    match mark:
        case LineMark():
            name = "polygon" if mark.closed else "polyline"
            return f'<{name} {attributes} points="{_points(mark.points_mm, height)}"{_line_style(mark.width_mm)}/>'
        case PathMark():
            path = _path(fillet(mark.points_mm, mark.radius_mm), height, closed=False)
            return f'<path {attributes} d="{path}"{_line_style(mark.width_mm)}/>'
        case AreaMark():
            path = _path(fillet(mark.outline_mm, mark.radius_mm, closed=True), height, closed=True)
            holes = "".join(_path(fillet(hole, 0, closed=True), height, closed=True) for hole in mark.holes_mm)
            return f'<path {attributes} fill-rule="evenodd" d="{path}{holes}"/>'
        case CircleMark():
            x, y = mark.centre_mm
            empty = "" if mark.filled else ' style="fill:none"'
            circle = f'cx="{_n(x)}" cy="{_n(height - y)}" r="{_n(mark.radius_mm)}"'
            return f"<circle {attributes} {circle}{empty}/>"
        case TextMark():
            return _text_element(mark, height)
        case ImageMark():
            return _image_element(mark, height)


def _points(points: Iterable[Point], height: float) -> str:
    return " ".join(f"{_n(x)},{_n(height - y)}" for x, y in points)


def _line_style(width_mm: float | None) -> str:
    width = "" if width_mm is None else f"stroke-width:{_n(width_mm)};"
    return f' style="{width}fill:none"'


def _path(vertices: tuple[Vertex, ...], height: float, closed: bool) -> str:
    if not vertices:
        return ""
    parts = [f"M{_n(vertices[0][0])} {_n(height - vertices[0][1])}"]
    pairs = list(zip(vertices, vertices[1:], strict=False)) + ([(vertices[-1], vertices[0])] if closed else [])
    for start, end in pairs:
        to = f"{_n(end[0])} {_n(height - end[1])}"
        if start[2] == 0:
            parts.append(f"L{to}")
            continue
        _, radius, _, sweep_deg = arc(start, end)
        # Counter-clockwise stays so on the screen, which SVG calls the negative direction.
        parts.append(f"A{_n(radius)} {_n(radius)} 0 {int(abs(sweep_deg) > 180)} {int(sweep_deg < 0)} {to}")
    return "".join(parts) + ("Z" if closed else "")


def _text_element(mark: TextMark, height: float) -> str:
    cap = cap_height_mm(CUTS[mark.font], mark.size_mm)
    down = {"base": 0.0, "middle": cap / 2, "top": cap}[mark.baseline]
    anchor = {"left": "start", "middle": "middle", "right": "end"}[mark.anchor]
    x, y = _n(mark.at_mm[0]), _n(height - mark.at_mm[1])
    place = f'transform="translate({x} {y})'
    place += f' rotate({_n(-mark.turn_deg)})"' if mark.turn_deg else '"'
    record = f" data-record={quoteattr(NOT_XML.sub('', mark.subject))}" if mark.subject else ""
    classes = f"{_class(mark.style)} font-{_class(mark.font)}"
    shift = f' y="{_n(down)}"' if down else ""
    # Where another font stands in for ours the text is squeezed to the width it was placed with.
    width = text_width_mm(mark.text, CUTS[mark.font], mark.size_mm)
    fit = f' textLength="{_n(width)}" lengthAdjust="spacingAndGlyphs"' if len(mark.text) > 1 else ""
    return (
        f'<text class="{classes}"{record} {place}{shift} font-size="{_n(mark.size_mm)}" text-anchor="{anchor}"{fit}>'
        f"{_text(mark.text)}</text>"
    )


def _image_element(mark: ImageMark, height: float) -> str:
    media = "image/png" if mark.data.startswith(b"\x89PNG") else "image/jpeg"
    data = b64encode(mark.data).decode("ascii")
    x, y = mark.at_mm
    place = f'transform="translate({_n(x)} {_n(height - y)}) rotate({_n(-mark.turn_deg)})"'
    size = f'y="{_n(-mark.height_mm)}" width="{_n(mark.width_mm)}" height="{_n(mark.height_mm)}"'
    return (
        f'<image {place} {size} opacity="{_n(mark.opacity)}" preserveAspectRatio="none" '
        f'href="data:{media};base64,{data}"/>'
    )
