"""Sizing: worked cases, and what must hold for any problem. The checks recompute every rule by themselves."""

from itertools import product as combinations
from math import sqrt
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.electrical.ampacity import ampacity_table, covered_table, grouping_table
from core.electrical.conductors import SOLD_GAUGES, awg_r20_ohm_per_km, awg_section_mm2, iec60228_r20_ohm_per_km
from core.electrical.derating import covered_runs_mm, lasting_counts
from core.electrical.protection import ratings
from core.electrical.sizing import (
    Conductor,
    DropPath,
    Floor,
    Protection,
    SizeTable,
    SizingProblem,
    SizingResult,
    SizingRules,
    Solved,
    Stretch,
    size,
    size_table,
)

FT = 304.8
IEC = {section: r20 for section, r20 in iec60228_r20_ohm_per_km().items() if 1 <= section <= 120}
METRIC = size_table(tuple(IEC), tuple(IEC.values()), ampacity_table("cfr183"), 105, 60)
GAUGES = SOLD_GAUGES[SOLD_GAUGES.index("18") :]
BOAT = size_table(
    tuple(awg_section_mm2(g) for g in GAUGES),
    # K = 10.75 ohm cmil/ft is copper at 29.3 C, solid (example A5)
    tuple(awg_r20_ohm_per_km(g) * 10.75 / 10.371 for g in GAUGES),
    ampacity_table("cfr183"),
    105,
    20,
)
BLADE = ratings("blade_regular")
CFR = SizingRules(grouping=grouping_table("cfr"), covered=covered_table())


def gauge(result: SizingResult, conductor: int = 0) -> str:
    return GAUGES[result.conductors[conductor].index]


def test_bilge_pump_is_sized_by_its_drop() -> None:
    # Example A5 (read): 10 A, 11 ft and 10 ft, 0.36 V: 12 AWG
    wires = (Conductor(BOAT, 11 * FT, 10, protection=0), Conductor(BOAT, 10 * FT, 10, protection=0))
    problem = SizingProblem(
        wires, protections=(Protection(10, BLADE),), paths=(DropPath((0, 1), (10, 10), 0.36),), together=((0, 1),)
    )
    result = size(problem)
    assert (gauge(result), gauge(result, 1)) == ("12", "12")
    assert result.fuses[0].rating_a == 15
    assert [c.decided_by for c in result.conductors] == ["voltage drop", "voltage drop"]
    # 12 AWG is 6,530 cmil: 10.75 x 10 x 21 / 6530
    assert result.paths[0].drop_v == pytest.approx(0.3457, abs=5e-4)
    assert sum(c.drop_v for c in result.conductors) == pytest.approx(result.paths[0].drop_v)


def test_current_then_fuse_then_section() -> None:
    # By hand, 33 CFR 183 table 5, 105 C: 16 A x 1.25 = 20 A fuse, 18 AWG carries 20 A outside a bundle,
    # three loaded wires together 0.7: 16 AWG carries 17.5 A, 14 AWG 24.5 A.
    def one(current_a: float, company: int) -> SizingResult:
        wires = (Conductor(BOAT, 500, current_a, protection=0, route=(0,)),) + (
            Conductor(BOAT, 500, 1, fixed_mm2=awg_section_mm2("18"), route=(0,)),
        ) * company
        return size(SizingProblem(wires, (Stretch(500),), (Protection(current_a, BLADE),), rules=CFR))

    assert (gauge(one(16, 1)), one(16, 1).conductors[0].decided_by) == ("18", "minimum size")
    assert (gauge(one(16, 2)), one(16, 2).conductors[0].decided_by) == ("14", "fuse")
    sized = one(16, 2).conductors[0]
    assert sized.ampacity_a == pytest.approx(24.5)
    assert [(f.name, f.value) for f in sized.factors] == [("ambient", 1.0), ("grouping", 0.7)]
    assert sized.grouped == 3
    # Without a fuse behind it the current alone decides.
    alone = size(SizingProblem((Conductor(BOAT, 500, 26),)))
    assert (gauge(alone), alone.conductors[0].decided_by) == ("14", "ampacity")
    # Twenty-five together: 0.4
    assert one(16, 24).conductors[0].ampacity_a == pytest.approx(60 * 0.4)


