"""Securing points: exact against trying every subset, and against a tape-measure case."""

import itertools
import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.files.library import load_library
from core.harness.securing import Placed, Stretch, part_for, place
from tests.core.harness.tables import rows


def everywhere(length_mm: float, cost: float = 1.0) -> list[Stretch]:
    return [Stretch(0.0, length_mm, cost, "tie_mount")]


@pytest.mark.parametrize(("span_mm", "points"), [(300.0, 14), (450.0, 10)])
def test_a_wall_of_3900_mm_fixable_all_over_with_both_ends_held_by_points(span_mm: float, points: int) -> None:
    # 3900 / 300 = 13 spaces and 3900 / 450 = 8.67, so 9 spaces, with one point more than spaces.
    found = place(3900.0, everywhere(3900.0), span_mm, end_mm=(0.0, 0.0))
    assert len(found.points) == points
    assert (found.points[0].at_mm, found.points[-1].at_mm) == (0.0, 3900.0)
    assert found.longest_span_mm <= span_mm
    assert found.gaps == ()


def test_a_span_off_the_lattice_still_takes_the_least_number() -> None:
    found = place(3100.0, everywhere(3100.0), 310.0, end_mm=(0.0, 0.0), step_mm=25.0)
    assert len(found.points) == 11


def test_held_ends_need_nothing_on_a_channel_shorter_than_the_span() -> None:
    assert place(280.0, everywhere(280.0), 300.0).points == ()
    assert [p.at_mm for p in place(320.0, everywhere(320.0), 300.0).points] == pytest.approx([160.0], abs=15.0)


def test_first_support_near_a_terminal_may_be_farther_than_the_span_where_the_rule_says_so() -> None:
    # ISO 10133:2012 7.4: battery conductors every 300 mm, the first within 1 m of the terminal (read).
    found = place(2000.0, everywhere(2000.0), 300.0, end_mm=(1000.0, 0.0))
    assert found.gaps == ()
    assert 700.0 <= found.points[0].at_mm <= 1000.0
    assert len(found.points) == 5


def test_ribs_first_then_the_dearer_skin_between_them() -> None:
    ribs = [Stretch(x, x + 60.0, 1.0, "tie_mount") for x in range(0, 2401, 600)]
    found = place(2460.0, [*ribs, Stretch(0.0, 2460.0, 3.0, "bonded_mount")], 450.0, end_mm=(60.0, 60.0))
    assert found.gaps == ()
    assert {p.kind for p in found.points} == {"tie_mount", "bonded_mount"}
    assert sum(p.kind == "bonded_mount" for p in found.points) == 4


def test_what_nothing_can_hold_is_named_with_the_places_for_brackets_and_the_rest_is_placed() -> None:
    found = place(
        3000.0,
        [Stretch(0.0, 800.0, 1.0, "tie_mount"), Stretch(2000.0, 3000.0, 1.0, "p_clip")],
        300.0,
        end_mm=(0.0, 0.0),
    )
    (gap,) = found.gaps
    assert (gap.from_mm, gap.to_mm, gap.span_mm) == (800.0, 2000.0, 300.0)
    assert gap.brackets_mm == pytest.approx((1100.0, 1400.0, 1700.0))
    assert found.longest_span_mm == 1200.0
    assert [p.at_mm for p in found.points if p.kind == "p_clip"][-1] == 3000.0


def test_no_bracket_is_proposed_on_a_moving_stretch() -> None:
    found = place(1000.0, everywhere(1000.0), 300.0, forbidden=[(200.0, 800.0)], end_mm=(0.0, 0.0))
    (gap,) = found.gaps
    assert (gap.from_mm, gap.to_mm, gap.brackets_mm) == (200.0, 800.0, ())


def test_nothing_to_fix_to_at_all() -> None:
    found = place(1000.0, (), 300.0, end_mm=(50.0, 50.0))
    assert found.points == ()
    (gap,) = found.gaps
    assert (gap.from_mm, gap.to_mm) == (0.0, 1000.0)
    assert gap.brackets_mm[0] <= 50.0
    assert gap.brackets_mm[-1] >= 950.0
    assert all(b - a <= 300.0 + 1e-6 for a, b in itertools.pairwise(gap.brackets_mm))


