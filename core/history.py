"""Undo as a value: the states a thing went through, with the labels of the edits that led to them."""

from dataclasses import dataclass, replace
from typing import Generic, TypeVar

T = TypeVar("T")

#: Older states are forgotten. States share all that did not change, so this many cost little.
LONGEST = 1_000


@dataclass(frozen=True, slots=True)
class Step(Generic[T]):
    """A state and the label of the edit that made it; edits with an equal `key` that follow each other are one step."""

    label: str
    state: T
    key: str | None = None


@dataclass(frozen=True, slots=True)
class History(Generic[T]):
    """`steps[position]` is the present one; what lies behind it can be done again."""

    steps: tuple[Step[T], ...]
    position: int = 0

    @property
    def state(self) -> T:
        return self.steps[self.position].state

    @property
    def undo_label(self) -> str | None:
        """Label of the edit that undo takes back, None when there is none."""
        return self.steps[self.position].label if self.position > 0 else None

    @property
    def redo_label(self) -> str | None:
        return self.steps[self.position + 1].label if self.position + 1 < len(self.steps) else None


def started(state: T, label: str = "") -> History[T]:
    return History((Step(label, state),))


def committed(history: History[T], label: str, state: T, key: str | None = None) -> History[T]:
    """The history with a new present. The very same state changes nothing; what could be done again is forgotten.

    With a `key` equal to that of the present step the step is replaced: ten nudges are one undo.
    """
    if state is history.state:
        return history
    present = history.steps[history.position]
    kept = history.steps[: history.position + 1]
    if key is not None and present.key == key and history.position > 0:
        kept = kept[:-1]
    steps = (*kept, Step(label, state, key))[-LONGEST:]
    return History(steps, len(steps) - 1)


def undone(history: History[T]) -> History[T]:
    """One step back; the history itself at its start."""
    return replace(history, position=history.position - 1) if history.position > 0 else history


def redone(history: History[T]) -> History[T]:
    """One step forward; the history itself at its end."""
    return replace(history, position=history.position + 1) if history.redo_label is not None else history


def moved_to(history: History[T], position: int) -> History[T]:
    """The history at any of its steps; ValueError where there is none of that number."""
    if not 0 <= position < len(history.steps):
        raise ValueError(f"there is no step {position} of {len(history.steps)}")
    return history if position == history.position else replace(history, position=position)
