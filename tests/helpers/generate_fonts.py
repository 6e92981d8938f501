"""Makes the shipped fonts and their advance table from the open fonts they are cut from.

    pip download --no-deps --dest FOLDER fontpkg-inter==4.1.post1 fontpkg-barlow-semi-condensed==1.408
    python -m tests.helpers.generate_fonts FOLDER

Each cut is one weight of one slope with

- tabular digits as *the* digits: a font feature would do the same on screen, but in a PDF the digits of a feature are
  no longer found by a text search;
- no feature that replaces letters by others (an arrow for `->`), so that a text is as wide as its letters;
- the spaces and arrows that our texts use, where the open font lacks them;
- a family name of our own, for a font of the same name on the machine has other digits. The licence asks for no more.
"""

from __future__ import annotations

import io
import json
import sys
import zipfile
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

from core.text import FONTS, Cut

FONT_FOLDER = Path(__file__).resolve().parents[2] / "resources" / "fonts"


@dataclass(frozen=True)
class Source:
    """Where a cut comes from: file inside a wheel, and the place on its axes when it is a variable font."""

    wheel: str
    member: str
    axes: dict[str, float] | None = None


INTER, BARLOW = "fontpkg_inter-", "fontpkg_barlow_semi_condensed-"
UPRIGHT, SLOPED = "fontpkg_inter/files/Inter[opsz,wght].ttf", "fontpkg_inter/files/Inter-Italic[opsz,wght].ttf"
DRAWING = "fontpkg_barlow_semi_condensed/files/BarlowSemiCondensed-"
SOURCES = {
    "text": Source(INTER, UPRIGHT, {"opsz": 14, "wght": 400}),
    "text-medium": Source(INTER, UPRIGHT, {"opsz": 14, "wght": 500}),
    "text-semibold": Source(INTER, UPRIGHT, {"opsz": 14, "wght": 600}),
    "text-bold": Source(INTER, UPRIGHT, {"opsz": 14, "wght": 700}),
    "text-italic": Source(INTER, SLOPED, {"opsz": 14, "wght": 400}),
    "drawing": Source(BARLOW, DRAWING + "Regular.ttf"),
    "drawing-medium": Source(BARLOW, DRAWING + "Medium.ttf"),
    "drawing-semibold": Source(BARLOW, DRAWING + "SemiBold.ttf"),
}
# Latin, marks, Greek, Cyrillic, Latin of Vietnam, punctuation to number forms, arrows, mathematics, ⌀, shapes, ticks.
KEPT = ((0x20, 0x52F), (0x1E00, 0x1EFF), (0x2000, 0x22FF), (0x2300, 0x2300), (0x25A0, 0x25FF), (0x2713, 0x2717))
KEPT_FEATURES = ["ccmp", "locl", "mark", "mkmk", "kern"]
WIDTHS_OF_SPACES = {0x2009: 0.2, 0x202F: 0.2}  # of the em: thin space and its no-break twin


def cut(name: str, wheels: Path) -> TTFont:
    """One font as it is shipped."""
    source = SOURCES[name]
    (wheel,) = wheels.glob(source.wheel + "*.whl")
    with zipfile.ZipFile(wheel) as archive:
        font = TTFont(io.BytesIO(archive.read(source.member)))
    if source.axes is not None:
        font = instantiateVariableFont(font, source.axes)
    make_digits_tabular(font)
    add_missing_signs(font)
    options = Options(layout_features=KEPT_FEATURES, name_IDs=["*"], notdef_outline=True, hinting=False)
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=[code for first, last in KEPT for code in range(first, last + 1)])
    subsetter.subset(font)
    rename(font, FONTS[name])
    return font


def make_digits_tabular(font: TTFont) -> None:
    """Let the characters 0 to 9 point at the glyphs that the font itself offers as tabular."""
    gsub = font["GSUB"].table
    replaced: dict[str, str] = {}
    for record in gsub.FeatureList.FeatureRecord:
        if record.FeatureTag == "tnum":
            for index in record.Feature.LookupListIndex:
                for subtable in gsub.LookupList.Lookup[index].SubTable:
                    replaced |= getattr(subtable, "ExtSubTable", subtable).mapping
    for table in font["cmap"].tables:
        for code in range(0x30, 0x3A):
            if code in table.cmap:
                table.cmap[code] = replaced.get(table.cmap[code], table.cmap[code])
    widths = {font["hmtx"][font.getBestCmap()[code]][0] for code in range(0x30, 0x3A)}
    if len(widths) != 1:
        raise SystemExit(f"the digits have different widths: {sorted(widths)}")


