"""A standards profile: every limit has a number, a source, and whether it was read or is from memory."""

from core.model.catalogue import HowKnown
from core.model.ids import Id, Name, Note
from core.model.record import Record


class Limit(Record, frozen=True, kw_only=True):
    """One rule. `rule` is its code, e.g. ``drop.other``; `value` is in `unit`."""

    rule: Id
    value: float
    unit: str
    source: str
    known: HowKnown
    note: Note = ""


class Profile(Record, frozen=True, kw_only=True):
    """A named, versioned set of limits, and the tables of ampacity and grouping it uses."""

    id: Id
    name: Name
    version: Id
    summary: Note = ""
    ampacity_table: Id
    grouping_table: Id
    limits: tuple[Limit, ...]


class ProfileUse(Record, frozen=True, kw_only=True):
    """The profile a plan was made with, and the limits its owner changed."""

    id: Id
    version: Id
    changes: tuple[Limit, ...] = ()


def limit(profile: Profile, rule: str) -> Limit:
    """The limit of that code. Raises KeyError when the profile has none (a profile file with a hole in it)."""
    for row in profile.limits:
        if row.rule == rule:
            return row
    raise KeyError(f"profile {profile.id} {profile.version} has no limit {rule}")


def changed(profile: Profile, changes: tuple[Limit, ...]) -> Profile:
    """The profile with the owner's changes laid over it, in the order of the profile."""
    if not changes:
        return profile
    over = {row.rule: row for row in changes}
    kept = tuple(over.pop(row.rule, row) for row in profile.limits)
    return Profile(
        id=profile.id,
        name=profile.name,
        version=profile.version,
        summary=profile.summary,
        ampacity_table=profile.ampacity_table,
        grouping_table=profile.grouping_table,
        limits=kept + tuple(over.values()),
    )
