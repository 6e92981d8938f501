"""Packing: real layouts, the same for the same wires, near the best known ones."""

import importlib.util
import itertools
import math
import os
import random
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry import packing, packing_plain, packing_speed
from core.geometry.packing import Packing, Quality, lower_bound_mm, pack, pack_all
from core.geometry.packing_search import Effort, search
from tests.core.harness.tables import rows


@pytest.fixture(scope="module", autouse=True)
def compiled(request: pytest.FixtureRequest) -> None:
    """These tests pack much more than any plan: compiled where numba is, and what that changes is time alone, see
    test_plain_and_compiled_give_the_same_bits. What was compiled outlasts the home folder of one run."""
    if (cache := getattr(request.config, "cache", None)) is not None:
        os.environ.setdefault("NUMBA_CACHE_DIR", str(cache.mkdir("compiled")))
    packing_speed.load()


QUALITIES: tuple[Quality, ...] = ("quick", "refined")
diameters = st.lists(st.floats(0.5, 20.0), max_size=14)


def check_layout(found: Packing, diameters_mm: list[float]) -> None:
    """Nothing overlaps and nothing sticks out, to a millionth of the largest wire."""
    assert len(found.centres_mm) == len(diameters_mm)
    if not diameters_mm:
        return
    tolerance = 1e-6 * max(diameters_mm)
    at, r = np.array(found.centres_mm), np.array(diameters_mm) / 2.0
    assert np.max(np.hypot(at[:, 0], at[:, 1]) + r) <= found.diameter_mm / 2.0 + tolerance
    for i, j in itertools.combinations(range(len(r)), 2):
        assert math.dist(at[i], at[j]) >= r[i] + r[j] - tolerance


@settings(max_examples=25)
@given(diameters)
def test_quick_layouts_are_real_and_between_the_bounds(diameters_mm: list[float]) -> None:
    found = pack(diameters_mm)
    check_layout(found, diameters_mm)
    assert lower_bound_mm(diameters_mm) <= found.diameter_mm * (1.0 + 1e-9)
    if diameters_mm:
        # Side by side in a row they always fit into their sum.
        assert found.diameter_mm <= sum(diameters_mm) * (1.0 + 1e-9)


@settings(max_examples=8)
@given(diameters)
def test_refined_is_real_and_never_worse_than_quick(diameters_mm: list[float]) -> None:
    found = pack(diameters_mm, "refined")
    check_layout(found, diameters_mm)
    assert found.diameter_mm <= pack(diameters_mm).diameter_mm * (1.0 + 1e-9)


@settings(max_examples=15)
@given(st.lists(st.sampled_from([1.7, 2.4, 3.0, 4.5, 9.0]), min_size=4, max_size=12), st.randoms(use_true_random=False))
def test_the_order_changes_nothing_but_the_places(diameters_mm: list[float], rnd: random.Random) -> None:
    shuffled = diameters_mm[:]
    rnd.shuffle(shuffled)
    found = pack(shuffled)
    assert found.diameter_mm == pack(diameters_mm).diameter_mm
    check_layout(found, shuffled)


@settings(max_examples=15)
@given(st.lists(st.sampled_from([1.7, 2.4, 3.1]), min_size=4, max_size=10), st.floats(1e-3, 1e3))
def test_a_drawing_to_another_scale_is_the_same_drawing(diameters_mm: list[float], scale: float) -> None:
    assert pack([d * scale for d in diameters_mm]).diameter_mm == pytest.approx(
        pack(diameters_mm).diameter_mm * scale, rel=1e-7
    )


@pytest.fixture
def forgetful(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], None]]:
    """A function that forgets every layout found so far; the test begins and ends with nothing remembered."""

    def forget() -> None:
        packing._cache.clear()
        monkeypatch.setattr(packing, "_cached_circles", 0)

    forget()
    yield forget
    packing._cache.clear()
    monkeypatch.undo()
    packing._cached_circles = 0


def test_many_bundles_at_once_get_the_very_answers_of_each_alone(forgetful: Callable[[], None]) -> None:
    rnd = random.Random(4)
    sets = [rnd.choices([1.7, 2.4, 3.0, 4.5], k=rnd.choice([0, 1, 2, 3, 5, 9, 14, 40, 80, 160])) for _ in range(30)]
    together = pack_all(sets)
    forgetful()
    assert [pack(diameters_mm) for diameters_mm in sets] == together
    few = [s for s in sets if len(s) < 50][:12]
    refined = pack_all(few, "refined")
    forgetful()
    assert [pack(diameters_mm, "refined") for diameters_mm in few] == refined


def test_plain_and_compiled_give_the_same_bits() -> None:
    if not packing_speed.is_compiled():
        assert importlib.util.find_spec("numba") is None, "numba is here and does not work"
        return
    rnd = random.Random(9)
    for count in (4, 7, 13, 26, 58, 97, 160):
        wires = [rnd.choices([1.3, 1.7, 1.9, 2.4, 3.0, 4.5, 9.0], k=count) for _ in range(2)]
        sets = [np.array(sorted(w, reverse=True)) / max(w) for w in wires] + [np.ones(count)]
        for quality in QUALITIES if count < 30 else QUALITIES[:1]:
            effort = packing._effort(tuple(round(1e8 * r) for r in sets[0]), quality)
            one, other = (search(sets, effort, engine) for engine in (packing_speed.engine(), packing_plain))
            for (radius, at), (plain_radius, plain_at) in zip(one, other, strict=True):
                assert radius == plain_radius
                assert at.tobytes() == plain_at.tobytes()


