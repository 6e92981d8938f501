"""The column at the right of the fold-out plan: title, bundles, what to check, how to read it, how it folds."""

from collections.abc import Callable
from dataclasses import dataclass, field

from core.analysis.analysis import Analysis
from core.pages.folding_picture import folding_picture
from core.pages.frame import SMALL_MM, caution_block, scale_bar, warning_sign
from core.pages.imprint import PLANNING_AID, SIDES
from core.pages.lettering import Font, fitted, lines, text_mark
from core.pages.marks import AnyMark, AreaMark, CircleMark, LineMark, TextMark
from core.pages.paper import Imprint
from core.pages.sheet_base import World
from core.pages.sheet_bundles import drawn_width_mm
from core.pages.sheet_callouts import spots_on_sheet, worst
from core.pages.sheet_trunks import Trunk, find_trunks
from core.tables.contract import standing_findings
from core.tables.names import SEVERITY_ORDER
from core.text import metres, mm, number

TITLE_MM = 9.0
HEADING_MM = 3.3
TEXT_MM = 3.1
ROW_MM = 6.6
MOST_FINDINGS = 6
PICTURE_MM = (42.0, 110.0)


@dataclass
class _Column:
    """A column filled from the top: the marks so far and where the next part begins."""

    left: float
    right: float
    y: float
    marks: list[AnyMark] = field(default_factory=list)

    @property
    def width(self) -> float:
        return self.right - self.left

    def heading(self, text: str) -> None:
        self.y -= 5.2
        self.marks.append(
            text_mark(self.left, self.y, text.upper(), HEADING_MM, font="label_bold", style="text:heading")
        )
        self.y -= 1.6
        self.rule("rule")

    def rule(self, style: str = "rule:thin") -> None:
        self.marks.append(LineMark(style=style, points_mm=((self.left, self.y), (self.right, self.y))))


def column(
    analysis: Analysis, imprint: Imprint, scale: float, paper: str, left: float, right: float, bottom: float, top: float
) -> tuple[AnyMark, ...]:
    """The column between `left` and `right`. What does not fit above the title block is left out, the picture first."""
    foot, floor = _foot(imprint, scale, paper, left, right, bottom)
    it = _Column(left, right, top)
    _title(it, imprint)
    _bundles(it, analysis, scale, floor)
    _checks(it, analysis, scale, floor)
    _reading(it, floor)
    room = it.y - floor - 14
    if room >= PICTURE_MM[0]:
        high = min(room, PICTURE_MM[1])
        it.heading("How the sheet folds")
        it.y -= 4.4
        words = "Every surface is drawn as seen from inside the vehicle; lengths along the sheet are true."
        it.marks.append(text_mark(left, it.y, fitted(words, "label", SMALL_MM + 0.3, it.width), SMALL_MM + 0.3,
                                  style="text:muted"))  # fmt: skip
        it.marks += folding_picture(analysis.plan.surfaces, left, it.y - 3 - high, it.width, high - 1)
    return (*it.marks, *foot)


def _title(it: _Column, imprint: Imprint) -> None:
    it.y -= TITLE_MM * 0.76
    it.marks.append(text_mark(it.left, it.y, "Wiring fold-out plan", TITLE_MM, font="label_bold", style="text:title"))
    it.y -= 6.6
    it.marks.append(text_mark(it.left, it.y, fitted(imprint.plan, "label_bold", 4.0, it.width), 4.0, font="label_bold"))
    it.y -= 4.2
    words = " · ".join(
        part for part in (imprint.vehicle, imprint.customer, "all surfaces folded flat, seen from inside") if part
    )
    it.marks.append(text_mark(it.left, it.y, fitted(words, "label", 3.0, it.width), 3.0, style="text:muted"))
    it.y -= 3.0


