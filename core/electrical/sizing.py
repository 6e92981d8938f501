"""The smallest section and fuse of every conductor, and the rule that decided.

Nothing is circular: current gives the fuse (smallest standard rating of at least factor x current), the fuse and the
current give the smallest section whose derated ampacity carries them, other floors are laid on, and then sections
only grow until the drops hold. Grouping is counted once, against the ampacity of the starting sections. So a
conductor grows at most one row of its table a round, and there are at most as many rounds as rows.

An impossible demand is a `Fault` in the answer, never an exception.
"""

from functools import cached_property
from math import inf

from core.electrical.ampacity import AmpacityTable, Base, Factor
from core.electrical.conductors import resistance_ohm_per_m
from core.electrical.derating import Derating, deratings
from core.electrical.drop import conductor_drop_v
from core.electrical.growth import Item, Series, grow
from core.electrical.protection import FuseTable, smallest_of_at_least, wanted_rating_a
from core.electrical.sizing_records import (
    Candidate,
    Conductor,
    DropPath,
    Fault,
    Floor,
    Fuse,
    PathDrop,
    Protection,
    Rule,
    Sized,
    SizeTable,
    SizingProblem,
    SizingResult,
    SizingRules,
    Stretch,
    Verdict,
)
from core.units import show_section

__all__ = [
    "Candidate", "Conductor", "DropPath", "Fault", "Floor", "Fuse", "PathDrop", "Protection", "Rule", "SizeTable",
    "Sized", "SizingProblem", "SizingResult", "SizingRules", "Solved", "Stretch", "Verdict", "size", "size_table",
]  # fmt: skip

#: A person's 2.5 is the table's 2.5; 2.08 is its 2.081.
_SAME_SECTION = 1e-3
_EPSILON = 1e-9


def size_table(
    sections_mm2: tuple[float, ...],
    r20_ohm_per_km: tuple[float, ...],
    ampacity: AmpacityTable,
    insulation_c: float,
    conductor_c: float,
    terminal_c: float | None = None,
    names: tuple[str, ...] = (),
    fuses: FuseTable | None = None,
    parallel: int = 1,
) -> SizeTable:
    """A `SizeTable` from the sizes of a kind of wire and an ampacity table.

    `conductor_c` is the temperature at which resistance is counted. `terminal_c` is the rating of the terminals: the
    table's column for it caps the derated ampacity. `fuses` is the largest fuse by section. A section or insulation
    below a table gets 0 A. `parallel` conductors share the current evenly.
    """
    bases = [ampacity.base(section, insulation_c) for section in sections_mm2]
    column_c = next((base.insulation_c for base in bases if base), insulation_c)
    terminal: tuple[float, ...] | None = None
    if terminal_c is not None and terminal_c < insulation_c:
        terminal = tuple(parallel * cap_a for cap_a in _terminal_caps(sections_mm2, bases, ampacity, terminal_c))
    return SizeTable(
        sections_mm2=sections_mm2,
        r_ohm_per_m=tuple(resistance_ohm_per_m(r20, conductor_c) / parallel for r20 in r20_ohm_per_km),
        ampacity_a=tuple(parallel * base.ampacity_a if base else 0.0 for base in bases),
        insulation_c=column_c,
        base_c=ampacity.base_c,
        terminal_a=terminal,
        fuse_a=tuple(fuses.largest_a(section) for section in sections_mm2) if fuses is not None else None,
        names=names,
    )


def _terminal_caps(
    sections_mm2: tuple[float, ...], bases: list[Base | None], ampacity: AmpacityTable, terminal_c: float
) -> list[float]:
    """The table's column for the terminals. Where thin sections have no value there (the NEC below 14 AWG at 60 C)
    their own ampacity stands, but no more than the next thicker one may carry."""
    caps = []
    for section, base in zip(sections_mm2, bases, strict=True):
        cap = ampacity.base(section, terminal_c)
        caps.append(cap.ampacity_a if cap else base.ampacity_a if base else 0.0)
    for row in range(len(caps) - 2, -1, -1):
        caps[row] = min(caps[row], caps[row + 1])
    return caps


def size(problem: SizingProblem) -> SizingResult:
    """Size every conductor and fuse. Pure: the same problem gives the same answer, to the last bit."""
    return Solved(problem).result


