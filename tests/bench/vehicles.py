"""Three synthetic vehicles of the sizes work is counted on, built by a seeded generator.

van 300 nodes / 500 channels / 60 wires, coach 5,000 / 8,000 / 1,000, stress 50,000 / 80,000 / 5,000. A vehicle is a
long floor with a jittered grid of crossings, thinned to the wanted count of channels and kept connected; wires lead
from a few fuse blocks to lights.
"""

import random
from typing import Literal

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
    Rib,
    Stop,
    Surface,
    Way,
)

Size = Literal["van", "coach", "stress"]
SIZES: dict[Size, tuple[int, int, int]] = {
    "van": (300, 500, 60),
    "coach": (5_000, 8_000, 1_000),
    "stress": (50_000, 80_000, 5_000),
}
PITCH_MM = 250.0
WAYS = 60


def _grid(count: int, rng: random.Random) -> tuple[list[Point], list[tuple[int, int]], int, int]:
    wide = max(3, round((count / 6) ** 0.5))
    points = [
        ((i // wide + 1 + rng.uniform(-0.3, 0.3)) * PITCH_MM, (i % wide + 1 + rng.uniform(-0.3, 0.3)) * PITCH_MM)
        for i in range(count)
    ]
    pairs = []
    for i in range(count):
        if i % wide + 1 < wide and i + 1 < count:
            pairs.append((i, i + 1))
        if i + wide < count:
            pairs.append((i, i + wide))
        if i % wide + 1 < wide and i + wide + 1 < count:
            pairs.append((i, i + wide + 1))
    return points, pairs, wide, -(-count // wide)


def _thinned(count: int, pairs: list[tuple[int, int]], wanted: int, rng: random.Random) -> list[tuple[int, int]]:
    """A spanning tree first, then more until the count is reached."""
    parent = list(range(count))

    def root(v: int) -> int:
        while parent[v] != v:
            parent[v] = parent[parent[v]]
            v = parent[v]
        return v

    rng.shuffle(pairs)
    kept, rest = [], []
    for a, b in pairs:
        ra, rb = root(a), root(b)
        if ra != rb:
            parent[ra] = rb
            kept.append((a, b))
        else:
            rest.append((a, b))
    return sorted(kept + rest[: max(0, wanted - len(kept))])


def vehicle(size: Size, seed: int = 1) -> Plan:
    """The plan of one vehicle. Half as many circuits as wires: each has a feed and a return."""
    rng = random.Random(seed)
    nodes, channels, wires = SIZES[size]
    points, pairs, wide, long = _grid(nodes, rng)
    edges = _thinned(nodes, pairs, channels, rng)
    length_mm, width_mm = (long + 2) * PITCH_MM, (wide + 2) * PITCH_MM
    corners = ((0.0, 0.0), (length_mm, 0.0), (length_mm, width_mm), (0.0, width_mm))
    circuits = wires // 2
    blocks = -(-circuits // WAYS)
    hubs = rng.sample(range(nodes), blocks)
    loads = [rng.randrange(nodes) for _ in range(circuits)]
    library = load_library()
    profile = library.profile("van-metric")
    kind = next(k for k in library.wire_kinds if k.group == "dc_power" and k.cores == 1)
    ways = tuple(Way(id=f"w{i}", largest_a=40.0) for i in range(WAYS))

    def device(name: str, node: int, kind_word: str, **fields: object) -> Device:
        at = (points[node][0] + 30.0, points[node][1] + 20.0)
        return Device(id=name, name=name, kind=kind_word, surface="floor", at_mm=at, node=f"n{node}", **fields)

    return Plan(
        format=FORMAT,
        id=size,
        name=f"bench {size}",
        profile=ProfileUse(id=profile.id, version=profile.version),
        assumptions=Assumptions(wire_kind=kind.id),
        surfaces=(
            Surface(
                id="floor",
                name="Floor",
                role="floor",
                corners=tuple(Corner(id=str(i), at_mm=at) for i, at in enumerate(corners, 1)),
            ),
        ),
        ribs=tuple(
            Rib(id=f"r{i}", surface="floor", line_mm=((x, 0.0), (x, width_mm)), width_mm=60.0)
            for i, x in enumerate(range(600, int(length_mm) - 100, 600))
        ),
        nodes=tuple(Node(id=f"n{i}", place=OnSurface(surface="floor", at_mm=p)) for i, p in enumerate(points)),
        channels=tuple(
            Channel(id=f"c{i}", start=f"n{a}", end=f"n{b}", surface="floor") for i, (a, b) in enumerate(edges)
        ),
        devices=(
            *(device(f"block{i}", hub, "fuse_block", ways=ways) for i, hub in enumerate(hubs)),
            *(
                device(f"load{i}", node, "light", electrical=Electrical(current_a=rng.choice((0.5, 1.0, 3.0, 6.0))))
                for i, node in enumerate(loads)
            ),
        ),
        circuits=tuple(
            Circuit(
                id=f"W{i}",
                name=f"Load {i}",
                stops=(
                    Stop(id="0", device=f"block{i // WAYS}", way=f"w{i % WAYS}", role="source"),
                    Stop(id="1", device=f"load{i}", after="0"),
                ),
            )
            for i in range(circuits)
        ),
        wire_kinds=(kind,),
    )