def _bundles(it: _Column, analysis: Analysis, scale: float, floor: float) -> None:
    """One row a trunk, the sample drawn as thick as its thickest part is on this sheet."""
    trunks = find_trunks(analysis.plan.channels, analysis.bundles).trunks
    if not trunks:
        return
    names = _places(analysis)
    fixings: dict[str, int] = {}
    for row in analysis.securing:
        fixings[row.channel] = fixings.get(row.channel, 0) + 1
    it.heading("Bundles")
    ends = [it.right - 48, it.right - 33, it.right - 16, it.right]
    it.y -= 4.0
    for x, title in zip(ends, ("wires, most", "Ø mm, most", "one-way m", "fixings"), strict=True):
        it.marks.append(text_mark(x, it.y, title, SMALL_MM, style="text:muted", anchor="right"))
    it.marks.append(text_mark(it.left, it.y, "drawn to scale", SMALL_MM, style="text:muted"))
    it.marks.append(text_mark(it.left + 27, it.y, "where", SMALL_MM, style="text:muted"))
    it.y -= 1.4
    total_mm, total_fixings = 0.0, 0
    for number_, trunk in enumerate(trunks):
        if it.y - 2 * ROW_MM < floor:
            it.y -= 3.6
            rest = f"and {len(trunks) - number_} more, in the bundle table"
            it.marks.append(text_mark(it.left, it.y, rest, SMALL_MM, style="text:muted"))
            break
        bundles = [analysis.bundles[channel] for channel in trunk.channels]
        thickest = max(bundles, key=lambda bundle: bundle.diameter_laid_mm)
        length, count = sum(b.length_mm for b in bundles), sum(fixings.get(c, 0) for c in trunk.channels)
        total_mm, total_fixings = total_mm + length, total_fixings + count
        it.y -= ROW_MM
        middle, base = it.y + ROW_MM / 2, it.y + ROW_MM / 2 - TEXT_MM * 0.36
        it.marks += _sample(trunk, it.left, middle, drawn_width_mm(thickest, scale) / scale)
        it.marks.append(text_mark(it.left + 18.5, base, trunk.name, TEXT_MM, font="label_bold"))
        where = fitted(_where(trunk, names), "label_medium", TEXT_MM, ends[0] - 11 - it.left - 27)
        it.marks.append(text_mark(it.left + 27, base, where, TEXT_MM, font="label_medium"))
        cells = (
            str(max(len(b.wires) for b in bundles)),
            number(thickest.diameter_laid_mm, 0 if thickest.diameter_laid_mm >= 9.95 else 1),
            metres(length, 1),
            str(count),
        )
        for x, text in zip(ends, cells, strict=True):
            it.marks.append(text_mark(x, base, text, TEXT_MM, font="label_medium", anchor="right"))
        it.rule()
    it.y -= ROW_MM
    base = it.y + ROW_MM / 2 - TEXT_MM * 0.36
    it.marks.append(text_mark(it.left + 27, base, "Total", TEXT_MM, font="label_bold"))
    for x, text in ((ends[2], metres(total_mm, 1)), (ends[3], str(total_fixings))):
        it.marks.append(text_mark(x, base, text, TEXT_MM, font="label_bold", anchor="right"))


def _where(trunk: Trunk, names: dict[str, str]) -> str:
    """Where the trunk lies, each place once, at most three."""
    given = list(dict.fromkeys(names[channel] for channel in trunk.channels if names.get(channel)))
    return ", ".join(given[:3]) + (", …" if len(given) > 3 else "")


def _places(analysis: Analysis) -> dict[str, str]:
    """What a channel is called: by its own name, else by its surface, else as one that is known by its length."""
    surfaces = {surface.id: surface.name for surface in analysis.plan.surfaces}
    return {
        channel.id: channel.name or surfaces.get(channel.surface or "", "by tape") for channel in analysis.plan.channels
    }


def _sample(trunk: Trunk, left: float, y: float, wide: float) -> list[AnyMark]:
    style = f"bundle:{trunk.colour}"
    marks: list[AnyMark] = [LineMark(style=style, points_mm=((left, y), (left + 15, y)), width_mm=wide)]
    for x in (left + 4, left + 11):
        ends = ((x, y - wide / 2 - 1), (x, y + wide / 2 + 1))
        marks += [LineMark(style="tick:gap", points_mm=ends), LineMark(style="tick", points_mm=ends)]
    return marks


