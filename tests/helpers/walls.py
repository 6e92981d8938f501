"""A right wall with a door, a board over it and one wire behind the board, 300 mm right of the door's rear edge."""

from msgspec.structs import replace

from core.geometry.foldout import lay_out
from core.model import (
    Channel,
    Circuit,
    Device,
    Electrical,
    Layer,
    Node,
    OnSurface,
    Opening,
    Panel,
    Plan,
    Point,
    Rib,
    Stop,
)
from tests.helpers.grid import KIND, MAINS_KIND
from tests.helpers.vans import shell

RIGHT = "s3"
DOOR_REAR_MM = 1_700.0
WIRE_MM = DOOR_REAR_MM + 300.0
BEHIND = {"id": "c", "start": "a", "end": "b", "surface": RIGHT, "kind": "behind_panel"}


def at(x_mm: float, z_mm: float) -> Point:
    """A place on the right wall by its distance from the front and from the floor."""
    pose = lay_out(shell().surfaces).pose(RIGHT)
    x, y, _ = pose.to_local((x_mm, 1_700.0, z_mm))
    return x, y


def rectangle(x0: float, z0: float, x1: float, z1: float) -> tuple[Point, ...]:
    return at(x0, z0), at(x1, z0), at(x1, z1), at(x0, z1)


def wall(**channel) -> Plan:
    """The plan; fields of the one channel `c` can be given."""
    plan = shell()
    surfaces = tuple(
        replace(s, build_up=(Layer(material="insulation", thickness_mm=40.0),)) if s.id == RIGHT else s
        for s in plan.surfaces
    )
    low, high = at(WIRE_MM, 300.0), at(WIRE_MM, 1_500.0)
    load = Electrical(system="dc12", current_a=5.0)
    stops = (Stop(id="0", device="source", role="source"), Stop(id="1", device="load", after="0"))
    return replace(
        plan,
        surfaces=surfaces,
        assumptions=replace(plan.assumptions, wire_kind=KIND.id, mains_kind=MAINS_KIND.id),
        openings=(Opening(id="door", name="Door", surface=RIGHT, kind="door",
                          outline=rectangle(1_000.0, 100.0, DOOR_REAR_MM, 1_600.0)),),
        panels=(Panel(id="board", name="Board", surface=RIGHT, outline=rectangle(0.0, 50.0, 3_000.0, 1_750.0)),),
        ribs=(Rib(id="rib", surface=RIGHT, line_mm=(at(2_400.0, 0.0), at(2_400.0, 1_800.0)), width_mm=60.0),),
        nodes=(Node(id="a", place=OnSurface(surface=RIGHT, at_mm=low)),
               Node(id="b", place=OnSurface(surface=RIGHT, at_mm=high))),
        channels=(Channel(**{**BEHIND, **channel}),),
        devices=(Device(id="source", name="Source", kind="fuse_block", surface=RIGHT, at_mm=low, node="a"),
                 Device(id="load", name="Load", kind="light", surface=RIGHT, at_mm=high, node="b", electrical=load)),
        circuits=(Circuit(id="C", name="Light", stops=stops),),
        wire_kinds=(KIND, MAINS_KIND),
    )  # fmt: skip
