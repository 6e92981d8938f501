"""Paper sizes and what the frame of a page needs to know."""

from typing import Literal

import msgspec

Orientation = Literal["portrait", "landscape"]

#: Width and height in mm, upright. ISO 216 for A, ANSI/ASME Y14.1 for Letter and Tabloid (both from memory).
SIZES: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "A2": (420.0, 594.0),
    "A1": (594.0, 841.0),
    "A0": (841.0, 1189.0),
    "Letter": (215.9, 279.4),
    "Tabloid": (279.4, 431.8),
}
#: Longest side of a PDF page that every reader opens: 14,400 units of 1/72 inch (PDF 1.7, annex C; from memory).
LONGEST_MM = 5080.0


class Paper(msgspec.Struct, frozen=True, kw_only=True):
    """A sheet of paper. `margin_mm` is kept free for the printer and for holes."""

    name: str
    width_mm: float
    height_mm: float
    margin_mm: float = 12.0


#: The next larger paper that a page goes to when it is crowded.
LARGER: dict[str, str] = {"A4": "A3", "A3": "A2", "A2": "A1", "A1": "A0", "Letter": "Tabloid", "Tabloid": "A2"}


def paper(name: str = "A4", orientation: Orientation = "portrait", margin_mm: float = 12.0) -> Paper:
    """A named paper. Raises KeyError naming the papers there are."""
    if name not in SIZES:
        raise KeyError(f"no paper {name}; there are {', '.join(SIZES)}")
    short, long = SIZES[name]
    width, height = (short, long) if orientation == "portrait" else (long, short)
    return Paper(name=name, width_mm=width, height_mm=height, margin_mm=margin_mm)


class Choices(msgspec.Struct, frozen=True, kw_only=True):
    """How this printing was asked for: the usual paper (a key of SIZES), the sheet of labels (a key of
    `label_sheets.SHEETS`; "" takes the usual one for the paper), its first free label, from 1 on row by row, and the
    scale 1 : `scale` of the fold-out plan (0 takes the finest that fits)."""

    paper: str = "A4"
    label_sheet: str = ""
    label_style: Literal["flag", "wrap"] = "flag"
    label_qr: bool = True
    first_label: int = 1
    scale: float = 0.0


class Imprint(msgspec.Struct, frozen=True, kw_only=True):
    """What stands on every page of one printing: from the plan, and the day it was printed."""

    plan: str
    vehicle: str = ""
    revision: str = ""
    date: str = ""
    profile: str = ""
    customer: str = ""
    cautions: tuple[str, ...] = ()
    choices: Choices = Choices()
