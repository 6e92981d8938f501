"""Standards: which profile holds for the plan, and which of its limits the owner sets or takes from another profile."""

from math import isfinite

from core.edits.change import refuse, replaced
from core.edits.records import reset_limit, set_limit
from core.files.library import Library
from core.model import Limit, Plan, Profile, ProfileUse

OWN_SOURCE = "set by the owner"
#: What a limit in each of these units can be at most; none is below 0. The profiles lie far within.
MOST = {"%": 100.0, "times": 1000.0, "mm": 100_000.0, "mm2": 1000.0, "C": 500.0, "A": 10_000.0, "mA": 10_000.0}
#: Far above anything that can be meant, for the units that have no bound of their own.
ANY_MOST = 1e6


def choose_profile(plan: Plan, library: Library, profile_id: str) -> Plan:
    """Choose profile: the newest of that id holds. The owner's own limits stay where the new profile has the rule."""
    rows = [profile for profile in library.profiles if profile.id == profile_id]
    if not rows:
        refuse(f"There is no standards profile {profile_id}.")
    profile = max(rows, key=lambda row: row.version)
    rules = {row.rule for row in profile.limits}
    kept = tuple(row for row in plan.profile.changes if row.rule in rules)
    use = ProfileUse(id=profile.id, version=profile.version, changes=kept)
    return plan if use == plan.profile else replaced(plan, profile=use)


def own_limit(plan: Plan, library: Library, rule: str, value: float) -> Plan:
    """Set limit to the owner's own number; the number of the profile itself takes the change back."""
    before = _row(library.profile_of(replaced(plan.profile, changes=())), rule)
    most = MOST.get(before.unit, ANY_MOST)
    if not isfinite(value) or not 0 <= value <= most:
        refuse(f"A limit of {value:g} {before.unit} cannot be: give a number from 0 to {most:g} {before.unit}.")
    if value == before.value:
        return reset_limit(plan, rule)
    return set_limit(plan, replaced(before, value=value, source=OWN_SOURCE, known="common practice", note=before.note))


def limit_from(plan: Plan, library: Library, rule: str, profile_id: str) -> Plan:
    """Take limit from another profile, with its source, so that it can be seen where the number comes from."""
    other = max((row for row in library.profiles if row.id == profile_id), key=lambda row: row.version, default=None)
    if other is None:
        refuse(f"There is no standards profile {profile_id}.")
    row = _row(other, rule)
    if row.value is None:
        refuse(f"{other.name} has no number for it either: it was not read. Fill in your own.")
    if other.id == plan.profile.id:
        return reset_limit(plan, rule)
    return set_limit(plan, replaced(row, source=f"{row.source}; taken from “{other.name}”"))


def _row(profile: Profile, rule: str) -> Limit:
    row = next((row for row in profile.limits if row.rule == rule), None)
    if row is None:
        refuse(f"“{profile.name}” has no rule {rule}.")
    return row
