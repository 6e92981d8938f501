"""The values that go into and come out of sizing (`core.electrical.sizing` has them all)."""

from itertools import pairwise
from math import isfinite
from typing import Literal

import msgspec

from core.electrical.ampacity import Factor, FactorTable

Rule = Literal["fixed", "minimum size", "ampacity", "fuse", "fuse table", "bond fuse", "maker's table", "voltage drop"]


def _finite(owner: str, **values: float) -> None:
    for name, value in values.items():
        if not (isfinite(value) and value >= 0):
            raise ValueError(f"{owner}: {name} is {value}; expected a finite number, not negative")


class SizeTable(msgspec.Struct, frozen=True):
    """One kind of wire under one profile. Four columns of equal length, one row a section.

    `sections_mm2` rise and `r_ohm_per_m` (at the working conductor temperature) fall from row to row; `ampacity_a` is
    the table's value without factors, never falls, and is 0.0 where the table has none. `insulation_c` is the
    temperature of the ampacity table's column, `base_c` its ambient. `terminal_a` caps the derated value by the
    temperature rating of the terminals. `fuse_a` is the largest fuse that a rule allows on each section whatever its
    ampacity. `names` are the sections as they are sold ("10 AWG"), for messages. Raises ValueError for other columns.
    """

    sections_mm2: tuple[float, ...]
    r_ohm_per_m: tuple[float, ...]
    ampacity_a: tuple[float, ...]
    insulation_c: float
    base_c: float = 30.0
    terminal_a: tuple[float, ...] | None = None
    fuse_a: tuple[float, ...] | None = None
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        columns = [self.sections_mm2, self.r_ohm_per_m, self.ampacity_a]
        columns += [column for column in (self.terminal_a, self.fuse_a) if column is not None]
        if self.names and len(self.names) != len(self.sections_mm2):
            raise ValueError("a size table needs a name for every row, or none at all")
        if not self.sections_mm2 or len({len(column) for column in columns}) != 1:
            raise ValueError("a size table needs at least one row and columns of equal length")
        if not all(isfinite(value) and value >= 0 for column in columns for value in column):
            raise ValueError("a size table holds finite numbers, not negative")
        if self.sections_mm2[0] <= 0 or self.r_ohm_per_m[-1] <= 0:
            raise ValueError("sections and resistances must be above zero")
        if any(b <= a for a, b in pairwise(self.sections_mm2)):
            raise ValueError("the sections of a size table must rise from row to row")
        if any(b >= a for a, b in pairwise(self.r_ohm_per_m)):
            raise ValueError("the resistances of a size table must fall from row to row")
        for column in columns[2:]:
            if any(b < a for a, b in pairwise(column)):
                raise ValueError("the ampacities of a size table must not fall from row to row")
        if not (isfinite(self.insulation_c) and isfinite(self.base_c) and self.insulation_c > self.base_c):
            raise ValueError(f"insulation for {self.insulation_c} C under a table for {self.base_c} C ambient")


class Stretch(msgspec.Struct, frozen=True):
    """A stretch on which wires lie together (a channel). `ambient_c` None: the ambient of each conductor."""

    length_mm: float
    ambient_c: float | None = None
    covered_mm: float = 0.0
    engine_space: bool = False


class Floor(msgspec.Struct, frozen=True):
    """A smallest section that comes from outside, with the name of its rule."""

    section_mm2: float
    reason: Literal["maker's table", "minimum size", "bond fuse"] = "maker's table"


class Protection(msgspec.Struct, frozen=True):
    """One fuse or breaker: the running current through it and the standard ratings of its family, ascending.

    The rating is the smallest that is at least `factor` x `current_a`, or `fixed_a` when a person chose it. It may
    be at most `ampacity_share` x the derated ampacity of what it protects (1.5 is the exception of 33 CFR 183.455).
    As far as the family goes the rating is also at least `least_a` (the peak current) and no smaller than the ratings
    of the protections it `feeds`, so that the one next to a fault opens and not the one before.
    """

    current_a: float
    ratings_a: tuple[float, ...]
    factor: float = 1.25
    fixed_a: float | None = None
    ampacity_share: float = 1.0
    least_a: float = 0.0
    feeds: tuple[int, ...] = ()