def test_a_terminal_without_a_place_near_it_takes_the_nearest_and_says_so() -> None:
    found = place(1000.0, [Stretch(200.0, 1000.0, 1.0, "saddle")], 300.0, end_mm=(100.0, 0.0))
    assert found.points[0].at_mm == 200.0
    assert [(g.from_mm, g.to_mm, g.span_mm) for g in found.gaps] == [(0.0, 200.0, 100.0)]
    assert found.gaps[0].brackets_mm[0] <= 100.0


def test_points_of_the_user_stay_even_where_nothing_else_may_be_and_serve_the_span() -> None:
    found = place(
        1200.0, everywhere(1200.0), 300.0, forbidden=[(290.0, 310.0)], fixed=[300.0, 600.0], end_mm=(0.0, 0.0)
    )
    assert [p.at_mm for p in found.points if p.user] == [300.0, 600.0]
    assert Placed(300.0, "tie_mount", user=True) in found.points
    assert len(found.points) == 5


def test_a_window_that_nothing_can_serve_is_returned() -> None:
    found = place(900.0, everywhere(900.0), 300.0, forbidden=[(390.0, 520.0)], windows=[(400.0, 500.0), (550.0, 600.0)])
    assert found.missed == ((400.0, 500.0),)
    assert any(550.0 <= p.at_mm <= 600.0 for p in found.points)


def test_touching_forbidden_stretches_leave_their_common_border_free() -> None:
    found = place(400.0, everywhere(400.0), 200.0, forbidden=[(0.0, 200.0), (200.0, 400.0)])
    assert [p.at_mm for p in found.points] == [200.0]


@pytest.mark.parametrize(
    "wrong",
    [
        {"length_mm": -1.0},
        {"length_mm": math.nan},
        {"span_mm": 0.0},
        {"step_mm": 0.0},
        {"fixed": [1001.0]},
        {"end_mm": (-5.0, None)},
        {"stretches": [Stretch(0.0, 10.0, 0.0, "clip")]},
    ],
)
def test_absurd_inputs_are_refused(wrong: dict[str, object]) -> None:
    usual: dict[str, object] = {"length_mm": 1000.0, "stretches": everywhere(1000.0), "span_mm": 300.0}
    with pytest.raises(ValueError, match=r"expected|channel of"):
        place(**{**usual, **wrong})  # type: ignore[arg-type]


def legal(
    positions: list[float], length: float, windows: list[tuple[float, float]], span: float, ends: tuple[float, float]
) -> bool:
    wanted = [*windows, (0.0, ends[0]), (length - ends[1], length)]
    return all(any(a <= p <= b for p in positions) for a, b in wanted) and all(
        q - p <= span for p, q in itertools.pairwise(positions)
    )


def test_three_hundred_random_channels_against_every_subset() -> None:
    rnd = random.Random(4)
    feasible = 0
    for _ in range(300):
        length = rnd.randint(400, 1200)
        spots = {rnd.randint(0, length): rnd.choice([1.0, 1.5, 3.0]) for _ in range(rnd.randint(4, 11))}
        at = sorted(spots)
        lows = [rnd.randint(50, length - 100) for _ in range(rnd.randint(0, 3))]
        windows = [(float(w), float(min(w + rnd.randint(30, 200), length))) for w in lows]
        span, ends = rnd.choice([200.0, 300.0, 400.0]), (120.0, 120.0)
        stretches = [Stretch(p, p, spots[p], "clip") for p in at]
        found = place(length, stretches, span, windows=windows, end_mm=ends)
        best: tuple[float, float] | None = None
        for count in range(1, len(at) + 1):
            for chosen in itertools.combinations(at, count):
                if legal(list(chosen), length, windows, span, ends):
                    ladder = [0, *chosen, length]
                    value = (
                        sum(spots[p] for p in chosen),
                        float(sum((b - a) ** 2 for a, b in itertools.pairwise(ladder))),
                    )
                    best = value if best is None else min(best, value)
        positions = [p.at_mm for p in found.points]
        if best is None:
            assert found.gaps or found.missed
            continue
        feasible += 1
        assert found.gaps == ()
        assert found.missed == ()
        assert legal(positions, length, windows, span, ends)
        ladder_mm = [0.0, *positions, float(length)]
        uneven = sum((b - a) ** 2 for a, b in itertools.pairwise(ladder_mm))
        assert (found.cost, uneven) == pytest.approx(best)
    assert 60 < feasible < 290


