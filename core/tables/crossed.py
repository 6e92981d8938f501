"""What a bundle passes and what protects it there, in the words that stand on lists."""

from collections.abc import Mapping

from core.analysis.analysis import Analysis
from core.analysis.crossings import REACH_MM, SHELTERED
from core.analysis.results import Crossing
from core.model import PassThrough
from core.tables.names import Names, words

#: Words before the name of what is crossed.
BEFORE: Mapping[str, str] = {
    "box_wall": "wall of",
    "wheel_arch": "wheel arch",
    "panel_edge": "edge of",
    "opening": "edge of",
    "metal_edge": "edge",
    "hole": "hole",
    "moving_part": "way of",
}


class Crossed:
    """Words for the crossings of one analysis."""

    def __init__(self, analysis: Analysis) -> None:
        self._analysis, self._names = analysis, Names(analysis.plan)
        self._ribs = {rib.id: rib for rib in analysis.plan.ribs}
        self._seams = {seam.id: seam for seam in analysis.plan.seams}
        self._passes: dict[str, list[PassThrough]] = {}
        for row in analysis.plan.pass_throughs:
            self._passes.setdefault(row.channel, []).append(row)
        self._holes = {hole.id: hole for hole in analysis.plan.penetrations}

    def thing(self, row: Crossing) -> str:
        """What is crossed: "rib", "wall of Electrical cabinet", "fold to Ceiling", "seam C to Ceiling"."""
        if row.kind in ("fold", "seam", "moving_joint"):
            return self._meeting(row)
        rib = self._ribs.get(row.with_)
        name = self._names(row.with_)
        if rib is not None:
            return rib.name or rib.kind
        if name == row.with_:
            return words(row.kind)
        before = BEFORE.get(row.kind, "")
        return name if not before or name.lower().startswith(before) else f"{before} {name}"

    def _meeting(self, row: Crossing) -> str:
        """A fold is known by its child's surface, a seam by its letter; told is the surface on the other side."""
        here = self._analysis.channels[row.channel].surface
        seam = self._seams.get(row.with_)
        if seam is not None:
            there = seam.b if here == seam.a else seam.a
            letter = self._analysis.sheet.seam_letters.get(seam.id, "")
            return f"seam {letter} to {self._names(there)}" if letter else f"seam to {self._names(there)}"
        surface = self._analysis.surfaces.get(row.with_)
        there = surface.fold.parent if surface is not None and surface.fold and here == row.with_ else row.with_
        kind = "moving joint to" if row.kind == "moving_joint" else "fold to"
        return f"{kind} {self._names(there)}"

    def protection(self, row: Crossing) -> str:
        """What protects the bundle there, "" where nothing does."""
        if not row.protected:
            return ""
        hole = self._holes.get(row.with_)
        if hole is not None:
            return words(hole.protection)
        near = [
            p
            for p in self._passes.get(row.channel, ())
            if p.protection != "none" and abs(p.at_mm - row.at_mm) <= REACH_MM * 2
        ]
        if near:
            return words(min(near, key=lambda p: abs(p.at_mm - row.at_mm)).protection)
        if self._analysis.channels[row.channel].kind in SHELTERED:
            return words(self._analysis.channels[row.channel].kind)
        return "moving joint" if row.kind == "moving_joint" else "nothing to do"
