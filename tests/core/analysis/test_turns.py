"""Bends where wires go from channel to channel, in the vehicle: angle, room, what is wanted, where they are held."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.results import BendRow
from core.analysis.turns import find_turns
from core.model import Corner, Fold, Node, OnEdge, OnLine, OnSurface, PassThrough, Plan, Point, Surface
from tests.helpers.grid import LIBRARY, changed, channel, plan


def chain(*points: Point) -> Plan:
    """One channel from each point to the next."""
    nodes = {f"n{k}": p for k, p in enumerate(points)}
    channels = tuple(channel(f"c{k}", f"n{k}", f"n{k + 1}") for k in range(len(points) - 1))
    return plan(nodes, channels, "n0", f"n{len(points) - 1}")


def node_bends(of: Plan) -> list[BendRow]:
    return [row for row in analyse(of, LIBRARY).bends if row.into]


def turns(of: Plan):
    analysis = analyse(of, LIBRARY)
    return find_turns(of.channels, analysis.paths, analysis.routes, analysis.sheet)


def test_a_quarter_turn_has_the_room_of_both_its_legs() -> None:
    (turn,) = turns(chain((0.0, 0.0), (1_000.0, 0.0), (1_000.0, 700.0)))
    assert turn.turn_deg == pytest.approx(90.0)
    assert turn.legs_mm == pytest.approx((2_000.0, 1_400.0))  # end legs are all free
    assert set(turn.wires) == {"C-1F", "C-1R"}


def test_nodes_on_a_straight_line_part_no_leg() -> None:
    """What runs straight on through a node is one leg; between two corners each has half of it."""
    of = chain((0.0, 0.0), (300.0, 0.0), (600.0, 0.0), (900.0, 0.0), (900.0, 80.0), (1_500.0, 80.0))
    first, second = turns(of)
    assert first.legs_mm == pytest.approx((1_800.0, 80.0))
    assert second.legs_mm == pytest.approx((80.0, 1_200.0))


def test_wires_that_turn_too_tightly_are_told_once() -> None:
    """A quarter turn fits a middle radius of half its shorter leg; 3 bundles or 6 wires are wanted inside (FAA practice
    from memory; NASA-STD-8739.4 7.3.21, read)."""
    of = chain((0.0, 100.0), (900.0, 100.0), (900.0, 108.0), (1_500.0, 108.0))
    rows = node_bends(of)
    analysis = analyse(of, LIBRARY)
    thickest = max(item.od_mm for item in analysis.bundles["c0"].items)
    assert len(rows) == 2
    assert all(row.needed_mm >= 6 * thickest - 1e-9 for row in rows)
    assert all(row.drawn_mm <= 4.0 for row in rows)
    (found,) = [f for f in analysis.findings if f.code == "bend.node"]
    assert "2 turns" in found.message
    wide = chain((0.0, 100.0), (900.0, 100.0), (900.0, 800.0), (1_500.0, 800.0))
    assert "bend.node" not in {f.code for f in analyse(wide, LIBRARY).findings}


def over_the_corner() -> Plan:
    """Straight on the sheet, round the corner of floor and wall in the vehicle."""
    of = plan({"a": (2_000.0, 500.0), "b": (2_000.0, 1_000.0)}, (channel("c", "a", "f"),), "a", "a")
    corners = ((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 1_500.0), (0.0, 1_500.0))
    up = Surface(
        id="wall",
        name="Wall",
        corners=tuple(Corner(id=str(i), at_mm=p) for i, p in enumerate(corners, 1)),
        fold=Fold(line=OnEdge(edge="1"), parent="floor", parent_line=OnEdge(edge="3"), fold_deg=90.0),
    )
    nodes = (
        Node(id="a", place=OnSurface(surface="floor", at_mm=(2_000.0, 500.0))),
        Node(id="f", place=OnLine(surface="floor", edge="3", at_mm=2_000.0)),
        Node(id="b", place=OnSurface(surface="wall", at_mm=(2_000.0, 1_000.0))),
    )
    return replace(
        of,
        surfaces=(*of.surfaces, up),
        nodes=nodes,
        channels=(*of.channels, channel("d", "f", "b", surface="wall")),
        devices=(of.devices[0], replace(of.devices[1], surface="wall", at_mm=(2_000.0, 1_000.0), node="b")),
    )


def test_a_fold_is_a_bend_in_the_vehicle_and_held_on_both_sides() -> None:
    of = over_the_corner()
    (turn,) = turns(of)
    assert (turn.node, turn.turn_deg) == ("f", pytest.approx(90.0))
    securing = analyse(of, LIBRARY).securing
    before = [1_500.0 - r.at_mm for r in securing if r.channel == "c"]
    after = [r.at_mm for r in securing if r.channel == "d"]
    assert min(before) <= 100.0
    assert min(after) <= 100.0
    flat = replace(
        of, surfaces=(of.surfaces[0], replace(of.surfaces[1], fold=replace(of.surfaces[1].fold, fold_deg=0.0)))
    )
    assert not turns(flat)


def test_a_measured_stretch_says_nothing_of_its_angles() -> None:
    of = chain((0.0, 0.0), (1_000.0, 0.0), (1_000.0, 700.0))
    assert not turns(changed(of, "channels", "c1", surface=None, measured_mm=700.0))


def test_a_hole_in_a_bend_is_told() -> None:
    """The corner at 1,500 mm is rounded on 120 mm and half the bundle: the hole at 1,450 lies in the arc, one at 1,200
    does not."""
    nodes = {"a": (100.0, 100.0), "b": (1_600.0, 1_600.0)}
    of = plan(nodes, (channel("c", "a", "b", via_mm=((1_600.0, 100.0),), bend_mm=120.0),), "a", "b")

    def told(at_mm: float, kind: str = "hole") -> list[str]:
        hole = PassThrough(id="p", channel="c", at_mm=at_mm, kind=kind, hole_mm=12.0, protection="grommet")
        found = analyse(replace(of, pass_throughs=(hole,)), LIBRARY).findings
        return [f.message for f in found if f.code == "bend.hole"]

    assert "at 1450 mm" in told(1_450.0)[0]
    assert told(1_200.0) == []
    assert told(1_450.0, "edge") == []
