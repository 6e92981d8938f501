"""Conduits that lie in the bundle of a channel, beside its wires or round some of them."""

from collections.abc import Iterable

from core.edits.change import get, made, put, refuse, replaced, title
from core.edits.kinds import use_kind
from core.model import Channel, ConduitKind, InnerConduit, Plan


def lay_inner_conduit(
    plan: Plan, channel_ids: Iterable[str], kind: ConduitKind, circuits: Iterable[str] = (), draw_string: bool = False
) -> Plan:
    """Lay a conduit in the bundles of channels, round the wires of some circuits or empty for later ones. The plan
    takes its copy of the kind. Refuses a circuit that lies in another conduit of the same bundle already."""
    plan, wanted = use_kind(plan, kind), tuple(dict.fromkeys(circuits))
    for circuit in wanted:
        get(plan, "circuits", circuit)
    for channel_id in channel_ids:
        channel: Channel = get(plan, "channels", channel_id)
        for circuit in wanted:
            if any(circuit in row.circuits for row in channel.inner):
                name = get(plan, "circuits", circuit).name
                refuse(f"“{name}” lies in another conduit of {title('channels', channel)} already.")
        row = made(InnerConduit, conduit=kind.id, circuits=wanted, draw_string=draw_string)
        plan = put(plan, "channels", replaced(channel, inner=(*channel.inner, row)))
    return plan


def take_inner_conduits_out(plan: Plan, channel_ids: Iterable[str]) -> Plan:
    """Take the conduits out of the bundles of channels; their wires stay in the bundle."""
    chosen = [get(plan, "channels", channel_id) for channel_id in channel_ids]
    if not any(channel.inner for channel in chosen):
        refuse("There is no conduit in these bundles.")
    return put(plan, "channels", *(replaced(channel, inner=()) for channel in chosen))
