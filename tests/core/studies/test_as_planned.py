"""What is planned stays beside what was pulled, and finished jobs propose allowances that are worked out by hand."""

from dataclasses import replace as changed

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.finishing import record_pulled
from core.files.library import load_library
from core.studies.as_planned import LEAST_WIRES, as_planned, learned
from tests.helpers.samples import sample


def test_a_pulled_size_does_not_change_what_is_planned() -> None:
    made = sample("weekend-camper")
    wire = next(iter(made.wires))
    before = as_planned(made)[wire]
    assert before.section_mm2 == made.sized[wire].section_mm2
    piece = next(piece for piece in made.pieces if wire in piece.wires)
    assert before.cut_mm == pytest.approx(piece.cut_mm)
    other = next(size.section_mm2 for kind in made.plan.wire_kinds if kind.id == made.wires[wire].kind
                 for size in kind.sizes if size.section_mm2 > before.section_mm2)  # fmt: skip
    way = tuple(step.channel for step in made.routes[wire].steps)
    plan, _ = record_pulled(made.plan, wire, way, section_mm2=other, length_mm=1_000.0)
    after = analyse(plan, load_library())
    assert after.sized[wire].section_mm2 == other, "the analysis counts with what lies in the wall"
    assert as_planned(after)[wire].section_mm2 == before.section_mm2
    assert as_planned(after)[wire].cut_mm == pytest.approx(before.cut_mm)


def with_lengths(name: str, over: float, percent: float = 0.0):
    """The sample with every piece's first wire measured: its base and `over` mm and `percent` of its route."""
    made = sample(name)
    planned = as_planned(made)
    plan = made.plan
    plan = replace(plan, as_pulled=())
    for piece in made.pieces:
        wire = planned[piece.wires[0]]
        length = (wire.base_mm or 0.0) + over + percent / 100 * (wire.route_mm or 0.0)
        plan, _ = record_pulled(plan, piece.wires[0], wire.channels, length_mm=length)
    return changed(made, plan=plan)


def test_the_proposal_is_the_smallest_tolerance_that_was_enough() -> None:
    """Every wire needed 40 mm and 1 % of its route beyond ends and loops. All pairs on a grid are tried here, one by
    one: the proposal holds for 95 of 100 wires, and none that does takes less wire."""
    job = with_lengths("long-van", 40.0, 1.0)
    lesson = learned((job,))
    routes = {piece.wires[0]: piece.route_mm for piece in job.pieces}
    needed = [(route, 40.0 + route / 100) for route in routes.values()]

    def wire_mm(percent: float, least: float) -> float | None:
        """What the tolerances add up to, None where they are not enough."""
        given = [max(route * percent / 100, least) for route, _ in needed]
        held = sum(want <= have + 1e-6 for (_, want), have in zip(needed, given, strict=True))
        return sum(given) if held >= 0.95 * len(needed) else None

    mine = wire_mm(lesson.tolerance_percent, lesson.tolerance_least_mm)
    assert mine is not None
    others = [wire_mm(half / 2, float(least)) for half in range(41) for least in range(0, 400, 10)]
    assert mine == pytest.approx(min(total for total in others if total is not None))
    assert (lesson.why_not, lesson.wires) == ("", len(needed))
    assert lesson.enough >= 0.95 * lesson.wires
    # The sample's own tolerance is 3 %, at least 100 mm: no wire was short, so there is copper to spare.
    assert lesson.short == 0
    assert lesson.spared_mm > 0
    assert lesson.differs_from(job.plan.assumptions)


def test_wires_that_were_too_short_are_counted_and_the_proposal_grows() -> None:
    job = with_lengths("long-van", 300.0)
    lesson = learned((job,))
    assert lesson.short > 0
    assert lesson.longest_over_mm > 0
    assert lesson.tolerance_least_mm >= 300.0
    assert lesson.spared_mm < 0


def test_few_or_no_measured_wires_teach_nothing() -> None:
    made = changed(sample("long-van"), plan=replace(sample("long-van").plan, as_pulled=()))
    lesson = learned((made,))
    assert str(LEAST_WIRES) in lesson.why_not
    assert not lesson.differs_from(made.plan.assumptions)