def test_the_two_circuits_of_33_cfr_with_and_without_the_exception() -> None:
    # 33 CFR 183.455(c): 150 % of table 5: a 50 A fuse may stand on 14 AWG 105 C (35 A), not without the exception.
    def wire(share: float) -> SizingResult:
        fuse = Protection(20, ratings("breaker"), fixed_a=50, ampacity_share=share)
        return size(SizingProblem((Conductor(BOAT, 500, 20, protection=0),), protections=(fuse,)))

    assert gauge(wire(1.5)) == "14"
    assert gauge(wire(1.0)) == "10"


def test_a_thin_return_behind_a_large_fuse_is_one_error_that_names_it() -> None:
    # Story of the trade: 10 AWG feed, 18 AWG return, 30 A
    feed = Conductor(BOAT, 3000, 20, protection=0, fixed_mm2=awg_section_mm2("10"))
    back = Conductor(BOAT, 3000, 20, protection=0, fixed_mm2=awg_section_mm2("18"))
    result = size(SizingProblem((feed, back), protections=(Protection(20, BLADE, fixed_a=30),), together=((0, 1),)))
    assert result.conductors[0].faults == ()
    (fault,) = result.conductors[1].faults
    assert (fault.rule, fault.value, fault.limit, fault.unit) == ("fuse", 20, 30, "A")
    assert fault.message == "0.823 mm² may carry 20.0 A here, the fuse is rated 30 A"
    assert [c.decided_by for c in result.conductors] == ["fixed", "fixed"]


def test_insulated_wall() -> None:
    # BS 7671 523 (from memory): 600 mm covered 0.5, 80 mm between 0.89 and 0.81, none 1.0. A channel drawn in three
    # covered pieces is one covered length.
    def factor(*covered_mm: float) -> float:
        stretches = tuple(Stretch(400, covered_mm=mm) for mm in covered_mm)
        wire = Conductor(METRIC, 1200, 5, route=tuple(range(len(stretches))))
        factors = size(SizingProblem((wire,), stretches, rules=CFR)).conductors[0].factors
        return next((f.value for f in factors if f.name == "covered length"), 1.0)

    assert factor(0, 0) == 1.0
    assert 0.81 < factor(80, 0) < 0.89
    assert factor(200, 200, 200) == 0.5
    assert factor(200, 0, 200) == 0.68
    no_cover = SizingRules(grouping=grouping_table("cfr"))  # a profile that does not know covered lengths
    wire = Conductor(METRIC, 1200, 5, route=(0,))
    assert len(size(SizingProblem((wire,), (Stretch(400, covered_mm=400),), rules=no_cover)).conductors[0].factors) == 2


def test_hot_roof_and_a_full_floor_are_judged_place_by_place() -> None:
    # 60 C in the roof alone: sqrt(45/75) = 0.775; floor 30 C with 6 others: 0.5. Not 0.387, which is nowhere.
    others = tuple(Conductor(METRIC, 500, 3, route=(1,)) for _ in range(6))
    wire = Conductor(METRIC, 3000, 3, route=(0, 1))
    sized = size(SizingProblem((wire, *others), (Stretch(2000, 60), Stretch(1000, 30)), rules=CFR)).conductors[0]
    assert sized.ampacity_a == pytest.approx(20 * 0.5)
    cold = size(SizingProblem((wire,), (Stretch(2000, 60), Stretch(1000, -20)), rules=CFR)).conductors[0]
    assert cold.ampacity_a == pytest.approx(20 * sqrt(45 / 75))
    assert size(SizingProblem((Conductor(METRIC, 1, 1, ambient_c=-20),))).conductors[0].ampacity_a == 20  # no credit
    # At 105 C nothing may be carried at all.
    oven = size(SizingProblem((Conductor(METRIC, 1000, 3, ambient_c=105),))).conductors[0]
    assert oven.section_mm2 == 120
    assert [(f.rule, f.value, f.limit) for f in oven.faults] == [("ampacity", 0, 3)]