class Solved:
    """A problem with its answer, for those who also ask what other sections would have been (`candidates`)."""

    def __init__(self, problem: SizingProblem) -> None:
        self.problem = problem
        self._work = _Work(problem)
        self._rows = grow(self._work.items, self._work.series, self._work.start)
        self.result = self._work.result(self._rows)

    @cached_property
    def _paths_of(self) -> dict[int, list[int]]:
        """The paths that each conductor is on."""
        found: dict[int, list[int]] = {}
        for p, path in enumerate(self.problem.paths):
            for conductor in dict.fromkeys(path.conductors):
                found.setdefault(conductor, []).append(p)
        return found

    def candidates(self, conductor: int) -> tuple[Candidate, ...]:
        """Every section the conductor could have, with the verdict of each rule, everything else as in `result`.

        Conductors of its `together` group change with it. Ascending in section.
        """
        work, wire, chosen = self._work, self.problem.conductors[conductor], self.result.conductors[conductor]
        rows, own_item = list(self._rows), work.item_of.get(conductor)
        own_paths = self._paths_of.get(conductor, [])
        found = []
        for row, section_mm2 in enumerate(wire.table.sections_mm2):
            verdicts = [
                Verdict(rule, value, limit, unit, value >= limit - _EPSILON)
                for rule, value, limit, unit in work.demands(conductor, row)
            ]
            if own_paths:
                change_ohm = 0.0
                if own_item is not None:
                    rows[own_item] = row
                else:  # a fixed conductor is in the constant part: exchange its share there
                    old = _resistance(wire, chosen.index)
                    change_ohm = (wire.table.r_ohm_per_m[row] - old) * wire.length_mm / 1000
                drops = []
                for p in own_paths:
                    more_v = _amperes(self.problem.paths[p], conductor) * change_ohm
                    drops.append((work.series[p].drop_v(work.items, rows) + more_v, work.series[p].limit_v))
                drop_v, limit_v = max(drops, key=lambda d: d[0] - d[1])
                verdicts.append(Verdict("voltage drop", drop_v, limit_v, "V", drop_v <= limit_v + _EPSILON))
            own_v = wire.current_a * wire.length_mm / 1000 * wire.table.r_ohm_per_m[row]
            capacity_a = work.capacity_a(conductor, row)
            found.append(Candidate(section_mm2, capacity_a, own_v, tuple(verdicts), row == chosen.index))
        return tuple(found)


def _amperes(path: DropPath, conductor: int) -> float:
    return sum(a for c, a in zip(path.conductors, path.currents_a, strict=True) if c == conductor)


def _fixed_row(wire: Conductor) -> int:
    """The row of the fixed section, -1 when the table has none."""
    assert wire.fixed_mm2 is not None
    for row, section in enumerate(wire.table.sections_mm2):
        if abs(section - wire.fixed_mm2) <= _SAME_SECTION * section:
            return row
    return -1


def _resistance(wire: Conductor, row: int) -> float:
    """Ohm per metre; a fixed section outside the table gets the metal's resistance from the nearest row by area."""
    table = wire.table
    if row >= 0:
        return table.r_ohm_per_m[row]
    assert wire.fixed_mm2 is not None
    near = min(range(len(table.sections_mm2)), key=lambda r: abs(table.sections_mm2[r] - (wire.fixed_mm2 or 0.0)))
    return table.r_ohm_per_m[near] * table.sections_mm2[near] / wire.fixed_mm2 if wire.fixed_mm2 > 0 else inf


