"""The formboard: the harness flat on a board, as an overview with its stations, and at 1:1 in tiles."""

from core.analysis.analysis import Analysis
from core.errors import LoomwrightError
from core.geometry.plane import offset, part, point_at
from core.model import Point
from core.pages.fold_out import SCALES
from core.pages.leaves import Leaf, blank, bound
from core.pages.lettering import fitted, text_mark
from core.pages.marks import AnyMark, CircleMark, LineMark, Page
from core.pages.paper import LARGER, Imprint, Paper, paper
from core.pages.sheet_bundles import diameter_words
from core.pages.sheet_trunks import find_trunks
from core.pages.surface_pages import nothing_yet
from core.pages.surface_view import Lettering
from core.pages.table_pages import table_leaves
from core.pages.tiles import tiled
from core.pages.transform import Rect
from core.tables.formboard import LANE_MM, Board, Run, boards, end_words, stations
from core.text import mm

TITLE = "Formboard"
#: The em of words at 1:1, whose capitals are 3 mm high.
WORDS_MM = 4.3
#: A mark every so far along a run, so that tiles can be checked against each other.
RULE_MM = 100.0
#: Of the overview: least and most distance of two lanes.
PITCH_MM = 9.0
MOST_PITCH_MM = 15.0
NAME_MM = 3.3
LEGEND_MM = 9.0
#: A coarser scale than this, or lanes nearer together, need the next larger paper.
COARSEST = 50.0
LINES_MM = (0.5, 1.6)


