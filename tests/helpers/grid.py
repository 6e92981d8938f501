"""Plans of a few records made by hand: one floor, nodes and channels on it, two devices and a circuit between them."""

from msgspec.structs import replace

from core.files.library import load_library
from core.model import (
    FORMAT,
    Assumptions,
    Channel,
    Circuit,
    Corner,
    Device,
    Electrical,
    Node,
    OnSurface,
    Plan,
    Point,
    ProfileUse,
    Stop,
    Surface,
)

LIBRARY = load_library()
PROFILE = LIBRARY.profile("van-metric")
KIND = next(k for k in LIBRARY.wire_kinds if k.group == "dc_power" and k.cores == 1)
MAINS_KIND = next(k for k in LIBRARY.wire_kinds if k.group == "mains" and k.cores == 3)


def floor(length_mm: float = 4_000.0, width_mm: float = 2_000.0, **fields) -> Surface:
    corners = ((0.0, 0.0), (length_mm, 0.0), (length_mm, width_mm), (0.0, width_mm))
    return Surface(
        id="floor",
        name="Floor",
        role="floor",
        corners=tuple(Corner(id=str(i), at_mm=at) for i, at in enumerate(corners, 1)),
        **fields,
    )


def channel(name: str, start: str, end: str, **fields) -> Channel:
    return Channel(**{"id": name, "name": name, "start": start, "end": end, "surface": "floor", **fields})


def plan(nodes: dict[str, Point], channels: tuple[Channel, ...], start: str, end: str, **electrical) -> Plan:
    """A source at node `start` and a load at node `end`, both right on their node, in circuit "C"."""
    load = Electrical(**{"system": "dc12", "current_a": 5.0, **electrical})
    return Plan(
        format=FORMAT,
        id="plan",
        name="grid",
        profile=ProfileUse(id=PROFILE.id, version=PROFILE.version),
        assumptions=Assumptions(wire_kind=KIND.id, mains_kind=MAINS_KIND.id),
        surfaces=(floor(),),
        nodes=tuple(Node(id=n, place=OnSurface(surface="floor", at_mm=at)) for n, at in nodes.items()),
        channels=channels,
        devices=(
            Device(id="source", name="Source", kind="fuse_block", surface="floor", at_mm=nodes[start], node=start),
            Device(id="load", name="Load", kind="light", surface="floor", at_mm=nodes[end], node=end, electrical=load),
        ),
        circuits=(
            Circuit(
                id="C",
                name="Light",
                stops=(Stop(id="0", device="source", role="source"), Stop(id="1", device="load", after="0")),
            ),
        ),
        wire_kinds=(KIND, MAINS_KIND),
    )


def changed(of: Plan, collection: str, record: str, **fields) -> Plan:
    """The plan with some fields of one record changed."""
    rows = tuple(replace(r, **fields) if r.id == record else r for r in getattr(of, collection))
    return replace(of, **{collection: rows})