def test_a_long_search_finds_little_more_for_mixed_wires() -> None:
    # No published values for such sets: a search that takes about twenty times as long is the measure.
    if not packing_speed.is_compiled():
        return  # it would take minutes; the answers are the same ones
    gaps, times_s = [], []
    for count in (10, 15, 18, 22, 27, 31, 36, 40):
        wires = sorted(random.Random(count).choices([1.3, 1.7, 1.9, 2.4, 3.0, 3.6, 4.5, 6.5], k=count), reverse=True)
        pack(wires)
        started_s = time.process_time()
        found = pack(wires, "refined").diameter_mm
        times_s.append(time.process_time() - started_s)
        radii = np.array(wires) / wires[0]
        longer = Effort(30, 60, 10, 28_000 // count, 14_000 // count, 1, 0, 26, 4, 200)
        gaps.append(found / search([radii], longer, packing_speed.engine())[0][0] / wires[0] - 1.0)
    assert np.mean(gaps) < 0.008
    assert max(gaps) < 0.02
    assert np.mean(times_s) < 0.12  # 12 ms on a quiet machine


def test_without_numba_nothing_is_lost_but_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packing_speed, "_compiled", None)
    monkeypatch.setattr(packing_speed, "_failed", False)

    def missing() -> None:
        raise ImportError("No module named 'numba'")

    monkeypatch.setattr(packing_speed, "_imported", missing)
    assert not packing_speed.load()
    assert packing_speed.engine() is packing_plain
    assert not packing_speed.prepare()