def formboard_pages(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """The overview of all harnesses, then the list of stations."""
    made = boards(analysis)
    if not made:
        return nothing_yet(TITLE, imprint)
    usual = paper(imprint.choices.paper, "landscape")
    on, area = usual, _area(usual, imprint)
    scale, pitch = _fit(made, area)
    if scale > COARSEST or pitch < PITCH_MM:
        on = paper(LARGER.get(usual.name, usual.name), "landscape")
        area = _area(on, imprint)
        scale, pitch = _fit(made, area)
    words = f"Lengths along the lines 1 : {scale:g}; the lanes are drawn apart. Every run starts at its own datum."
    legend = text_mark(area.left, area.bottom - LEGEND_MM + 3, fitted(words, "label_medium", 3.4, area.width), 3.4,
                       font="label_medium")  # fmt: skip
    marks = (*_overview(analysis, made, area, scale, pitch), legend)
    overview = Leaf(on, f"{TITLE}: overview", marks, f"1 : {scale:g} along")
    return bound((overview, *table_leaves(stations(analysis), usual, imprint, follows=True)), imprint)


def formboard_tiles(analysis: Analysis, imprint: Imprint) -> tuple[Page, ...]:
    """The boards at 1:1 on as many sheets as it takes, empty ones left out; a page that says so where nobody would
    glue as many."""
    made = boards(analysis)
    if not made:
        return nothing_yet(TITLE, imprint)
    on = paper(imprint.choices.paper, "landscape")
    try:
        return tiled(board_marks(analysis, made), on, imprint, f"{TITLE} 1 : 1", skip_empty=True)
    except LoomwrightError as error:
        # The other papers shall not be lost for this one.
        return nothing_yet(TITLE, imprint, str(error))


def _area(on: Paper, imprint: Imprint) -> Rect:
    """What the overview may fill; the line of words stands below."""
    free = blank(on, imprint, TITLE, "1 : 10")
    return Rect(free.left, free.bottom + LEGEND_MM, free.right, free.top - 4)


def _fit(made: tuple[Board, ...], area: Rect) -> tuple[float, float]:
    """The finest round scale at which the longest run fits, with room for its last name, and the distance of lanes."""
    points = [p for board in made for run in board.runs for p in run.line_mm]
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    lanes = (max(y for _, y in points) - min(y for _, y in points)) / LANE_MM + 2
    scale = next((s for s in SCALES if wide / s <= area.width - 45), SCALES[-1])
    return float(scale), min(MOST_PITCH_MM, area.height / lanes)


def _overview(analysis: Analysis, made: tuple[Board, ...], area: Rect, scale: float, pitch: float) -> list[AnyMark]:
    """Every run as a line as long as its channels, with its nodes and the names of what ends at its end."""
    trunks = find_trunks(analysis.plan.channels, analysis.bundles)
    points = [p for board in made for run in board.runs for p in run.line_mm]
    left, top = min(x for x, _ in points), max(y for _, y in points)

    def at(p: Point) -> Point:
        return area.left + 4 + (p[0] - left) / scale, area.top - pitch - (top - p[1]) / LANE_MM * pitch

    lines: list[AnyMark] = []
    signs: list[AnyMark] = []
    letters = Lettering(1.0)
    thickest = max(bundle.diameter_laid_mm for bundle in analysis.bundles.values())
    runs = [run for board in made for run in board.runs]
    for run in runs:
        letters.take_line(tuple(at(p) for p in run.line_mm), LINES_MM[1])
        for index, channel in enumerate(run.channels):
            line = tuple(at(p) for p in part(run.line_mm, run.at_mm[index], run.at_mm[index + 1]))
            share = analysis.bundles[channel].diameter_laid_mm / thickest
            width = LINES_MM[0] + (LINES_MM[1] - LINES_MM[0]) * share
            style = f"bundle:{trunks.by_channel[channel].colour}"
            lines.append(LineMark(style=style, subject=channel, points_mm=line, width_mm=width))
        signs += [
            CircleMark(style="fold:mark", subject=node, centre_mm=at(run.place(index)), radius_mm=0.7, filled=True)
            for index, node in enumerate(run.nodes)
        ]
    for run in runs:
        ends = ", ".join(told.partition(":")[0] for told in end_words(analysis, run.nodes[-1]))
        words = f"{run.nodes[-1]} at {mm(run.at_mm[-1])}{f': {ends}' if ends else ''}"
        x, y = at(run.place(len(run.nodes) - 1))
        told = fitted(words, "label", NAME_MM, max(area.right - x - 2, 30.0))
        signs += letters.beside((x, y), told, run.nodes[-1], NAME_MM)
    for board in made:
        x, y = at(board.runs[0].place(0))
        signs.append(LineMark(style="tick", points_mm=((x, y - 3), (x, y + 3))))
        signs.append(text_mark(x, y + 3.8, "DATUM 0", NAME_MM, font="label_bold"))
    return [*lines, *signs]


def board_marks(analysis: Analysis, made: tuple[Board, ...]) -> list[AnyMark]:
    """All boards at 1:1. Bundles are two lines as far apart as they are thick: black ink would hide the words."""
    marks: list[AnyMark] = []
    letters = Lettering(1.0)
    runs = [run for board in made for run in board.runs]
    for run in runs:
        for index, channel in enumerate(run.channels):
            line = part(run.line_mm, run.at_mm[index], run.at_mm[index + 1])
            half = analysis.bundles[channel].diameter_laid_mm / 2
            marks.append(LineMark(style="fold", subject=channel, points_mm=line))
            sides = (offset(line, by) for by in (half, -half))
            marks += [LineMark(style="outline", subject=channel, points_mm=side) for side in sides]
            letters.take_line(line, 2 * half)
        for number in range(1, int(run.at_mm[-1] / RULE_MM) + 1):
            x, y = point_at(run.line_mm, number * RULE_MM)
            marks.append(LineMark(style="dimension", points_mm=((x, y - 4), (x, y + 4))))
    for run in runs:
        for index, node in enumerate(run.nodes):
            here = run.place(index)
            clear = (0.0, _half_mm(analysis, run, index))
            marks.append(CircleMark(style="fold:mark", subject=node, centre_mm=here, radius_mm=1.2, filled=True))
            marks += letters.at(here, f"{node} at {mm(run.at_mm[index])}", node, WORDS_MM, clear_mm=clear)
            for told in end_words(analysis, node) if index or not run.level else ():
                marks += letters.at(here, told, node, WORDS_MM, "label_medium", clear_mm=clear)
    for run in runs:
        for index, channel in enumerate(run.channels):
            bundle = analysis.bundles[channel]
            middle = point_at(run.line_mm, (run.at_mm[index] + run.at_mm[index + 1]) / 2)
            told = f"{channel}: {len(bundle.wires)} × {diameter_words(bundle.diameter_laid_mm)}, {mm(bundle.length_mm)}"
            marks += letters.at(middle, told, channel, WORDS_MM, "label", clear_mm=(0.0, bundle.diameter_laid_mm / 2))
    for board in made:
        x, y = board.runs[0].place(0)
        marks.append(LineMark(style="metal_edge", points_mm=((x, y - 30), (x, y + 30))))
        marks.append(text_mark(x + 1.5, y + 26, "DATUM 0", WORDS_MM, font="label_bold"))
    return marks


def _half_mm(analysis: Analysis, run: Run, index: int) -> float:
    """Half of the thicker bundle at a node of a run."""
    here = run.channels[max(0, index - 1) : index + 1]
    return max(analysis.bundles[channel].diameter_laid_mm for channel in here) / 2