class Conductor(msgspec.Struct, frozen=True):
    """One conductor between two terminals; its current is the same along its whole one-way length.

    `protection` is the index of the fuse it lies behind (feed, return and every leg of a daisy chain alike);
    `route` the indices of its stretches in order; `counts` False for earths and signals, which never count for
    grouping; `circuit` any number that is the same within a circuit. `fixed_mm2` is never changed, only judged.
    `parallel` conductors share the current, their table is that of all together, and each of them counts for grouping
    (a parallel set of cables as that many circuits; NEC 310.15(C)(1) and IEC 60364-5-52, both from memory).
    `bond_of` are the protections that can feed a fault into this bond or case ground. `peak_a` is only for
    `Sized.peak_drop_v`; limits at peak are paths of their own.
    """

    table: SizeTable
    length_mm: float
    current_a: float = 0.0
    peak_a: float = 0.0
    circuit: int = -1
    protection: int | None = None
    route: tuple[int, ...] = ()
    ambient_c: float = 30.0
    counts: bool = True
    parallel: int = 1
    fixed_mm2: float | None = None
    minimum_mm2: float = 0.0
    floors: tuple[Floor, ...] = ()
    bond_of: tuple[int, ...] = ()


class DropPath(msgspec.Struct, frozen=True):
    """Source to load and back: conductors in series (feeder and branch) with the current of each in this case.

    `fixed_v` is lost before them whatever their size (a mesh of feeders that is solved, not sized).
    """

    conductors: tuple[int, ...]
    currents_a: tuple[float, ...]
    limit_v: float
    fixed_v: float = 0.0


class SizingRules(msgspec.Struct, frozen=True):
    """The profile's rules. `grouping` None: no grouping factor; `covered` None: covered lengths do not apply.

    A conductor is loaded when its current is over `loaded_share` x the ampacity of its starting section (0: any
    current). Grouping applies where the sharing goes on for more than `shared_min_mm`. The ampacity must be at least
    `conductor_factor` x the running current (NEC, continuous: 1.25). `engine_factors`: engine spaces have the printed
    factors of 33 CFR 183.425 Table 5 note 1. `by_loading`: instead of `grouping` the MIL curves hold, by all the wires
    that lie together and by the share of their capacity that is in use. `altitude` is a factor on every ampacity.
    """

    grouping: FactorTable | None = None
    count_by: Literal["conductors", "circuits"] = "conductors"
    shared_min_mm: float = 0.0
    loaded_share: float = 0.0
    covered: FactorTable | None = None
    conductor_factor: float = 1.0
    engine_factors: bool = False
    by_loading: bool = False
    altitude: float = 1.0


class SizingProblem(msgspec.Struct, frozen=True):
    """All conductors that share stretches, fuses or drop, as one problem.

    `together`: groups of conductors that get one and the same section (cores of a cable, feed and return of a
    circuit). They need the same `SizeTable`; members with a fixed section are left out of the group.
    Raises ValueError for indices that point nowhere, numbers that are negative or not finite, a conductor in two
    groups.
    """

    conductors: tuple[Conductor, ...]
    stretches: tuple[Stretch, ...] = ()
    protections: tuple[Protection, ...] = ()
    paths: tuple[DropPath, ...] = ()
    rules: SizingRules = SizingRules()
    together: tuple[tuple[int, ...], ...] = ()

    def __post_init__(self) -> None:
        n, stretches, protections = len(self.conductors), len(self.stretches), len(self.protections)
        for s, stretch in enumerate(self.stretches):
            _finite(f"stretch {s}", length_mm=stretch.length_mm, covered_mm=stretch.covered_mm)
            if stretch.ambient_c is not None and not isfinite(stretch.ambient_c):
                raise ValueError(f"stretch {s}: ambient_c is {stretch.ambient_c}")
        for p, fuse in enumerate(self.protections):
            owner = f"protection {p}"
            _finite(owner, current_a=fuse.current_a, factor=fuse.factor, ampacity_share=fuse.ampacity_share)
            _finite(owner, fixed_a=fuse.fixed_a or 0.0, least_a=fuse.least_a, ratings_a=min(fuse.ratings_a, default=0))
            _points_into(f"{owner}: feeds", fuse.feeds, protections)
            if any(b <= a for a, b in pairwise(fuse.ratings_a)):
                raise ValueError(f"{owner}: ratings must rise")
        for c, wire in enumerate(self.conductors):
            owner = f"conductor {c}"
            _finite(owner, length_mm=wire.length_mm, current_a=wire.current_a, peak_a=wire.peak_a)
            _finite(owner, minimum_mm2=wire.minimum_mm2, fixed_mm2=wire.fixed_mm2 or 0.0)
            _finite(owner, floor_mm2=max((floor.section_mm2 for floor in wire.floors), default=0.0))
            if not isfinite(wire.ambient_c):
                raise ValueError(f"{owner}: ambient_c is {wire.ambient_c}")
            _points_into(f"{owner}: route", wire.route, stretches)
            _points_into(f"{owner}: bond_of", wire.bond_of, protections)
            _points_into(f"{owner}: protection", () if wire.protection is None else (wire.protection,), protections)
        for p, path in enumerate(self.paths):
            _points_into(f"path {p}", path.conductors, n)
            if len(path.conductors) != len(path.currents_a):
                raise ValueError(f"path {p}: {len(path.conductors)} conductors, {len(path.currents_a)} currents")
            _finite(f"path {p}", limit_v=path.limit_v, currents_a=min(path.currents_a, default=0.0))
            _finite(f"path {p}", fixed_v=path.fixed_v)
            _finite(f"path {p}", currents_a=max(path.currents_a, default=0.0))
        members = [c for group in self.together for c in group]
        _points_into("together", tuple(members), n)
        if len(set(members)) != len(members):
            raise ValueError("together: a conductor is in two groups")
        for group in self.together:
            if len({self.conductors[c].table for c in group if self.conductors[c].fixed_mm2 is None}) > 1:
                raise ValueError(f"together: conductors {group} are not of one size table")