class _Work:
    """What one problem boils down to: fuses, factors, items with their starting rows, paths over items."""

    def __init__(self, problem: SizingProblem) -> None:
        self.problem = problem
        self.fuses = _choose_all(problem.protections)
        self.deratings: list[Derating] = deratings(problem)
        groups = [tuple(c for c in group if problem.conductors[c].fixed_mm2 is None) for group in problem.together]
        grouped = {c for group in groups for c in group}
        alone: list[tuple[int, ...]] = [
            (c,) for c, wire in enumerate(problem.conductors) if wire.fixed_mm2 is None and c not in grouped
        ]
        #: Members of each item, in the order of their first conductor.
        self.members: list[tuple[int, ...]] = sorted([group for group in groups if group] + alone)
        self.item_of = {c: item for item, group in enumerate(self.members) for c in group}
        self.items = tuple(self._item(group) for group in self.members)
        self.fixed_rows = {c: _fixed_row(w) for c, w in enumerate(problem.conductors) if w.fixed_mm2 is not None}
        self.reasons: list[tuple[Rule, int]] = []
        self.start: list[int] = []
        for group in self.members:
            row, rule, conductor = self._start(group)
            self.start.append(row)
            self.reasons.append((rule, conductor))
        self.series = tuple(self._series(path) for path in problem.paths)

    def _item(self, group: tuple[int, ...]) -> Item:
        table = self.problem.conductors[group[0]].table
        length_mm = sum(self.problem.conductors[c].length_mm for c in group)
        return Item(length_mm, table.sections_mm2, table.r_ohm_per_m)

    def _series(self, path: DropPath) -> Series:
        constant_v, weight_am = path.fixed_v, dict[int, float]()
        for c, current_a in zip(path.conductors, path.currents_a, strict=True):
            wire = self.problem.conductors[c]
            ampere_metres = current_a * wire.length_mm / 1000
            item = self.item_of.get(c)
            if item is None:
                constant_v += ampere_metres * _resistance(wire, self.fixed_rows[c]) if ampere_metres else 0.0
            else:
                weight_am[item] = weight_am.get(item, 0.0) + ampere_metres
        return Series(constant_v, weight_am, path.limit_v)

    def capacity_a(self, conductor: int, row: int) -> float:
        """Derated ampacity in that row, terminal included; 0 outside the table."""
        table = self.problem.conductors[conductor].table
        if row < 0:
            return 0.0
        derated = table.ampacity_a[row] * self.deratings[conductor].product
        return derated if table.terminal_a is None else min(derated, table.terminal_a[row])

    def demands(self, conductor: int, row: int) -> list[tuple[Rule, float, float, str]]:
        """Every demand but drop: (rule, what that row has, what is wanted, unit), in the order that breaks ties."""
        problem, wire = self.problem, self.problem.conductors[conductor]
        section_mm2 = wire.table.sections_mm2[row] if row >= 0 else wire.fixed_mm2 or 0.0
        same = section_mm2 * (1 + _SAME_SECTION)  # 2.08 is not below 2.081
        floors = {"minimum size": wire.minimum_mm2, "bond fuse": 0.0, "maker's table": 0.0}
        for floor in wire.floors:
            floors[floor.reason] = max(floors[floor.reason], floor.section_mm2)

        def by_section(rule: Rule) -> tuple[Rule, float, float, str]:
            wanted = floors[rule]
            return rule, wanted if section_mm2 < wanted <= same else section_mm2, wanted, "mm2"

        capacity = self.capacity_a(conductor, row)
        found = [by_section("minimum size")]
        found.append(("ampacity", capacity, problem.rules.conductor_factor * wire.current_a, "A"))
        if wire.protection is not None:
            share = problem.protections[wire.protection].ampacity_share
            found.append(("fuse", capacity * share, self._rating_a(wire.protection), "A"))
            if wire.table.fuse_a is not None and row >= 0:
                found.append(("fuse table", wire.table.fuse_a[row], self._rating_a(wire.protection), "A"))
        if wire.bond_of:
            # A bond carries current only until the fuse opens: ambient counts, company does not.
            table = wire.table
            bond_a = table.ampacity_a[row] * self.deratings[conductor].ambient if row >= 0 else 0.0
            found.append(("bond fuse", bond_a, max(self._rating_a(p) for p in wire.bond_of), "A"))
        if floors["bond fuse"] > 0:
            found.append(by_section("bond fuse"))
        if floors["maker's table"] > 0:
            found.append(by_section("maker's table"))
        return found

    def _rating_a(self, protection: int) -> float:
        fuse = self.fuses[protection]
        return fuse.wanted_a if fuse.rating_a is None else fuse.rating_a

    def _start(self, group: tuple[int, ...]) -> tuple[int, Rule, int]:
        """The first row that meets every demand but drop (the last row if none does), and who asked for it."""
        best: tuple[int, Rule, int] = (0, "minimum size", group[0])
        last = len(self.problem.conductors[group[0]].table.sections_mm2) - 1
        for conductor in group:
            row = 0
            # Each demand's value never falls from row to row, so the rows can be walked once for all demands.
            while True:
                unmet = [rule for rule, value, limit, _ in self.demands(conductor, row) if value < limit - _EPSILON]
                if not unmet or row == last:
                    break
                row += 1
                if row > best[0]:
                    best = (row, unmet[0], conductor)
        return best

    def _named(self, conductor: int, section_mm2: float) -> str:
        """A wanted section as it is sold, where the table has it."""
        table = self.problem.conductors[conductor].table
        for name, section in zip(table.names, table.sections_mm2, strict=False):
            if abs(section - section_mm2) <= 2 * _SAME_SECTION * section:
                return name
        return show_section(section_mm2)

    def result(self, rows: list[int]) -> SizingResult:
        conductors = tuple(self._sized(c, rows) for c in range(len(self.problem.conductors)))
        paths = []
        for series in self.series:
            drop_v, best_v, limit_v = series.drop_v(self.items, rows), series.best_v(self.items), series.limit_v
            faults: tuple[Fault, ...] = ()
            if not series.holds(self.items, rows):
                message = f"{drop_v:.2f} V are lost on the way there and back, {limit_v:.2f} V allowed"
                message += f"; even the largest sections lose {best_v:.2f} V" if best_v > limit_v else ""
                faults = (Fault("voltage drop", drop_v, limit_v, "V", message),)
            paths.append(PathDrop(drop_v, limit_v, best_v, faults))
        rounds = max((row - start for row, start in zip(rows, self.start, strict=True)), default=0)
        return SizingResult(conductors, tuple(self.fuses), tuple(paths), rounds)

    def _sized(self, conductor: int, rows: list[int]) -> Sized:
        wire, derating = self.problem.conductors[conductor], self.deratings[conductor]
        item = self.item_of.get(conductor)
        if item is None:
            row = self.fixed_rows[conductor]
            rule: Rule = "fixed"
            at = conductor
        else:
            row = rows[item]
            rule, at = self.reasons[item]
            if row > self.start[item]:
                group = self.members[item]
                loads = [self.problem.conductors[c].current_a * self.problem.conductors[c].length_mm for c in group]
                rule, at = "voltage drop", group[loads.index(max(loads))]
        section_mm2 = wire.table.sections_mm2[row] if row >= 0 else wire.fixed_mm2 or 0.0
        base_a = wire.table.ampacity_a[row] if row >= 0 else 0.0
        ampacity_a = self.capacity_a(conductor, row)
        factors = derating.factors
        if base_a * derating.product > ampacity_a > 0:
            cap = ampacity_a / (base_a * derating.product)
            factors += (Factor("terminal", cap, f"the terminal allows {ampacity_a:g} A"),)
        ohm_per_m = _resistance(wire, row)
        return Sized(
            index=row,
            section_mm2=section_mm2,
            ampacity_a=ampacity_a,
            base_ampacity_a=base_a,
            factors=factors,
            r_ohm_per_m=ohm_per_m,
            drop_v=conductor_drop_v(wire.current_a, wire.length_mm, ohm_per_m),
            peak_drop_v=conductor_drop_v(wire.peak_a, wire.length_mm, ohm_per_m),
            decided_by=rule,
            decided_at=at,
            grouped=derating.grouped,
            faults=self._faults(conductor, row, section_mm2),
            ambient=derating.ambient,
        )

    def _faults(self, conductor: int, row: int, section_mm2: float) -> tuple[Fault, ...]:
        names = self.problem.conductors[conductor].table.names
        faults, shown = [], names[row] if names and row >= 0 else show_section(section_mm2)
        for rule, value, limit, unit in self.demands(conductor, row):
            if value >= limit - _EPSILON:
                continue
            if unit == "mm2":
                message = f"{shown} is smaller than the {self._named(conductor, limit)} that the {rule} asks for"
            elif row < 0:
                message = f"{shown} is not in the size table of this wire, so its ampacity is unknown"
            elif rule == "fuse table":
                message = f"{shown} may have a fuse of {value:g} A at most, whatever it carries; it is {limit:g} A"
            elif value <= 0:
                message = f"no ampacity is known for {shown} at this ambient; {round(limit, 2):g} A wanted"
            else:
                wanted = "the load draws" if rule == "ampacity" else "the fuse is rated"
                message = f"{shown} may carry {value:.1f} A here, {wanted} {round(limit, 2):g} A"
            faults.append(Fault(rule, value, limit, unit, message))
        return tuple(faults)