def add_missing_signs(font: TTFont) -> None:
    """Spaces, and arrows as wide as a plus sign and as thick as a hyphen, where the font has none."""
    em = font["head"].unitsPerEm
    present = font.getBestCmap()
    for code, share in WIDTHS_OF_SPACES.items():
        if code not in present:
            add_glyph(font, code, TTGlyphPen(None), round(share * em))
    plus = font["glyf"][present[ord("+")]]
    hyphen = font["glyf"][present[ord("-")]]
    width = font["hmtx"][present[ord("+")]][0]
    reach, half = (plus.xMax - plus.xMin) / 2, (hyphen.yMax - hyphen.yMin) / 2
    middle = (plus.xMax + plus.xMin) / 2, (plus.yMax + plus.yMin) / 2
    head = reach * 0.8
    right = [(-1, -half), (reach - head, -half), (reach - head, -head), (reach, 0), (reach - head, head)]
    right += [(reach - head, half), (-1, half)]
    right = [(-reach if x == -1 else x, y) for x, y in right]
    turns = {0x2192: (1, 0), 0x2191: (0, 1), 0x2190: (-1, 0), 0x2193: (0, -1)}
    for code, (cos, sin) in turns.items():
        if code not in present:
            pen = TTGlyphPen(None)
            points = [(middle[0] + x * cos - y * sin, middle[1] + x * sin + y * cos) for x, y in right]
            for index, (x, y) in enumerate(reversed(points)):  # TrueType fills what runs clockwise
                (pen.lineTo if index else pen.moveTo)((round(x), round(y)))
            pen.closePath()
            add_glyph(font, code, pen, width)


def add_glyph(font: TTFont, code: int, pen: TTGlyphPen, width: int) -> None:
    name = f"uni{code:04X}"
    glyph = pen.glyph()
    order = font.getGlyphOrder()
    font.setGlyphOrder([*order, name] if name not in order else order)
    font["glyf"][name] = glyph
    glyph.recalcBounds(font["glyf"])
    font["hmtx"][name] = (width, getattr(glyph, "xMin", 0) or 0)
    for table in font["cmap"].tables:
        if table.isUnicode():
            table.cmap[code] = name


def rename(font: TTFont, target: Cut) -> None:
    """Our family and style names; copyright, licence and designer stay."""
    names = font["name"]
    for record in list(names.names):
        if record.nameID in (1, 2, 3, 4, 6, 16, 17, 18, 21, 22, 25) or record.nameID > 255 or record.platformID != 3:
            names.removeNames(record.nameID, record.platformID, record.platEncID, record.langID)
    plain = target.style in ("Regular", "Italic", "Bold")
    values = {
        1: target.family if plain else f"{target.family} {target.style}",
        2: target.style if plain else "Regular",
        3: f"Loomwright;{target.file}",
        4: f"{target.family} {target.style}",
        6: Path(target.file).stem,
    }
    if not plain:
        values |= {16: target.family, 17: target.style}
    for identifier, text in values.items():
        names.setName(text, identifier, 3, 1, 0x409)
    font["OS/2"].usWeightClass = target.weight
    for tag in ("STAT", "DSIG", "MVAR", "avar"):
        if tag in font:
            del font[tag]


def measures(font: TTFont) -> dict[str, object]:
    """What `core.text` needs to know of one cut, in units of its em; advances grouped by width to stay readable."""
    by_width: defaultdict[int, list[str]] = defaultdict(list)
    for code, glyph in sorted(font.getBestCmap().items()):
        by_width[font["hmtx"][glyph][0]].append(chr(code))
    return {
        "units_per_em": font["head"].unitsPerEm,
        "ascent": font["hhea"].ascent,
        "descent": -font["hhea"].descent,
        "cap_height": font["OS/2"].sCapHeight,
        "x_height": font["OS/2"].sxHeight,
        "advances": {str(width): "".join(characters) for width, characters in sorted(by_width.items())},
    }


def main() -> None:
    wheels = Path(sys.argv[1])
    table = {}
    for name, target in FONTS.items():
        font = cut(name, wheels)
        font["head"].modified = font["head"].created  # the same input gives the same bytes
        font.recalcTimestamp = False
        font.save(FONT_FOLDER / target.file)
        table[name] = measures(font)
        print(target.file, (FONT_FOLDER / target.file).stat().st_size)
    text = json.dumps(table, ensure_ascii=False, indent=1) + "\n"
    (FONT_FOLDER / "advances.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