def _checks(it: _Column, analysis: Analysis, scale: float, floor: float) -> None:
    """The worst findings, those that have a number on the drawing before their equals, as many as have room."""
    findings = [finding for finding in standing_findings(analysis.findings) if finding.severity != "note"]
    spots = spots_on_sheet(World.of(analysis, "full", scale))
    numbered = [finding for finding, _ in worst(analysis.findings, spots)]
    findings.sort(key=lambda finding: (SEVERITY_ORDER[finding.severity], finding not in numbered))
    it.heading("Check before building")
    it.y -= 1.5
    if not findings:
        it.y -= 4.0
        it.marks.append(text_mark(it.left, it.y, "No errors and no warnings were found.", TEXT_MM, font="label_medium"))
        it.y -= 2.0
        return
    shown = 0
    for finding in findings[:MOST_FINDINGS]:
        message = lines(finding.message, "label_bold", TEXT_MM, it.width - 10)[:2]
        remedy = lines(finding.remedy, "label", TEXT_MM, it.width - 10)[:2] if finding.remedy else ()
        high = (len(message) + len(remedy)) * TEXT_MM * 1.25 + 2.4
        if it.y - high < floor + 30:
            break
        shown += 1
        sign = str(numbered.index(finding) + 1) if finding in numbered else "!"
        it.marks += warning_sign(it.left + 3.4, it.y - 3.6, 4.8, sign, finding.severity)
        parts = [("text", line) for line in message] + [("text:muted", line) for line in remedy]
        for style, line in parts:
            it.y -= TEXT_MM * 1.25
            font: Font = "label_bold" if style == "text" else "label"
            it.marks.append(text_mark(it.left + 10, it.y, line, TEXT_MM, font=font, style=style))
        it.y -= 2.4
    if shown < len(findings):
        it.y -= 2.0
        rest = f"and {len(findings) - shown} more, in the list of findings" if shown else f"{len(findings)} findings"
        it.marks.append(text_mark(it.left, it.y, rest, SMALL_MM, style="text:muted"))
        it.y -= 1.0


