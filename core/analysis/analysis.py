"""`Analysis`: everything computed for one plan, in one value."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from core.analysis.network import Network, Vertex
from core.analysis.places import Fall, Sheet
from core.analysis.results import (
    BendRow,
    Bundle,
    ChannelPath,
    CircuitLoad,
    CircuitSize,
    Clearance,
    Crossing,
    CutPiece,
    CutRow,
    Finding,
    Material,
    Mesh,
    NodeSpot,
    Route,
    SecuringGap,
    SecuringRow,
    SizedWire,
    SpoolPlan,
    Totals,
    Wire,
    WrapRow,
)
from core.analysis.supply import Supply
from core.electrical.sizing import Fault
from core.model import Channel, Circuit, Device, Plan, Profile, Surface, records

if TYPE_CHECKING:
    # imported where a graph is asked for: the window does not wait for it
    import networkx as nx

Quality = Literal["quick", "refined"]


@dataclass(frozen=True, eq=False)
class Analysis:
    """Mappings are by id of wire, channel, circuit or node; do not change them. Compared by identity."""

    plan: Plan
    profile: Profile
    sheet: Sheet
    node_spots: Mapping[str, NodeSpot]
    paths: Mapping[str, ChannelPath]
    falls: Mapping[str, Fall]
    ambients: Mapping[str, float]
    network: Network
    wires: Mapping[str, Wire]
    routes: Mapping[str, Route]
    loads: Mapping[str, CircuitLoad]
    sized: Mapping[str, SizedWire]
    circuit_sizes: Mapping[str, CircuitSize]
    #: (circuit, wire or "", fault) of everything sizing could not meet.
    faults: tuple[tuple[str, str, Fault], ...]
    bundles: Mapping[str, Bundle]
    securing: tuple[SecuringRow, ...]
    securing_gaps: tuple[SecuringGap, ...]
    crossings: tuple[Crossing, ...]
    bends: tuple[BendRow, ...]
    wrap: tuple[WrapRow, ...]
    pieces: tuple[CutPiece, ...]
    cutting: tuple[CutRow, ...]
    materials: tuple[Material, ...]
    totals: Totals
    findings: tuple[Finding, ...]
    quality: Quality
    #: A drag's estimate: never saved, printed or committed.
    provisional: bool = False
    #: Feeders that form a ring or join several sources.
    meshes: tuple[Mesh, ...] = ()
    #: Bundles nearer to a zone or to what moves than they may be.
    clearances: tuple[Clearance, ...] = ()
    #: For every sort of wire, how good the cuts are.
    spool_plans: tuple[SpoolPlan, ...] = ()
    #: Pass-throughs that name a hole between two surfaces once more.
    twice: frozenset[str] = frozenset()

    @property
    def graph(self) -> "nx.MultiGraph[Vertex]":
        """The network of channels and nodes, for reading."""
        return self.network.graph

    @cached_property
    def devices(self) -> Mapping[str, Device]:
        return {d.id: d for d in self.plan.devices}

    @cached_property
    def channels(self) -> Mapping[str, Channel]:
        return {c.id: c for c in self.plan.channels}

    @cached_property
    def circuits(self) -> Mapping[str, Circuit]:
        return {c.id: c for c in self.plan.circuits}

    @cached_property
    def surfaces(self) -> Mapping[str, Surface]:
        return {s.id: s for s in self.plan.surfaces}

    @cached_property
    def supply(self) -> Supply:
        """Who feeds whom."""
        return Supply(self.plan.circuits, self.plan.devices)

    def word(self, record_id: str) -> str:
        """The name of a device, circuit, surface or other record as a person reads it, else its id.

        A channel nobody named is told by its number and where it lies.
        """
        for group in (self.devices, self.channels, self.circuits, self.surfaces):
            record = group.get(record_id)
            if record is not None and record.name:
                return record.name
        channel = self.channels.get(record_id)
        if channel is not None:
            return f"Channel {channel.id}{f' on {self.word(channel.surface)}' if channel.surface else ''}"
        return self._other_names.get(record_id) or record_id

    @cached_property
    def _other_names(self) -> Mapping[str, str]:
        return {record.id: getattr(record, "name", "") for _, record in records(self.plan)}