def _choose_all(protections: tuple[Protection, ...]) -> list[Fuse]:
    """A fuse for each, those that are fed before those that feed them; a ring of feeders is cut where it closes."""
    found: dict[int, Fuse] = {}
    waiting: set[int] = set()

    def choose(index: int) -> Fuse | None:
        if index in found or index in waiting:
            return found.get(index)
        waiting.add(index)
        below = [fuse.rating_a or fuse.wanted_a for fuse in map(choose, protections[index].feeds) if fuse is not None]
        found[index] = _choose(protections[index], max(below, default=0.0))
        return found[index]

    for index in range(len(protections)):
        choose(index)
    return [found[index] for index in range(len(protections))]


def _choose(protection: Protection, fed_a: float) -> Fuse:
    needed_a = wanted_rating_a(protection.current_a, protection.factor)
    wanted_a = max(needed_a, protection.least_a, fed_a)
    if protection.fixed_a is not None:
        if protection.fixed_a >= needed_a - _EPSILON:
            return Fuse(protection.fixed_a, needed_a)
        message = (
            f"a {protection.fixed_a:g} A fuse is below {protection.factor:g} x {round(protection.current_a, 2):g} A"
        )
        return Fuse(protection.fixed_a, needed_a, (Fault("fuse", protection.fixed_a, needed_a, "A", message),))
    largest = max(protection.ratings_a, default=0.0)
    rating = smallest_of_at_least(wanted_a, protection.ratings_a)
    if rating is not None:
        return Fuse(rating, wanted_a)
    if largest >= needed_a - _EPSILON and largest > 0:
        return Fuse(largest, wanted_a)
    message = f"{round(needed_a, 2):g} A are wanted, the largest rating of this family is {largest:g} A"
    return Fuse(None, needed_a, (Fault("fuse", largest, needed_a, "A", message),))
