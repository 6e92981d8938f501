"""Screws through panels into what lies behind them: fixings, devices and cabinets. Common practice, no source."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.no_screw import no_screw_bands
from core.analysis.results import Finding
from core.model import (
    Bore,
    Box,
    Corner,
    Device,
    Fold,
    Node,
    OnEdge,
    OnSurface,
    Panel,
    Plan,
    SecuringPoint,
    Surface,
)
from tests.helpers.grid import LIBRARY, changed, channel, plan

OUTLINE = ((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 2_000.0), (0.0, 2_000.0))


def hidden(**fields) -> Plan:
    """A bundle along y 1,000 behind a panel that covers the whole surface, 12 mm below its face."""
    of = plan(
        {"a": (200.0, 1_000.0), "b": (3_800.0, 1_000.0)},
        (channel("c", "a", "b", kind="behind_panel", depth_mm=12.0, **fields),), "a", "b",
    )  # fmt: skip
    return replace(of, panels=(Panel(id="board", name="Board", surface="floor", outline=OUTLINE),))


def findings(of: Plan, code: str) -> list[Finding]:
    return [f for f in analyse(of, LIBRARY).findings if f.code == code]


def test_a_device_over_a_hidden_bundle() -> None:
    lamp = Device(id="lamp", name="Lamp", surface="floor", at_mm=(2_000.0, 1_000.0))
    of = hidden()
    (found,) = findings(replace(of, devices=(*of.devices, lamp)), "screw.device")
    (band,) = [b for b in no_screw_bands(analyse(of, LIBRARY), of.panels[0]) if b.channel == "c"]
    # 100 mm of the band lie under the lamp
    assert found.value == pytest.approx(100.0 * 2 * band.half_mm / 100)
    assert "at 1,950 to 2,050 mm from the front longer than 8 mm" in found.message
    beside = replace(lamp, at_mm=(2_000.0, 1_000.0 + 50.0 + band.half_mm + 1.0))
    assert not findings(replace(of, devices=(*of.devices, beside)), "screw.device")
    deep = changed(replace(of, devices=(*of.devices, lamp)), "channels", "c", depth_mm=60.0)
    assert not findings(deep, "screw.device")  # usual screws do not reach it
    assert not findings(of, "screw.device")  # source and load bring their own wires


def walled() -> Plan:
    """The hidden bundle on a wall, 1,000 mm above the floor, and a cabinet on the floor with its back to that wall."""
    of = hidden()
    wall = Surface(
        id="wall",
        name="Wall",
        corners=tuple(Corner(id=str(i), at_mm=at) for i, at in enumerate(OUTLINE, 1)),
        fold=Fold(line=OnEdge(edge="1"), parent="floor", parent_line=OnEdge(edge="3"), fold_deg=90.0),
    )
    return replace(
        of,
        surfaces=(*of.surfaces, wall),
        nodes=tuple(Node(id=n.id, place=OnSurface(surface="wall", at_mm=n.place.at_mm)) for n in of.nodes),
        channels=(replace(of.channels[0], surface="wall"),),
        devices=tuple(replace(d, surface="wall") for d in of.devices),
        panels=(replace(of.panels[0], surface="wall"),),
        boxes=(
            Box(
                id="box", name="Galley", surface="floor", height_mm=1_200.0,
                outline=((1_000.0, 1_500.0), (2_000.0, 1_500.0), (2_000.0, 2_000.0), (1_000.0, 2_000.0)),
            ),
        ),
    )  # fmt: skip


def test_a_cabinet_against_a_hidden_bundle() -> None:
    of = walled()
    (found,) = findings(of, "screw.cabinet")
    half = next(b.half_mm for b in no_screw_bands(analyse(of, LIBRARY), of.panels[0]) if b.channel == "c")
    assert f"at {1_000 - half:,.0f} to {1_000 + half:,.0f} mm above the floor" in found.message
    assert found.value == pytest.approx(1_000.0 * 2 * half / 100)
    assert found.severity == "note"  # above and below there is room for its screws
    low = replace(of, boxes=(replace(of.boxes[0], height_mm=900.0),))
    assert not findings(low, "screw.cabinet")
    away = tuple((x, y - 100.0) for x, y in of.boxes[0].outline)
    assert not findings(replace(of, boxes=(replace(of.boxes[0], outline=away),)), "screw.cabinet")
    shelf = Box(
        id="shelf", name="Shelf", surface="wall", height_mm=200.0,
        outline=((900.0, 990.0), (1_500.0, 990.0), (1_500.0, 1_010.0), (900.0, 1_010.0)),
    )  # fmt: skip
    (hung,) = findings(replace(of, boxes=(shelf,)), "screw.cabinet")
    assert hung.severity == "warning"  # it lies on the band altogether


def in_the_room(**fields) -> Plan:
    """Wires in the room across a hidden spare duct, with a point of the user's right over it."""
    of = hidden()
    board = replace(of.surfaces[0], material="plywood", thickness_mm=18.0)
    nodes = {"p": (2_000.0, 200.0), "q": (2_000.0, 1_800.0)}
    of = replace(
        of,
        surfaces=(board,),
        nodes=(*of.nodes, *(Node(id=n, place=OnSurface(surface="floor", at_mm=at)) for n, at in nodes.items())),
        channels=(*of.channels, channel("d", "p", "q")),
        devices=tuple(
            replace(d, at_mm=nodes[n], node=n) for d, n in zip(of.devices, ("p", "q"), strict=True)
        ),
    )  # fmt: skip
    # The wires lie in the room now; behind the panel a spare duct takes their place.
    of = changed(of, "channels", "c", kind="closed_conduit", spare_duct=True, draw_string=True)
    of = changed(of, "channels", "c", bore=Bore(width_mm=20.0))
    return replace(of, securing_points=(SecuringPoint(id="s", channel="d", at_mm=800.0, **fields),))


def test_a_fixing_in_the_room_over_a_hidden_bundle() -> None:
    (found,) = findings(in_the_room(), "screw.fixing")
    assert "at 800 mm is screwed through Board" in found.message
    assert found.subjects == ("d", "c", "board", "s")
    assert not findings(in_the_room(kind="bonded_mount"), "screw.fixing")
