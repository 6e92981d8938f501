"""A standards profile: every limit has a number, a source, and whether it was read or is from memory."""

from typing import Literal

from core.model.catalogue import HowKnown
from core.model.ids import Id, Name, Note
from core.model.record import Record


class Limit(Record, frozen=True, kw_only=True):
    """One rule. `rule` is its code, e.g. ``drop.other``; `value` is in `unit`.

    A number that was not read is an empty field (`value` None, known "not read") for the owner to fill in from his
    own copy of the standard; until then `meanwhile` is used, and shown to stand in.
    """

    rule: Id
    value: float | None = None
    unit: str
    source: str
    known: HowKnown | Literal["not read"]
    note: Note = ""
    meanwhile: float | None = None

    @property
    def used(self) -> float | None:
        """The number that is worked with; None where there is none at all."""
        return self.value if self.value is not None else self.meanwhile


class Profile(Record, frozen=True, kw_only=True):
    """A named, versioned set of limits, and the tables of ampacity and grouping it uses."""

    id: Id
    name: Name
    version: Id
    summary: Note = ""
    ampacity_table: Id
    grouping_table: Id
    #: Table of the largest fuse allowed on each conductor below 50 V, "" where the ampacity alone decides.
    fuse_table: Name = ""
    limits: tuple[Limit, ...]


class ProfileUse(Record, frozen=True, kw_only=True):
    """The profile a plan was made with, and the limits its owner changed."""

    id: Id
    version: Id
    changes: tuple[Limit, ...] = ()


def limit(profile: Profile, rule: str) -> Limit:
    """The limit of that code. Raises KeyError when the profile has none (a profile file with a hole in it)."""
    for row in profile.limits:
        if row.rule == rule and row.used is not None:
            return row
    raise KeyError(f"profile {profile.id} {profile.version} has no limit {rule}")


def changed(profile: Profile, changes: tuple[Limit, ...]) -> Profile:
    """The profile with the owner's changes laid over it, in the order of the profile.

    A change without a number is none.
    """
    over = {row.rule: row for row in changes if row.used is not None}
    if not over:
        return profile
    kept = tuple(over.pop(row.rule, row) for row in profile.limits)
    return Profile(
        id=profile.id,
        name=profile.name,
        version=profile.version,
        summary=profile.summary,
        ampacity_table=profile.ampacity_table,
        grouping_table=profile.grouping_table,
        fuse_table=profile.fuse_table,
        limits=kept + tuple(over.values()),
    )
