"""What a crash left is offered at the next start: one plan after the other, each with its time and what differs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from PySide6.QtWidgets import QWidget

from app.dialogs.ask import Choice, Question, tell_problem
from app.guard import Guard
from app.recovery import Left, discard, left_over, recovered
from core.errors import FileProblem
from core.files.codec import read_plan
from core.model import Plan
from core.model.plan import COLLECTIONS


def offer(over: QWidget, guard_for: Callable[[], Guard]) -> None:
    """Ask over a window about the plans that were left by a program that ended without closing, one after the other.

    `guard_for` gives the window a plan is restored in.
    """
    _offer(over, guard_for, list(left_over()))


def _offer(over: QWidget, guard_for: Callable[[], Guard], rest: list[Left]) -> None:
    if not rest:
        return
    left, *rest = rest
    question = Question(
        over, "Loomwright", f"“{left.name}” was not saved when Loomwright ended.", told_of(left),
        (Choice("restore", "Restore it"), Choice("later", "Ask again next time", "reject"),
         Choice("discard", "Throw it away", "destroy")),
    )  # fmt: skip

    def answered(chosen: str) -> None:
        if chosen == "restore":
            _restore(over, guard_for, left)
        elif chosen == "discard":
            discard(left)
        _offer(over, guard_for, rest)

    question.ask(answered)


def _restore(over: QWidget, guard_for: Callable[[], Guard], left: Left) -> None:
    try:
        plan = recovered(left)
    except FileProblem as problem:
        tell_problem(over, "What was kept cannot be read.", problem)
        return
    guard_for().restore(left, plan)


def told_of(left: Left) -> str:
    """When it was kept, where its file is, and what is different there."""
    sentences = [
        f"It was kept at {_local(left.written)}." if left.written else "It was kept when the program ran last."
    ]
    if left.original is None:
        sentences.append("It was never saved to a file.")
    else:
        sentences.append(f"Its file is {left.original}.")
        try:
            sentences.append(difference(read_plan(left.original), recovered(left)))
        except FileProblem as problem:
            sentences.append(f"The two cannot be compared: {problem.message}.")
    return " ".join(sentences)


def difference(saved: Plan, kept: Plan) -> str:
    """What differs between two plans, counted."""
    added = removed = changed = 0
    for name in COLLECTIONS:
        before, after = ({record.id: record for record in getattr(plan, name)} for plan in (saved, kept))
        added += len(after.keys() - before.keys())
        removed += len(before.keys() - after.keys())
        changed += sum(before[key] != after[key] for key in before.keys() & after.keys())
    if not (added or removed or changed):
        return "Both hold the same." if saved == kept else "Its name or settings differ from the file's."
    return f"Since the file was saved {added} things were added, {changed} changed and {removed} deleted."


def _local(written: str) -> str:
    """The UTC time of a note in the clock of this place."""
    try:
        at = datetime.strptime(written, "%Y-%m-%d %H:%M:%S %Z")  # noqa: DTZ007 (the note says UTC)
    except ValueError:
        return written
    return f"{at.replace(tzinfo=UTC).astimezone():%d %b %Y, %H:%M}"
