"""New plan: an empty sheet with a standards profile and the kinds that are usual."""

from uuid import uuid4

from core.edits.change import made, refuse, replaced
from core.edits.kinds import default_wire, use_default_wire, use_kind, use_wrap
from core.files.library import Library
from core.model import FORMAT, GROUPS, Assumptions, Plan, ProfileUse

#: A loop of this length sheds the water before an entry (mm; common practice, no source). Plans written before there
#: were drip loops leave it out and keep their cut lengths, so it is said in the plan and is no default of the field.
DRIP_LOOP_MM = 100.0


def new_plan(library: Library, name: str, profile_id: str, plan_id: str | None = None) -> Plan:
    """An empty plan under a profile of the library, with copies of the usual wire, cable, tape and wrap of its own.

    `plan_id` is made up where none is given. Refuses a profile the library does not have.
    """
    try:
        profile = library.profile(profile_id)
    except KeyError as error:
        refuse(f"The plan cannot start: {error.args[0]}.")
    plan = made(
        Plan,
        format=FORMAT,
        id=plan_id or f"plan-{uuid4().hex[:12]}",
        name=name.strip() or "New plan",
        profile=ProfileUse(id=profile.id, version=profile.version),
        assumptions=Assumptions(drip_loop_mm=DRIP_LOOP_MM),
    )
    for group in GROUPS:
        if default_wire(library, group) is not None:
            plan, _ = use_default_wire(plan, group, library)
    spiral = next((style for style in library.wrap_styles if style.kind == "spiral"), None)
    if spiral is not None:
        plan = use_wrap(plan, library, spiral.id)
        plan = replaced(plan, assumptions=replaced(plan.assumptions, wrap=spiral.id))
    # The analysis chooses among these, so an old plan needs its own to get the same answers from a new program.
    for conduit in library.conduit_kinds:
        plan = use_kind(plan, conduit)
    for grommet in library.grommet_kinds:
        plan = use_kind(plan, grommet)
    return plan