def _reading(it: _Column, floor: float) -> None:
    """The signs of the drawing in two columns."""
    signs: tuple[tuple[Callable[[float, float], list[AnyMark]], str], ...] = (
        (_bundle_sign, "Bundle with securing points"),
        (_fold_pass_sign, "Bundle passes a fold or seam"),
        (_line_sign("channel"), "Channel without wires"),
        (_line_sign("fold"), "Fold between surfaces"),
        (_box_sign("rib", 3.0), "Rib"),
        (_seam_sign, "Seam: equal letters meet"),
        (_box_sign("device", 7.0), "Device"),
        (_box_sign("box", 9.0), "Cabinet, box"),
        (_crossing_sign, "Rubs here, not protected"),
        (_metal_edge_sign, "Raw metal edge"),
    )
    rows = (len(signs) + 1) // 2
    if it.y - rows * 6.0 - 12 < floor:
        return
    it.heading("Reading the drawing")
    it.y -= 1.0
    for number_, (draw, words) in enumerate(signs):
        x = it.left + (number_ % 2) * it.width / 2
        y = it.y - (number_ // 2 + 0.5) * 6.0
        it.marks += draw(x, y)
        it.marks.append(text_mark(x + 17, y - TEXT_MM * 0.36, words, TEXT_MM, font="label"))
    it.y -= rows * 6.0 + 1.0


def _bundle_sign(x: float, y: float) -> list[AnyMark]:
    marks: list[AnyMark] = [LineMark(style="bundle:0", points_mm=((x, y), (x + 13, y)), width_mm=1.4)]
    for at in (x + 4, x + 9):
        ends = ((at, y - 1.7), (at, y + 1.7))
        marks += [LineMark(style="tick:gap", points_mm=ends), LineMark(style="tick", points_mm=ends)]
    return marks


def _fold_pass_sign(x: float, y: float) -> list[AnyMark]:
    outline = ((x + 5, y), (x + 6.5, y - 1.5), (x + 8, y), (x + 6.5, y + 1.5))
    return [AreaMark(style="fold:mark", outline_mm=outline)]


def _crossing_sign(x: float, y: float) -> list[AnyMark]:
    marks: list[AnyMark] = [CircleMark(style="crossing:warning", centre_mm=(x + 6.5, y), radius_mm=1.5, filled=True)]
    ends = [((x + 5.75, y - dy), (x + 7.25, y + dy)) for dy in (0.75, -0.75)]
    return [*marks, *(LineMark(style="crossing:warning", points_mm=pair) for pair in ends)]


def _seam_sign(x: float, y: float) -> list[AnyMark]:
    box = ((x + 4.6, y - 1.9), (x + 8.4, y - 1.9), (x + 8.4, y + 1.9), (x + 4.6, y + 1.9))
    return [
        LineMark(style="seam", points_mm=((x, y), (x + 13, y))),
        AreaMark(style="seam:tab", outline_mm=box),
        TextMark(style="text", at_mm=(x + 6.5, y), text="A", size_mm=2.8, anchor="middle", baseline="middle",
                 font="label_bold"),
    ]  # fmt: skip


def _metal_edge_sign(x: float, y: float) -> list[AnyMark]:
    marks: list[AnyMark] = [LineMark(style="metal_edge", points_mm=((x, y), (x + 13, y)))]
    teeth = [((x + at, y), (x + at + 0.66, y + 1.1)) for at in (1.2, 3.6, 6.0, 8.4, 10.8)]
    return [*marks, *(LineMark(style="dimension", points_mm=tooth) for tooth in teeth)]


def _line_sign(style: str) -> Callable[[float, float], list[AnyMark]]:
    return lambda x, y: [LineMark(style=style, points_mm=((x, y), (x + 13, y)))]


def _box_sign(style: str, wide: float) -> Callable[[float, float], list[AnyMark]]:
    def draw(x: float, y: float) -> list[AnyMark]:
        left = x + 6.5 - wide / 2
        outline = ((left, y - 2), (left + wide, y - 2), (left + wide, y + 2), (left, y + 2))
        return [AreaMark(style=style, outline_mm=outline, radius_mm=0.5 if style == "device" else 0.0)]

    return draw


def _foot(
    imprint: Imprint, scale: float, paper: str, left: float, right: float, bottom: float
) -> tuple[list[AnyMark], float]:
    """Title block, cautions and the bar; its marks and its upper end."""
    marks: list[AnyMark] = []
    y = bottom
    for line in reversed(lines(f"{PLANNING_AID} {SIDES}", "label", SMALL_MM, right - left)):
        marks.append(text_mark(left, y + 0.5, line, SMALL_MM, style="text:muted"))
        y += SMALL_MM * 1.3
    y += 2.0
    marks += scale_bar(left, y, f"{mm(scale * 100)} mm in the vehicle")
    y += 9.5
    rows = (
        (("Scale", f"1 : {scale:g} on {paper}"), ("Revision", imprint.revision or "–"), ("Units", "millimetres")),
        (("Page", "1 of 1"), ("Date", imprint.date or "–"), ("Profile", imprint.profile or "–")),
    )
    third = (right - left) / 3
    for row in reversed(rows):
        for number_, (name, value) in enumerate(row):
            x = left + number_ * third
            marks.append(text_mark(x, y + 5.0, name, SMALL_MM, style="text:muted"))
            shown = fitted(value, "label_bold", 3.5, third - 3)
            marks.append(text_mark(x, y + 1.0, shown, 3.5, font="label_bold"))
        y += 9.0
    caution_marks, y = caution_block(imprint.cautions, left, y + 1.0, right)
    marks += caution_marks
    marks.append(LineMark(style="rule", points_mm=((left, y), (right, y))))
    return marks, y
