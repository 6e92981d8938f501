"""The frame of a page: heading, title block, cautions, and the bar that proves the print's scale."""

from dataclasses import dataclass

from core.pages.imprint import PLANNING_AID, SIDES, brief_cautions
from core.pages.lettering import fitted, lines, text_mark, width_mm
from core.pages.marks import AnyMark, AreaMark, LineMark
from core.pages.paper import Imprint, Paper

BAR_MM = 100.0
TITLE_MM = 7.0
SMALL_MM = 2.5
VALUE_MM = 3.1
LEADING = 1.3


@dataclass(frozen=True)
class Frame:
    """The marks of the frame, and the free area between them: left, bottom, right, top in mm."""

    marks: tuple[AnyMark, ...]
    left: float
    bottom: float
    right: float
    top: float


def frame(
    paper: Paper, imprint: Imprint, title: str, page: int, pages: int, *, scale: str = "", brief: bool = False
) -> Frame:
    """Heading at the top, title block at the bottom. A page with a `scale` also gets the 100 mm bar; on a `brief` one
    a line stands for the cautions, which are told in full on the first page."""
    left, right = paper.margin_mm, paper.width_mm - paper.margin_mm
    top, marks = _heading(paper, imprint, title, left, right)
    bottom, block = title_block(paper, imprint, page, pages, left, right, scale, brief)
    return Frame(marks=(*marks, *block), left=left, bottom=bottom, right=right, top=top)


def _heading(
    paper: Paper, imprint: Imprint, title: str, left: float, right: float
) -> tuple[float, tuple[AnyMark, ...]]:
    base = paper.height_mm - paper.margin_mm - TITLE_MM * 0.75
    name_width = (right - left) * 0.5
    about = " · ".join(text for text in (imprint.vehicle, imprint.customer) if text)
    marks: list[AnyMark] = [
        text_mark(left, base, title, TITLE_MM, font="label_bold", style="text:title"),
        text_mark(
            right, base + 1.6, fitted(imprint.plan, "label_bold", 4.2, name_width), 4.2, font="label_bold",
            anchor="right",
        ),
        text_mark(right, base - 2.6, fitted(about, "text", 2.6, name_width), 2.6, font="text", style="text:muted",
                  anchor="right"),
        LineMark(style="rule", points_mm=((left, base - 5.0), (right, base - 5.0))),
    ]  # fmt: skip
    return base - 5.0, tuple(marks)


def title_block(
    paper: Paper,
    imprint: Imprint,
    page: int,
    pages: int,
    left: float,
    right: float,
    scale: str = "",
    brief: bool = False,
) -> tuple[float, tuple[AnyMark, ...]]:
    """The block at the foot of a page, from `left` to `right`; returns its upper end and its marks."""
    marks: list[AnyMark] = []
    y = paper.margin_mm
    foot = f"{PLANNING_AID} {SIDES}"
    for line in reversed(lines(foot, "text", SMALL_MM, right - left)):
        marks.append(text_mark(left, y + 0.6, line, SMALL_MM, font="text", style="text:muted"))
        y += SMALL_MM * LEADING
    y += 1.6
    if scale:
        marks += scale_bar(left, y, "If it is not, print again at 100 %.")
        y += 8.5
    fields = [
        ("Page", f"{page} of {pages}"),
        ("Revision", imprint.revision or "–"),
        ("Date", imprint.date or "–"),
        ("Units", "millimetres"),
        ("Profile", imprint.profile or "–"),
    ]
    if scale:
        fields.insert(1, ("Scale", scale))
    marks += field_row(fields, left, y, right)
    y += 9.0
    cautions = brief_cautions(imprint.cautions) if brief else imprint.cautions
    caution_marks, y = caution_block(cautions, left, y, right)
    marks += caution_marks
    marks.append(LineMark(style="rule", points_mm=((left, y), (right, y))))
    return y, tuple(marks)


def field_row(fields: list[tuple[str, str]], left: float, y: float, right: float) -> list[AnyMark]:
    """Small name above, value below; every field as wide as it needs, the last one takes the rest."""
    marks: list[AnyMark] = []
    x = left
    for number, (name, value) in enumerate(fields):
        rest = right - x
        shown = value if number < len(fields) - 1 else fitted(value, "label_bold", VALUE_MM, rest)
        marks.append(text_mark(x, y + VALUE_MM + 1.6, name, SMALL_MM, style="text:muted"))
        marks.append(text_mark(x, y + 0.8, shown, VALUE_MM, font="label_bold"))
        x += max(width_mm(shown, "label_bold", VALUE_MM), width_mm(name, "label", SMALL_MM)) + 8.0
    return marks


def caution_block(cautions: tuple[str, ...], left: float, y: float, right: float) -> tuple[list[AnyMark], float]:
    """The cautions with a warning sign each, the first one topmost; returns the marks and their upper end."""
    marks: list[AnyMark] = []
    indent, size = 5.0, 2.7
    for text in reversed(cautions):
        broken = lines(text, "text_medium", size, right - left - indent)
        for line in reversed(broken):
            marks.append(text_mark(left + indent, y + 0.7, line, size, font="text_medium"))
            y += size * LEADING
        marks += warning_sign(left + 1.9, y - size * LEADING + 1.55, 3.4)
        y += 0.7
    return marks, y + (1.2 if cautions else 0.0)


def warning_sign(x: float, y: float, height: float, text: str = "!", style: str = "warning") -> list[AnyMark]:
    """A triangle round (x, y), in the manner of ISO 7010 warning signs. `style` is "warning" or "error"."""
    half = height / 3**0.5
    corners = ((x - half, y - height / 2), (x + half, y - height / 2), (x, y + height / 2))
    lettering = "text:sign_error" if style == "error" else "text:sign"
    return [
        AreaMark(style=f"sign:{style}", outline_mm=corners, radius_mm=height * 0.08),
        text_mark(x, y - height * 0.36, text, height * 0.72, font="label_bold", style=lettering, anchor="middle"),
    ]


def scale_bar(left: float, y: float, note: str) -> list[AnyMark]:
    """A bar of exactly 100 mm from `left`, ticks at every centimetre, `note` beside it."""
    marks: list[AnyMark] = [LineMark(style="rule", points_mm=((left, y + 1.5), (left + BAR_MM, y + 1.5)))]
    for step in range(11):
        height = 3.4 if step in (0, 10) else 2.6 if step == 5 else 1.5
        x = left + step * 10
        marks.append(LineMark(style="rule", points_mm=((x, y + 1.5), (x, y + 1.5 + height))))
    marks.append(text_mark(left + BAR_MM + 3, y + 3.6, "100 mm when printed", SMALL_MM + 0.3, font="label_bold"))
    marks.append(text_mark(left + BAR_MM + 3, y + 0.6, note, SMALL_MM, style="text:muted"))
    return marks
