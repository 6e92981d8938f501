"""All that sizing goes by, as one value; a stage of its own, so that it stays the same object while nothing changes."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from core.analysis.results import CircuitLoad, Route, Wire
from core.model import AsPulled, Assumptions, Channel, Circuit, Device, Profile, WireKind

if TYPE_CHECKING:
    from core.analysis.analysis import Analysis


class SizeInputs(NamedTuple):
    """Lengths (mm) and ambient temperatures (C) are by channel; `pulled_mm2` are the sections already pulled."""

    circuits: tuple[Circuit, ...]
    devices: tuple[Device, ...]
    kinds: tuple[WireKind, ...]
    channels: tuple[Channel, ...]
    wires: Mapping[str, Wire]
    routes: Mapping[str, Route]
    loads: Mapping[str, CircuitLoad]
    lengths: Mapping[str, float]
    ambients: Mapping[str, float]
    profile: Profile
    assumptions: Assumptions
    pulled_mm2: Mapping[str, float]


def pulled_mm2(as_pulled: tuple[AsPulled, ...]) -> dict[str, float]:
    """Sections that were pulled, by wire; spare ones are none of the wire's own."""
    return {row.wire: row.section_mm2 for row in as_pulled if row.section_mm2 is not None and not row.spare}


def inputs_of(analysis: "Analysis", *, pulled: bool = True) -> SizeInputs:
    """What an analysis was sized by. Without `pulled` the plan's sizes hold, whatever was pulled already."""
    plan = analysis.plan
    return SizeInputs(
        circuits=plan.circuits,
        devices=plan.devices,
        kinds=plan.wire_kinds,
        channels=plan.channels,
        wires=analysis.wires,
        routes=analysis.routes,
        loads=analysis.loads,
        lengths={channel: path.length_mm for channel, path in analysis.paths.items()},
        ambients=analysis.ambients,
        profile=analysis.profile,
        assumptions=plan.assumptions,
        pulled_mm2=pulled_mm2(plan.as_pulled) if pulled else {},
    )