@given(
    length=st.integers(100, 4000),
    parts=st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 900), st.sampled_from([1.0, 1.6, 6.0])), max_size=6),
    banned=st.lists(st.tuples(st.integers(0, 4000), st.integers(1, 400)), max_size=3),
    fixed=st.lists(st.integers(0, 100), max_size=3),
    span=st.sampled_from([250.0, 300.0, 457.0]),
    ends=st.tuples(st.sampled_from([None, 0.0, 80.0]), st.sampled_from([None, 0.0, 80.0])),
)
def test_every_answer_is_legal_but_for_the_gaps_it_names(
    length: int,
    parts: list[tuple[int, int, float]],
    banned: list[tuple[int, int]],
    fixed: list[int],
    span: float,
    ends: tuple[float | None, float | None],
) -> None:
    stretches = [Stretch(a, a + w, c, "clip") for a, w, c in parts]
    forbidden = [(float(a), float(a + w)) for a, w in banned]
    found = place(float(length), stretches, span, forbidden=forbidden, fixed=[float(p) for p in fixed], end_mm=ends)
    at = [p.at_mm for p in found.points]
    assert at == sorted(set(at))
    assert {p.at_mm for p in found.points if p.user} == {float(p) for p in fixed}
    for point in found.points:
        if not point.user:
            assert any(s.from_mm - 1e-6 <= point.at_mm <= s.to_mm + 1e-6 for s in stretches)
            assert not any(a + 1e-6 < point.at_mm < b - 1e-6 for a, b in forbidden)
    named = {(g.from_mm, g.to_mm) for g in found.gaps}
    for a, b in itertools.pairwise(at):
        assert b - a <= span + 1e-5 or (a, b) in named
    for gap in found.gaps:  # a gap is only where nothing could have shortened it
        inside = (gap.from_mm + 1e-3, gap.to_mm - 1e-3)
        for s in stretches:
            lo, hi = max(s.from_mm, inside[0]), min(s.to_mm, inside[1])
            spots = [lo, hi, *(e for f in forbidden for e in f if lo <= e <= hi)] if lo <= hi else []
            assert all(any(a < p < b for a, b in forbidden) for p in spots)


def test_the_catalogues_ties_against_a_steel_tie_makers_table() -> None:
    """Maker's table of 4.6 mm ball-lock steel ties, nine lengths (read; D5 of the worked examples): (length - 15) / pi
    within 1 mm. Nylon keeps at least 28 mm for head and grip (from memory), so none of ours reaches farther."""
    told = [row for row in rows("cable_tie_sizes.csv") if row["type"].startswith("stainless")]
    assert len(told) == 9
    for row in told:
        assert (float(row["length_mm"]) - 15.0) / math.pi == pytest.approx(float(row["max_bundle_mm"]), abs=1.0)
    ties = [part for part in load_library().fixing_kinds if part.kind == "cable_tie"]
    assert len(ties) > 10
    for part in ties:
        length_mm = float(part.name.removesuffix(" mm").rpartition(" x ")[2])
        if "stainless" in part.name:
            assert part.largest_bundle_mm == pytest.approx((length_mm - 15.0) / math.pi, abs=1.0), part.name
        else:
            assert part.largest_bundle_mm <= (length_mm - 28.0) / math.pi, part.name


class Part:
    def __init__(self, largest_bundle_mm: float) -> None:
        self.largest_bundle_mm = largest_bundle_mm


def test_the_smallest_part_that_takes_the_bundle() -> None:
    parts = [Part(50.0), Part(22.0), Part(35.0)]
    chosen = part_for(22.5, parts)
    assert chosen is not None
    assert chosen.largest_bundle_mm == 35.0
    assert part_for(22.0, parts) is parts[1]
    assert part_for(51.0, parts) is None
