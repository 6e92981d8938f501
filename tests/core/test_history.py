"""Undo as a value: the same objects come back, branches are forgotten, nudges are one step."""

from hypothesis import given
from hypothesis import strategies as st

from core.history import LONGEST, committed, redone, started, undone


def test_undo_and_redo_bring_back_the_very_same_objects() -> None:
    first, second = object(), object()
    history = committed(started(first), "draw floor", second)
    assert history.state is second
    assert history.undo_label == "draw floor"
    assert history.redo_label is None
    back = undone(history)
    assert back.state is first
    assert back.undo_label is None
    assert back.redo_label == "draw floor"
    assert redone(back).state is second
    assert undone(back) is back
    assert redone(history) is history


def test_the_very_same_state_is_no_step() -> None:
    state = object()
    history = started(state)
    assert committed(history, "nothing", state) is history


def test_a_commit_after_undo_forgets_what_was_undone() -> None:
    history = undone(committed(committed(started(0), "a", 1), "b", 2))
    history = committed(history, "c", 3)
    assert [step.state for step in history.steps] == [0, 1, 3]
    assert history.redo_label is None


def test_commits_with_one_key_are_one_step() -> None:
    history = started(0)
    for state in (1, 2, 3):
        history = committed(history, "nudge", state, key="nudge d1")
    history = committed(history, "nudge", 4, key="nudge d2")
    assert [step.state for step in history.steps] == [0, 3, 4]
    assert undone(undone(history)).state == 0


def test_the_oldest_steps_are_forgotten() -> None:
    history = started(0)
    for state in range(1, LONGEST + 50):
        history = committed(history, "step", state)
    assert len(history.steps) == LONGEST
    assert history.state == LONGEST + 49


@given(st.lists(st.one_of(st.integers(), st.just("undo"), st.just("redo"))))
def test_history_is_a_tape_with_a_cursor(acts: list[int | str]) -> None:
    """Against the plainest model: a list and an index."""
    history, tape, at = started(object()), [None], 0
    tape = [history.state]
    for act in acts:
        if act == "undo":
            history, at = undone(history), max(0, at - 1)
        elif act == "redo":
            history, at = redone(history), min(len(tape) - 1, at + 1)
        else:
            state = object()
            history = committed(history, "edit", state)
            tape, at = [*tape[: at + 1], state], at + 1
        assert history.state is tape[at]
        assert (history.undo_label is not None) == (at > 0)
        assert (history.redo_label is not None) == (at < len(tape) - 1)