def test_grouping_counts_returns_but_no_earths_and_no_signals() -> None:
    def count(rules: SizingRules = CFR, **changes: object) -> int:
        wires = tuple(Conductor(METRIC, 1000, 4, circuit=c // 2, route=(0,)) for c in range(6))
        extra = Conductor(METRIC, 1000, **{"current_a": 4.0, "circuit": 9, "route": (0,), **changes})  # type: ignore[arg-type]
        return size(SizingProblem((*wires, extra), (Stretch(1000),), rules=rules)).conductors[0].grouped

    assert count() == 7
    assert count(counts=False) == 6
    assert count(current_a=0.0) == 6
    assert count(route=()) == 6
    bs = SizingRules(grouping=grouping_table("bs7671_bunched"), count_by="circuits")
    assert count(bs) == 4
    # A conductor that uses less than 30 % of its starting ampacity may be left out (IEC 60364-5-52, from memory).
    lightly = SizingRules(grouping=grouping_table("cfr"), loaded_share=0.3)
    assert count(lightly) == 1  # 4 A of 20 A: none of the others counts, it stands alone
    assert count(lightly, current_a=7.0) == 2


def test_a_bundle_drawn_in_short_pieces_counts_like_one_long_channel() -> None:
    rules = SizingRules(grouping=grouping_table("cfr"), shared_min_mm=610)
    for pieces, grouped in ((1, 5), (10, 5), (100, 5)):
        stretches = tuple(Stretch(3000 / pieces) for _ in range(pieces))
        wires = tuple(Conductor(METRIC, 3000, 4, route=tuple(range(pieces))) for _ in range(5))
        assert size(SizingProblem(wires, stretches, rules=rules)).conductors[0].grouped == grouped
    short = tuple(Conductor(METRIC, 600, 4, route=(0,)) for _ in range(5))
    assert size(SizingProblem(short, (Stretch(600),), rules=rules)).conductors[0].grouped == 1


def test_lasting_counts_by_hand() -> None:
    assert lasting_counts([2, 5, 2], [300, 200, 300], 610) == [2, 2, 2]  # five together over 200 mm only
    assert lasting_counts([2, 5, 5], [300, 311, 300], 610) == [2, 5, 5]
    assert lasting_counts([5, 1, 5], [600, 100, 600], 610) == [1, 1, 1]
    assert lasting_counts([5, 5], [100, 100], 0) == [5, 5]
    assert lasting_counts([0, 3], [1, 700], 610) == [1, 3]
    assert covered_runs_mm([10, 20, 0, 5, 0, 0]) == [30, 30, 0, 5, 0, 0]


@given(st.lists(st.tuples(st.integers(0, 6), st.floats(1, 900)), min_size=1, max_size=12), st.floats(0, 2000))
def test_lasting_counts_are_the_definition(places: list[tuple[int, float]], shared_min_mm: float) -> None:
    counts, lengths = [c for c, _ in places], [mm for _, mm in places]
    for place, lasting in enumerate(lasting_counts(counts, lengths, shared_min_mm)):
        best = 1
        for start in range(place + 1):
            for end in range(place + 1, len(counts) + 1):
                if sum(lengths[start:end]) > shared_min_mm:
                    best = max(best, min(counts[start:end]))
        assert lasting == best


def test_bonds_are_sized_by_the_largest_fuse_that_can_feed_them() -> None:
    fuses = (Protection(12, BLADE), Protection(30, ratings("breaker")))
    bond = Conductor(BOAT, 1000, bond_of=(0, 1), counts=False)
    result = size(SizingProblem((bond,), protections=fuses))
    assert [f.rating_a for f in result.fuses] == [15, 40]
    # 33 CFR 183 table 5, 105 C: 12 AWG carries 45 A
    assert (gauge(result), result.conductors[0].decided_by) == ("12", "bond fuse")


def test_floors_and_fixed_sections() -> None:
    maker = Conductor(METRIC, 2600, 5, floors=(Floor(4.0),), minimum_mm2=1.5)
    result = size(SizingProblem((maker,)))
    assert (result.conductors[0].section_mm2, result.conductors[0].decided_by) == (4.0, "maker's table")
    least = size(SizingProblem((Conductor(METRIC, 2600, 5, minimum_mm2=2.0),))).conductors[0]
    assert (least.section_mm2, least.decided_by) == (2.5, "minimum size")
    thin = size(SizingProblem((Conductor(METRIC, 2600, 5, floors=(Floor(4.0),), fixed_mm2=2.5),))).conductors[0]
    assert (thin.section_mm2, thin.decided_by) == (2.5, "fixed")
    assert [(f.rule, f.value, f.limit, f.unit) for f in thin.faults] == [("maker's table", 2.5, 4.0, "mm2")]
    assert thin.faults[0].message == "2.5 mm² is smaller than the 4 mm² that the maker's table asks for"
    odd = size(SizingProblem((Conductor(METRIC, 1000, 5, fixed_mm2=3.0),))).conductors[0]
    assert (odd.index, odd.section_mm2) == (-1, 3.0)
    assert "not in the size table" in odd.faults[0].message
    assert odd.drop_v == pytest.approx(5 * 2.5 / 3.0 * METRIC.r_ohm_per_m[2])  # copper is copper


def test_terminals_cap_the_ampacity() -> None:
    # NEC 110.14(C) (read): derate from the 90 C column, then compare with the terminal's. 10 AWG: 40 A, 60 C: 30 A.
    table = size_table(
        (awg_section_mm2("10"),), (awg_r20_ohm_per_km("10"),), ampacity_table("nec310_16"), 90, 75, terminal_c=60
    )
    sized = size(SizingProblem((Conductor(table, 1000, 10),))).conductors[0]
    assert (sized.base_ampacity_a, sized.ampacity_a) == (40, 30)
    assert sized.factors[-1].name == "terminal"
    assert sized.factors[-1].value == pytest.approx(0.75)


def test_what_cannot_be_met_is_said_and_grows_nothing() -> None:
    wire = Conductor(METRIC, 20_000, 20, protection=0)
    path = DropPath((0,), (20,), 0.01)
    result = size(SizingProblem((wire,), protections=(Protection(20, BLADE),), paths=(path,)))
    assert result.conductors[0].section_mm2 == 1.5  # 25 A fuse, 16 AWG row: 25 A
    assert not result.paths[0].holds
    assert result.paths[0].best_v == pytest.approx(20 * 20 * METRIC.r_ohm_per_m[-1])
    assert "even the largest sections lose 0.07 V" in result.paths[0].faults[0].message
    too_much = size(SizingProblem((Conductor(METRIC, 1, 900, protection=0),), protections=(Protection(900, BLADE),)))
    assert too_much.fuses[0].rating_a is None
    assert too_much.fuses[0].faults[0].limit == 1125
    assert {f.rule for f in too_much.conductors[0].faults} == {"ampacity", "fuse"}
    small_fuse = size(SizingProblem((), protections=(Protection(10, BLADE, fixed_a=10),))).fuses[0]
    assert [(f.value, f.limit) for f in small_fuse.faults] == [(10, 12.5)]
    unreachable_feeder = SizingProblem(
        (Conductor(METRIC, 1000, 20), Conductor(METRIC, 1000, 5)),
        paths=(DropPath((0, 1), (20, 5), 1e-6), DropPath((0, 1), (20, 5), 0.3)),
    )
    assert [p.holds for p in size(unreachable_feeder).paths] == [False, True]


def test_candidates_show_the_verdict_of_every_rule() -> None:
    wires = (Conductor(METRIC, 5000, 8, protection=0, minimum_mm2=1.5), Conductor(METRIC, 5000, 8, protection=0))
    problem = SizingProblem(
        wires, protections=(Protection(8, BLADE),), paths=(DropPath((0, 1), (8, 8), 0.36),), together=((0, 1),)
    )
    rows = Solved(problem).candidates(0)
    assert [row.section_mm2 for row in rows] == list(METRIC.sections_mm2)
    assert [row.section_mm2 for row in rows if row.chosen] == [6.0]
    assert next(row for row in rows if row.holds).chosen  # the smallest that holds
    one = rows[0]
    assert [(v.rule, v.holds) for v in one.verdicts] == [
        ("minimum size", False), ("ampacity", True), ("fuse", True), ("voltage drop", False),
    ]  # fmt: skip
    # 8 A x 10 m x 19.5 ohm/km at 60 C: 1.805 V
    assert one.verdicts[-1].value == pytest.approx(8 * 10 * 0.0195 * 294.5 / 254.5)
    fixed = SizingProblem((wires[0], Conductor(METRIC, 5000, 8, fixed_mm2=10.0)), protections=problem.protections,
                          paths=problem.paths)  # fmt: skip
    answer = size(fixed)
    shown = Solved(fixed).candidates(1)
    assert next(row for row in shown if row.chosen).verdicts[-1].value == pytest.approx(answer.paths[0].drop_v)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: SizingProblem((Conductor(METRIC, -1),)), "conductor 0: length_mm is -1"),
        (lambda: SizingProblem((Conductor(METRIC, 1, float("nan")),)), "conductor 0: current_a is nan"),
        (lambda: SizingProblem((Conductor(METRIC, 1, protection=0),)), "conductor 0: protection: index outside"),
        (lambda: SizingProblem((Conductor(METRIC, 1, route=(3,)),)), "conductor 0: route: index outside"),
        (lambda: SizingProblem((), paths=(DropPath((0,), (1,), 1),)), "path 0: index outside"),
        (lambda: SizingProblem((Conductor(METRIC, 1),), paths=(DropPath((0,), (), 1),)), "path 0: 1 conductors"),
        (lambda: SizingProblem((Conductor(METRIC, 1),), together=((0,), (0,))), "in two groups"),
        (
            lambda: SizingProblem((Conductor(METRIC, 1), Conductor(BOAT, 1)), together=((0, 1),)),
            "not of one size table",
        ),
        (lambda: SizingProblem((), (Stretch(float("inf")),)), "stretch 0: length_mm is inf"),
        (lambda: SizingProblem((), protections=(Protection(1, (5, 3)),)), "ratings must rise"),
        (lambda: SizeTable((), (), (), 105), "at least one row"),
        (lambda: SizeTable((1, 2), (2, 1), (1,), 105), "equal length"),
        (lambda: SizeTable((2, 1), (2, 1), (1, 2), 105), "must rise"),
        (lambda: SizeTable((1, 2), (1, 2), (1, 2), 105), "must fall"),
        (lambda: SizeTable((1, 2), (2, 1), (2, 1), 105), "must not fall"),
        (lambda: SizeTable((1,), (2,), (float("nan"),), 105), "finite"),
        (lambda: SizeTable((0,), (2,), (1,), 105), "above zero"),
        (lambda: SizeTable((1,), (2,), (1,), 30), "under a table"),
    ],
)
def test_malformed_problems_are_refused_with_their_place(make: object, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        make()  # type: ignore[operator]


# ---- what must hold for any problem -------------------------------------------------------------------------------

LENGTHS = st.floats(100, 12_000)
AMPS = st.floats(0, 25)


@st.composite
def problems(draw: st.DrawFn) -> SizingProblem:
    """A feeder pair and up to five circuits (feed and return, some tied, some fixed) over up to six stretches."""
    stretches = tuple(
        Stretch(
            draw(st.floats(50, 3000)),
            draw(st.sampled_from([None, 20.0, 30.0, 60.0])),
            draw(st.sampled_from([0.0, 0.0, 80.0])),
        )
        for _ in range(draw(st.integers(1, 6)))
    )
    routes = st.lists(st.integers(0, len(stretches) - 1), max_size=4).map(tuple)
    feeder_a = draw(st.floats(0, 60))
    feeder = Conductor(METRIC, draw(LENGTHS), feeder_a, circuit=0, protection=0, route=draw(routes))
    wires = [feeder, feeder]
    fuses = [Protection(feeder_a, ratings("strip_small"))]
    paths, together = [], [(0, 1)] if draw(st.booleans()) else []
    for circuit in range(1, draw(st.integers(1, 5)) + 1):
        current_a, route, n = draw(AMPS), draw(routes), len(wires)
        fixed = draw(st.sampled_from([None, None, None, 2.5, 6.0]))
        wires += [
            Conductor(
                METRIC, draw(LENGTHS), current_a, circuit=circuit, protection=len(fuses), route=route,
                minimum_mm2=draw(st.sampled_from([0.0, 1.5])), fixed_mm2=fixed,
            )
            for _ in range(2)
        ]  # fmt: skip
        fuses.append(Protection(current_a, BLADE))
        if draw(st.booleans()):
            together.append((n, n + 1))
        limit_v = draw(st.sampled_from([0.12, 0.36, 0.6, 1.2]))
        paths.append(DropPath((0, n, n + 1, 1), (feeder_a, current_a, current_a, feeder_a), limit_v))
    rules = SizingRules(
        grouping=grouping_table("cfr"),
        shared_min_mm=draw(st.sampled_from([0.0, 610.0])),
        covered=covered_table(),
        by_loading=draw(st.booleans()),
        altitude=draw(st.sampled_from([1.0, 0.91])),
    )
    return SizingProblem(tuple(wires), stretches, tuple(fuses), tuple(paths), rules, tuple(together))


def path_drop(problem: SizingProblem, path: DropPath, rows: list[int]) -> float:
    drop = 0.0
    for c, current_a in zip(path.conductors, path.currents_a, strict=True):
        drop += current_a * problem.conductors[c].length_mm / 1000 * problem.conductors[c].table.r_ohm_per_m[rows[c]]
    return drop


def groups(problem: SizingProblem) -> list[tuple[int, ...]]:
    free = {c for c, wire in enumerate(problem.conductors) if wire.fixed_mm2 is None}
    tied = [tuple(c for c in group if c in free) for group in problem.together]
    return [g for g in tied if g] + [(c,) for c in sorted(free - {c for g in tied for c in g})]


@settings(max_examples=150)
@given(problems())
def test_every_rule_holds_or_is_a_fault_and_no_section_could_be_smaller(problem: SizingProblem) -> None:
    result = size(problem)
    assert size(problem) == result
    rows = [c.index for c in result.conductors]
    assert 0 <= result.rounds < len(METRIC.sections_mm2)
    for wire, sized in zip(problem.conductors, result.conductors, strict=True):
        assert sized.section_mm2 == METRIC.sections_mm2[sized.index]
        assert wire.fixed_mm2 in {None, sized.section_mm2}
        factor = 1.0
        for f in sized.factors:
            factor *= f.value
        assert sized.ampacity_a == pytest.approx(METRIC.ampacity_a[sized.index] * factor)
        fuse_a = result.fuses[wire.protection or 0].rating_a
        broken = set()
        if sized.ampacity_a < wire.current_a - 1e-9:
            broken.add("ampacity")
        if fuse_a is not None and sized.ampacity_a < fuse_a - 1e-9:
            broken.add("fuse")
        if sized.section_mm2 < wire.minimum_mm2:
            broken.add("minimum size")
        if fuse_a is not None:
            assert {f.rule for f in sized.faults} == broken
            assert fuse_a >= 1.25 * wire.current_a - 1e-9
        if broken and wire.fixed_mm2 is None:
            assert sized.index == len(METRIC.sections_mm2) - 1
    for path, answer in zip(problem.paths, result.paths, strict=True):
        assert answer.drop_v == pytest.approx(path_drop(problem, path, rows))
        largest = [c.index if w.fixed_mm2 else len(METRIC.sections_mm2) - 1
                   for c, w in zip(result.conductors, problem.conductors, strict=True)]  # fmt: skip
        assert answer.best_v == pytest.approx(path_drop(problem, path, largest))
        assert answer.holds == (answer.drop_v <= path.limit_v + 1e-9) == (answer.best_v <= path.limit_v + 1e-9)
    held = [path for path, answer in zip(problem.paths, result.paths, strict=True) if answer.holds]
    for group in groups(problem):
        assert len({rows[c] for c in group}) == 1
        row = rows[group[0]]
        reason = result.conductors[group[0]].decided_by
        if row == 0:
            assert reason == "minimum size"
            continue
        lower = [row - 1 if c in group else r for c, r in enumerate(rows)]
        breaks_drop = any(path_drop(problem, path, lower) > path.limit_v + 1e-9 for path in held)
        breaks_rule = False
        for c in group:
            wire = problem.conductors[c]
            factor = 1.0
            for f in result.conductors[c].factors:
                factor *= f.value
            fuse = result.fuses[wire.protection or 0]
            wanted = max(wire.current_a, fuse.wanted_a if fuse.rating_a is None else fuse.rating_a)
            breaks_rule |= METRIC.ampacity_a[row - 1] * factor < wanted - 1e-9
            breaks_rule |= METRIC.sections_mm2[row - 1] < wire.minimum_mm2
        assert breaks_drop or breaks_rule
        assert breaks_rule or reason == "voltage drop"


@given(problems(), st.floats(1, 3))
def test_heavier_use_never_gives_less_before_drop(problem: SizingProblem, more: float) -> None:
    """Without drop limits every section and fuse is monotone in every current, ambient and cover."""
    import msgspec

    light = msgspec.structs.replace(problem, paths=())
    heavy = msgspec.structs.replace(
        light,
        conductors=tuple(msgspec.structs.replace(w, current_a=w.current_a * more) for w in light.conductors),
        protections=tuple(msgspec.structs.replace(p, current_a=p.current_a * more) for p in light.protections),
        stretches=tuple(
            Stretch(s.length_mm * more, None if s.ambient_c is None else s.ambient_c + more, s.covered_mm * more)
            for s in light.stretches
        ),
    )
    a, b = size(light), size(heavy)
    for before, after in zip(a.conductors, b.conductors, strict=True):
        assert after.section_mm2 >= before.section_mm2
    for before_fuse, after_fuse in zip(a.fuses, b.fuses, strict=True):
        assert after_fuse.rating_a is None or (before_fuse.rating_a or 0) <= after_fuse.rating_a


@given(LENGTHS, LENGTHS, st.floats(0.1, 25), st.floats(1, 4), st.sampled_from([0.36, 1.2]))
def test_a_pair_is_exactly_the_smallest_and_monotone(
    out_mm: float, back_mm: float, current_a: float, more: float, limit_v: float
) -> None:
    def pair(amps: float) -> SizingResult:
        wires = (Conductor(METRIC, out_mm, amps), Conductor(METRIC, back_mm, amps))
        return size(SizingProblem(wires, paths=(DropPath((0, 1), (amps, amps), limit_v),), together=((0, 1),)))

    result = pair(current_a)
    metres = (out_mm + back_mm) / 1000
    enough = [r for r, ohm in enumerate(METRIC.r_ohm_per_m) if current_a * metres * ohm <= limit_v + 1e-9]
    carries = next(r for r, a in enumerate(METRIC.ampacity_a) if a >= current_a)
    assert result.conductors[0].index == (max(enough[0], carries) if enough else carries)
    if pair(current_a * more).paths[0].holds:
        assert pair(current_a * more).conductors[0].index >= result.conductors[0].index


def copper_against_the_best(legs: list[tuple[float, float]], limit_v: float) -> float | None:
    """Copper of the answer over that of the best of all combinations of sections; None when no choice holds."""
    wires = tuple(Conductor(METRIC, length_mm, current_a) for length_mm, current_a in legs)
    path = DropPath(tuple(range(len(wires))), tuple(a for _, a in legs), limit_v)
    problem = SizingProblem(wires, paths=(path,))
    result = size(problem)
    if not result.paths[0].holds:
        return None
    floors = [next(r for r, a in enumerate(METRIC.ampacity_a) if a >= wire.current_a) for wire in wires]

    def copper(rows: tuple[int, ...]) -> float:
        return sum(METRIC.sections_mm2[r] * w.length_mm for r, w in zip(rows, wires, strict=True))

    best = min(
        copper(rows)
        for rows in combinations(*(range(floor, len(METRIC.sections_mm2)) for floor in floors))
        if path_drop(problem, path, list(rows)) <= limit_v + 1e-9
    )
    return copper(tuple(c.index for c in result.conductors)) / best


LEGS = st.tuples(st.floats(500, 8000), st.floats(0.5, 25))


@given(LEGS, LEGS, st.sampled_from([0.25, 0.5, 1.0]))
def test_two_in_series_take_the_least_copper_there_is(
    first: tuple[float, float], second: tuple[float, float], limit_v: float
) -> None:
    ratio = copper_against_the_best([first, second], limit_v)
    assert ratio is None or ratio == pytest.approx(1)


def test_three_in_series_take_little_more_copper_than_the_best_choice() -> None:
    """60 cases from a fixed seed. Where three differ wildly in length single answers may lie tens of per cent above."""
    random = Random(11)
    ratios = []
    for _ in range(60):
        legs = [(random.uniform(500, 8000), random.uniform(0.5, 25)) for _ in range(3)]
        ratio = copper_against_the_best(legs, random.choice([0.25, 0.5, 1.0]))
        ratios += [ratio] if ratio is not None else []
    assert len(ratios) > 40
    assert sum(ratios) / len(ratios) < 1.01
