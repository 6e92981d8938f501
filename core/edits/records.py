"""Set a field of any record, rename, delete, waive a finding, and what is set for the whole plan."""

from collections.abc import Iterable
from typing import Any

from core.edits.change import WORDS, add, changed, find_any, get, made, new_id, put, refuse, replaced, take_out, title
from core.edits.channels import check_along
from core.edits.deleting import Deletion, delete
from core.edits.surfaces import check_within, clean_outline
from core.files.references import problems, references
from core.model import COLLECTIONS, Limit, Plan, Record, Waiver, ids, impossible

#: Fields whose soundness hangs on other records: the whole plan is looked at after they change.
STRUCTURAL = frozenset(
    {"corners", "fold", "a_line", "b_line", "place", "stops", "ports", "ways", "outline", "line_mm", "holes", "part"}
)
#: Fields of the plan that are set by edits of their own.
NOT_SET = frozenset({"format", "id", "variants", *COLLECTIONS})


def set_field(plan: Plan, record_id: str, **changes: Any) -> Plan:
    """Set fields of a record, with values as a form gives them.

    Refuses, in a sentence that names record and field, a value of the wrong type or beyond its limits, a reference to
    what is not there, a place off its surface, and what would make the plan unreadable.
    """
    collection, record = find_any(plan, record_id)
    if collection == "circuits" and not str(changes.get("name", "x")).strip():
        refuse(f"The {title(collection, record)} needs a name; it is printed on its labels.")
    if collection == "surfaces" and "outline" not in changes and "corners" in changes:
        refuse(f"The corners of “{record.name}” are moved, inserted and deleted one by one.")
    if "outline" in changes:
        changes["outline"] = clean_outline(changes["outline"], f"the {title(collection, record)}")
    after = changed(record, **changes)
    if after is record:
        return plan
    if collection == "devices" and "electrical" in changes:
        for number in impossible(after.electrical):
            if number not in impossible(record.electrical):
                refuse(f"“{after.name}” cannot have a {number.words} of {number.value:g}.")
    if collection == "circuits" and (after.current_a or 0.0) < 0 <= (record.current_a or 0.0):
        refuse(f"“{after.name}” cannot carry {after.current_a:g} A.")
    _check_places(plan, collection, after, changes)
    result = put(plan, collection, after)
    _check_references(plan, collection, after)
    if STRUCTURAL & changes.keys():
        wrong = problems(result)
        if wrong and wrong[0] not in problems(plan):
            refuse(f"The {title(collection, record)} cannot be so: {wrong[0].message}.")
    return result


def _check_places(plan: Plan, collection: str, record: Any, changes: dict[str, Any]) -> None:
    """What was set to lie on a surface or a channel must lie on it."""
    what = f"The {title(collection, record)}"
    if collection in ("securing_points", "pass_throughs") and {"channel", "at_mm"} & changes.keys():
        check_along(plan, get(plan, "channels", record.channel), record.at_mm, what)
    elif "surface" in record.__struct_fields__ and record.surface is not None:
        surface = get(plan, "surfaces", record.surface)
        points: list[Any] = []
        if collection in ("devices", "earth_points") and {"at_mm", "surface"} & changes.keys():
            points = [record.at_mm]
        for field in ("outline", "line_mm", "via_mm"):
            if field in changes:
                points += getattr(record, field)
        check_within(surface, points, what)


def _check_references(plan: Plan, collection: str, record: Any) -> None:
    known = {name: {each.id for each in getattr(plan, name)} for name in COLLECTIONS}
    alone = replaced(plan, **{name: () for name in COLLECTIONS if name != collection}, **{collection: (record,)})
    for path, collections, target in references(alone):
        if path.startswith(f"$.{collection}[") and not any(target in known[name] for name in collections):
            where = " or ".join(WORDS[name] for name in collections)
            refuse(f"The {title(collection, record)} cannot refer to {target}: the plan has no such {where}.")


def rename(plan: Plan, record_id: str, name: str) -> Plan:
    """Rename a record. Blanks around the name are dropped."""
    collection, record = find_any(plan, record_id)
    if "name" not in record.__struct_fields__:
        refuse(f"A {WORDS[collection]} has no name.")
    return set_field(plan, record_id, name=name.strip())


def set_plan(plan: Plan, **changes: Any) -> Plan:
    """Set what holds for the whole plan: name, note, customer, vehicle, whom it is built for, assumptions.

    `assumptions`, `customer` and `vehicle` may be given in part, as a mapping of their fields.
    """
    for field, value in changes.items():
        if field in NOT_SET:
            refuse(f"The plan's {field.replace('_', ' ')} is not set this way.")
        old = getattr(plan, field, None)
        if isinstance(value, dict) and isinstance(old, Record):
            changes[field] = changed(old, **value)
    if "name" in changes and not str(changes["name"]).strip():
        refuse("The plan needs a name; it is printed on every paper.")
    result = changed(plan, **changes)
    taken = ids(result)
    for path, _, target in references(replaced(result, **dict.fromkeys(COLLECTIONS, ()))):
        if target not in taken:
            refuse(f"The plan cannot assume {target}: it has no such thing ({path.rpartition('.')[2]}).")
    return result


def set_assumptions(plan: Plan, **changes: Any) -> Plan:
    """Set assumptions: what holds where nothing else is said."""
    return set_plan(plan, assumptions=changes)


def set_limit(plan: Plan, limit: Limit) -> Plan:
    """Set limit: the owner's own value of a rule of the standards profile, printed as theirs."""
    rest = tuple(row for row in plan.profile.changes if row.rule != limit.rule)
    if limit in plan.profile.changes:
        return plan
    return replaced(plan, profile=replaced(plan.profile, changes=(*rest, limit)))


def reset_limit(plan: Plan, rule: str) -> Plan:
    """Reset limit: the rule holds again as the profile says."""
    rest = tuple(row for row in plan.profile.changes if row.rule != rule)
    return replaced(plan, profile=replaced(plan.profile, changes=rest))


def waive(plan: Plan, code: str, subjects: Iterable[str], reason: str, by: str = "", on: str = "") -> tuple[Plan, str]:
    """Waive a finding, by its code and subjects, with a reason that is printed in the owner's book."""
    subjects = tuple(subjects)
    if not code.strip():
        refuse("A waiver needs the code of the finding it sets aside.")
    if not reason.strip():
        refuse("A finding is set aside only with a reason; it is printed in the owner's book.")
    if plan.build_for == "customer" and not by.strip():
        refuse("In a plan for a customer a waiver needs the name of who sets the rule aside.")
    for waiver in plan.waivers:
        if waiver.code == code and set(waiver.subjects) == set(subjects):
            refuse(f"This finding is waived already ({waiver.reason}).")
    fresh = new_id(plan, "waivers")
    waiver = made(Waiver, id=fresh, code=code, subjects=subjects, reason=reason.strip(), by=by.strip(), on=on)
    return add(plan, "waivers", waiver), fresh


def unwaive(plan: Plan, waiver_id: str) -> Plan:
    """Take a waiver back: the finding stands again."""
    get(plan, "waivers", waiver_id)
    return take_out(plan, "waivers", {waiver_id})


__all__ = [
    "Deletion",
    "delete",
    "rename",
    "reset_limit",
    "set_assumptions",
    "set_field",
    "set_limit",
    "set_plan",
    "unwaive",
    "waive",
]
