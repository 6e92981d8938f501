"""Sheets of self-adhesive labels by their geometry. Sizes from memory: print on plain paper and hold it against the
sheet before the first real one."""

import msgspec

from core.errors import LoomwrightError


class LabelSheet(msgspec.Struct, frozen=True, kw_only=True):
    """A sheet of `across` by `down` labels; margins to the first label, pitches from label to label, mm."""

    name: str
    paper: str
    across: int
    down: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    pitch_x_mm: float
    pitch_y_mm: float

    @property
    def count(self) -> int:
        return self.across * self.down


SHEETS: dict[str, LabelSheet] = {
    "a4-65": LabelSheet(name="A4, 65 labels 38.1 × 21.2 mm", paper="A4", across=5, down=13, width_mm=38.1,
                        height_mm=21.2, left_mm=4.67, top_mm=10.7, pitch_x_mm=40.64, pitch_y_mm=21.2),
    "a4-40": LabelSheet(name="A4, 40 labels 48.5 × 25.4 mm", paper="A4", across=4, down=10, width_mm=48.5,
                        height_mm=25.4, left_mm=8.0, top_mm=21.5, pitch_x_mm=48.5, pitch_y_mm=25.4),
    "a4-21": LabelSheet(name="A4, 21 labels 63.5 × 38.1 mm", paper="A4", across=3, down=7, width_mm=63.5,
                        height_mm=38.1, left_mm=7.21, top_mm=15.15, pitch_x_mm=66.04, pitch_y_mm=38.1),
    "letter-30": LabelSheet(name="Letter, 30 labels 2⅝ × 1 in", paper="Letter", across=3, down=10, width_mm=66.675,
                            height_mm=25.4, left_mm=4.7625, top_mm=12.7, pitch_x_mm=69.85, pitch_y_mm=25.4),
    "letter-80": LabelSheet(name="Letter, 80 labels 1¾ × ½ in", paper="Letter", across=4, down=20, width_mm=44.45,
                            height_mm=12.7, left_mm=7.14, top_mm=12.7, pitch_x_mm=52.387, pitch_y_mm=12.7),
}  # fmt: skip


def label_sheet(name: str, paper: str) -> LabelSheet:
    """The sheet of that name, or the usual one for the paper where none is asked for. Raises LoomwrightError."""
    usual = "letter-30" if paper in ("Letter", "Tabloid") else "a4-65"
    if (name or usual) not in SHEETS:
        raise LoomwrightError(f"There is no label sheet {name}. There are: {', '.join(SHEETS)}.")
    return SHEETS[name or usual]
