"""A random person at work: whatever is done, undone and done again, every stage agrees. Longer: tests/soak/work.py."""

import gc

import msgspec
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from core.files.codec import decode, encode
from core.model import Plan, ProfileUse
from tests.helpers.plans import random_plan
from tests.soak.edits import EDITS, LIBRARY
from tests.soak.outputs import outputs
from tests.soak.work import Work, said


class Person(RuleBasedStateMachine):
    """Edits by their seed, so that hypothesis can leave out what a failure does not need."""

    def __init__(self) -> None:
        super().__init__()
        self.work = Work()

    @rule(seed=st.integers(0, 2**32 - 1))
    def edit(self, seed: int) -> None:
        self.work.edit(seed)

    @rule()
    def undo(self) -> None:
        self.work.undo()

    @rule()
    def redo(self) -> None:
        self.work.redo()

    @rule()
    def analysed(self) -> None:
        self.work.check()

    @invariant()
    def file_reads_back(self) -> None:
        assert decode(encode(self.work.plan)) == self.work.plan

    def teardown(self) -> None:
        self.work.check()
        assert self.work.replayed() == self.work.plan


TestPerson = Person.TestCase
TestPerson.settings = settings(max_examples=12, stateful_step_count=30, deadline=None)


@pytest.mark.parametrize("seed", [3, 17, 210, 312])
def test_a_day_of_work_agrees_with_its_replay_and_becomes_every_paper(seed: int) -> None:
    # 210 and 312: deleting a wall once left a circuit without its source, whose file could not be read
    work = Work()
    for number in range(70):
        work.edit(seed * 1_000 + number)
    work.check()
    assert work.replayed() == work.plan
    assert len(work.plan.channels) > 2
    outputs(work.plan, LIBRARY)


def test_every_kind_of_work_was_done() -> None:
    work = Work()
    for seed in range(900):
        work.edit(seed)
        if len(work.plan.devices) > 40:
            counts, work = work.counts, Work()
            work.counts = counts
    assert {edit.__name__ for edit, _ in EDITS} <= work.counts.keys()


@pytest.mark.parametrize("seed", range(8))
def test_any_sound_plan_becomes_every_paper(seed: int) -> None:
    """Whatever the types allow: coordinates of a thousand kilometres, names of control characters, no name at all."""
    plan = random_plan(seed, seed % 4 + 1, variants=seed % 3 == 0)
    outputs(msgspec.structs.replace(plan, profile=ProfileUse(id="van-metric", version="1")), LIBRARY)


def test_what_is_remembered_does_not_grow() -> None:
    """One plan after the other through one analyser: it keeps the stages of the last one, nothing of those before."""
    work = Work()
    sizes = []
    for _ in range(4):
        work.history = type(work.history)(work.history.steps[:1])
        for seed in range(40):
            work.edit(seed)
            work.analyser.analyse(work.plan, "quick")
        gc.collect()
        sizes.append((len(work.analyser._memory), sum(isinstance(each, Plan) for each in gc.get_objects())))
    assert sizes[1] == sizes[-1]
    assert said(work.analyser.analyse(work.plan, "quick"))["findings"]