def _points_into(owner: str, indices: tuple[int, ...], size: int) -> None:
    if indices and not (min(indices) >= 0 and max(indices) < size):
        raise ValueError(f"{owner}: index outside 0..{size - 1}")


class Fault(msgspec.Struct, frozen=True):
    """A rule that does not hold: what is (`value`) against what is wanted (`limit`), and a sentence.

    `source` of the limit is for whoever sets it; sizing itself knows none.
    """

    rule: Rule
    value: float
    limit: float
    unit: str
    message: str
    source: str = ""


class Sized(msgspec.Struct, frozen=True):
    """A conductor's answer.

    `index` is the row of its size table (-1: its fixed section is not in the table). `ampacity_a` is derated by the
    `factors` of the worst stretch and capped by the terminal. `r_ohm_per_m` is warm; `drop_v` and `peak_drop_v` are
    its own, one way.
    `decided_by` names the rule that made it this large, `decided_at` the conductor (another one of its `together`
    group, or itself) that the rule struck. `grouped` is the count of loaded conductors (or circuits) at that place;
    `ambient` the worst ambient factor on the way, all that counts for a bond.
    """

    index: int
    section_mm2: float
    ampacity_a: float
    base_ampacity_a: float
    factors: tuple[Factor, ...]
    r_ohm_per_m: float
    drop_v: float
    peak_drop_v: float
    decided_by: Rule
    decided_at: int
    grouped: int
    faults: tuple[Fault, ...] = ()
    ambient: float = 1.0


class Fuse(msgspec.Struct, frozen=True):
    """A protection's answer: `rating_a` is None when no rating of the family reaches `wanted_a` (factor x current)."""

    rating_a: float | None
    wanted_a: float
    faults: tuple[Fault, ...] = ()


class PathDrop(msgspec.Struct, frozen=True):
    """A path's answer. `best_v` is its drop with every free conductor at the largest section of its table."""

    drop_v: float
    limit_v: float
    best_v: float
    faults: tuple[Fault, ...] = ()

    @property
    def holds(self) -> bool:
        return not self.faults


class SizingResult(msgspec.Struct, frozen=True):
    """Answers in the order of the problem. `rounds`: the most rows that drop made any one conductor grow."""

    conductors: tuple[Sized, ...]
    fuses: tuple[Fuse, ...]
    paths: tuple[PathDrop, ...]
    rounds: int


class Verdict(msgspec.Struct, frozen=True):
    """One rule's word on one section: what it would have (`value`) against what is wanted (`limit`)."""

    rule: Rule
    value: float
    limit: float
    unit: str
    holds: bool


class Candidate(msgspec.Struct, frozen=True):
    """One section that a conductor could have, with every rule's verdict. `chosen`: it is the answer."""

    section_mm2: float
    ampacity_a: float
    drop_v: float
    verdicts: tuple[Verdict, ...]
    chosen: bool

    @property
    def holds(self) -> bool:
        return all(verdict.holds for verdict in self.verdicts)
