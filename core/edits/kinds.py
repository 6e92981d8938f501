"""Use kind: a plan takes its own copy of every kind of wire, tape, conduit and fixing it uses."""

from core.edits.change import add, get, refuse, replaced
from core.files.library import Library
from core.model import (
    ConduitKind,
    FixingKind,
    GrommetKind,
    Plan,
    SeparationGroup,
    TapeKind,
    WireKind,
    WrapStyle,
    find,
)

Kind = WireKind | TapeKind | ConduitKind | GrommetKind | FixingKind | WrapStyle

COLLECTION_OF: dict[type[Kind], str] = {
    WireKind: "wire_kinds",
    TapeKind: "tape_kinds",
    ConduitKind: "conduit_kinds",
    GrommetKind: "grommet_kinds",
    FixingKind: "fixing_kinds",
    WrapStyle: "wrap_styles",
}
#: The assumption that names the wire kind of each separation group.
ASSUMED: dict[SeparationGroup, str] = {
    "mains": "mains_kind",
    "dc_power": "wire_kind",
    "signal": "signal_kind",
    "antenna": "antenna_kind",
}
GROUP_WORDS: dict[SeparationGroup, str] = {
    "mains": "mains",
    "dc_power": "DC power",
    "signal": "signals",
    "antenna": "antennas",
}


def use_kind(plan: Plan, kind: Kind) -> Plan:
    """Use kind: copy it into the plan once. A copy the plan holds already stays as it is, whatever the library says.

    A wrap style's tape must be in the plan before it.
    """
    collection = COLLECTION_OF[type(kind)]
    if any(record.id == kind.id for record in getattr(plan, collection)):
        return plan
    if isinstance(kind, WrapStyle) and kind.tape is not None:
        get(plan, "tape_kinds", kind.tape)
    return add(plan, collection, kind)


def use_wrap(plan: Plan, library: Library, style_id: str) -> Plan:
    """Use wrap style: copy it and its tape from the library."""
    style = next((each for each in library.wrap_styles if each.id == style_id), None)
    if style is None:
        refuse(f"The library has no wrap style {style_id}.")
    for tape in library.tape_kinds:
        if tape.id == style.tape:
            plan = use_kind(plan, tape)
    return use_kind(plan, style)


def default_wire(library: Library, group: SeparationGroup) -> WireKind | None:
    """The first kind of the library for a separation group; for mains the first cable with three cores."""
    for kind in library.wire_kinds:
        if kind.group == group and (group != "mains" or kind.cores == 3):
            return kind
    return None


def use_default_wire(plan: Plan, group: SeparationGroup, library: Library | None) -> tuple[Plan, WireKind]:
    """The plan with a wire kind assumed for the group, and that kind. Refuses when neither plan nor library has one."""
    chosen = getattr(plan.assumptions, ASSUMED[group])
    if chosen is not None:
        kind: WireKind = find(plan, "wire_kinds", chosen)
        return plan, kind
    default = default_wire(library, group) if library is not None else None
    if default is None:
        refuse(f"There is no kind of wire for {GROUP_WORDS[group]} in the plan, and none in the library to take.")
    plan = use_kind(plan, default)
    return replaced(plan, assumptions=replaced(plan.assumptions, **{ASSUMED[group]: default.id})), default