def test_beside_a_window_a_process_of_its_own_compiles_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    commands: list[list[str]] = []
    monkeypatch.setattr(packing_speed, "_compiled", None)
    monkeypatch.setattr(packing_speed, "_failed", False)
    monkeypatch.setattr(packing_speed, "_imported", lambda: packing_plain)
    monkeypatch.setattr(packing_speed, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(subprocess, "run", lambda command, **_: commands.append(command))
    assert packing_speed.prepare()
    assert [command[1:] for command in commands] == [["-m", "core.geometry.packing_speed"]]
    (tmp_path / "packing_kernel.nbi").touch()
    monkeypatch.setattr(packing_speed, "_compiled", None)
    assert packing_speed.prepare()
    assert len(commands) == 1


def test_a_few_bundles_do_not_wait_for_the_compiler(monkeypatch: pytest.MonkeyPatch) -> None:
    loads: list[bool] = []
    monkeypatch.setattr(packing_speed, "_compiled", None)
    monkeypatch.setattr(packing_speed, "_failed", False)
    monkeypatch.setattr(packing_speed, "load", lambda: loads.append(True))
    monkeypatch.setattr(packing_speed, "_compiled_before", lambda: False)
    packing_speed.load_if_worth(5.0)
    assert not loads
    packing_speed.load_if_worth(60.0)
    monkeypatch.setattr(packing_speed, "_compiled_before", lambda: True)
    packing_speed.load_if_worth(5.0)
    assert len(loads) == 2


def test_compiled_code_lies_in_the_users_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    monkeypatch.setenv("HOME", str(tmp_path))
    assert tmp_path in packing_speed.cache_folder().parents
    assert packing_speed._writable_folder() == packing_speed.cache_folder()
    monkeypatch.setattr(packing_speed, "cache_folder", lambda: tmp_path / "file" / "in")
    (tmp_path / "file").write_text("")
    assert tmp_path not in packing_speed._writable_folder().parents


def test_one_two_and_three_wires_exactly() -> None:
    assert pack([]) == Packing(0.0, ())
    assert pack([7.5]) == Packing(7.5, ((0.0, 0.0),))
    assert pack([2.0, 5.0]).diameter_mm == pytest.approx(7.0)
    # Three of 2 mm: 2 (1 + 2 / sqrt 3); a third that fits beside two of 2 mm up to 2/3 of their diameter costs nothing
    # (Descartes: curvature of the gap 1 + 1 - 1/2).
    assert pack([2.0, 2.0, 2.0]).diameter_mm == pytest.approx(2.0 * (1.0 + 2.0 / math.sqrt(3.0)))
    assert pack([2.0, 2.0, 4.0 / 3.0]).diameter_mm == pytest.approx(4.0)
    assert pack([2.0, 2.0, 1.4]).diameter_mm > 4.0
    for few in ([2.0, 5.0], [5.0, 1.0, 3.0], [3.0, 3.0, 2.9], [10.0, 0.5, 0.4]):
        check_layout(pack(few), few)


@given(st.lists(st.floats(0.5, 20.0), min_size=3, max_size=3))
def test_three_wires_touch_what_they_must(diameters_mm: list[float]) -> None:
    found = pack(diameters_mm)
    check_layout(found, diameters_mm)
    big = sorted(diameters_mm)
    if found.diameter_mm > (big[1] + big[2]) * 1.0001:  # the radii count to 1e-8 of the largest
        r = np.array(diameters_mm) / 2.0
        at = np.array(found.centres_mm)
        for i, j in itertools.combinations(range(3), 2):
            assert math.dist(at[i], at[j]) == pytest.approx(r[i] + r[j], rel=1e-6)


def test_equal_wires_against_the_best_known_circles() -> None:
    # E. Specht's table of best known packings, N = 1..61 (read); refined: 0.5 % on average, 2 % at worst; quick: 3 % on
    # average. None may be below the proven ones, and none is below the others either.
    table = [(int(r["n"]), float(r["ratio_R_over_r"])) for r in rows("packing_equal.csv") if int(r["n"]) <= 61]
    refined = [pack([1.0] * n, "refined").diameter_mm / ratio for n, ratio in table]
    quick = [pack([1.0] * n).diameter_mm / ratio for n, ratio in table]
    assert len(table) == 61
    assert min(refined) > 1.0 - 1e-7
    assert np.mean(refined) < 1.004
    assert max(refined) < 1.02
    assert np.mean(quick) < 1.02
    assert max(quick) < 1.05


@pytest.mark.parametrize(
    ("count", "ratio"), [(7, 3.0), (19, 1 + math.sqrt(2) + math.sqrt(6)), (37, 6.7588), (61, 8.6613)]
)
def test_full_shells(count: int, ratio: float) -> None:
    # D4 of the worked examples (read); 7 and 19 are proven optimal.
    assert pack([2.0] * count, "refined").diameter_mm == pytest.approx(2.0 * ratio, rel=5e-3)


def test_wires_of_every_size_against_published_searches() -> None:
    # Radii 1, 2 ... n; best known values of arXiv:1306.0694 table 4 (read), found there in seconds to hours.
    gaps = []
    for row in rows("packing_unequal.csv"):
        n, best = int(row["n"]), float(row["best_R"])
        if n in (8, 14, 20, 26, 32):
            radius = pack([2.0 * k for k in range(1, n + 1)], "refined").diameter_mm / 2.0
            assert radius > best * (1.0 - 1e-7)
            gaps.append(radius / best - 1.0)
    assert len(gaps) == 5
    assert np.mean(gaps) < 0.03
    assert max(gaps) < 0.045


def test_lower_bound_is_near_and_below_proven_optima() -> None:
    for row in rows("packing_equal.csv"):
        if row["proven"] == "yes":
            ratio = lower_bound_mm([1.0] * int(row["n"])) / float(row["ratio_R_over_r"])
            assert 0.87 < ratio <= 1.0 + 1e-9


@pytest.mark.parametrize("count", [151, 400, 1500])
def test_large_bundles_are_real_dense_and_quick(count: int) -> None:
    rnd = random.Random(count)
    wires = [rnd.choice([1.3, 1.7, 1.9, 2.4, 3.0, 4.5]) for _ in range(count)]
    found = pack(wires)
    at, r = np.array(found.centres_mm), np.array(wires) / 2.0
    assert np.max(np.hypot(at[:, 0], at[:, 1]) + r) <= found.diameter_mm / 2.0 * (1.0 + 1e-9)
    apart = np.hypot(at[:, None, 0] - at[None, :, 0], at[:, None, 1] - at[None, :, 1]) - r[:, None] - r[None, :]
    np.fill_diagonal(apart, 1.0)
    assert float(apart.min()) > -1e-6
    assert sum(d * d for d in wires) / found.diameter_mm**2 > 0.70


def test_very_unlike_wires() -> None:
    wires = [60.0, *[0.5] * 30]
    found = pack(wires)
    check_layout(found, wires)
    assert found.diameter_mm < 61.1


@pytest.mark.parametrize("wrong", [[-1.0], [0.0], [math.nan], [math.inf], [2.0, 3.0, -0.1], [1.0] * 20_001])
def test_absurd_wires_are_refused(wrong: list[float]) -> None:
    with pytest.raises(ValueError, match=r"expected|at most"):
        pack(wrong)
    with pytest.raises(ValueError, match=r"expected|at most"):
        lower_bound_mm(wrong)


def test_an_unknown_quality_is_refused() -> None:
    with pytest.raises(ValueError, match="quick or refined"):
        pack([1.0], "best")  # type: ignore[arg-type]


def test_the_memory_is_bounded_and_shared_between_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packing, "CACHE_ENTRIES", 5)
    cases = [[1.0 + k / 10.0, 2.0, 2.0, 3.0, 1.5] for k in range(12)]
    answers: list[list[float]] = []

    def work() -> None:
        answers.append([pack(case).diameter_mm for case in cases])

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == 4
    assert all(answer == answers[0] for answer in answers)
    assert len(packing._cache) <= 5
    assert packing._cached_circles == sum(len(key) for _, key in packing._cache)
