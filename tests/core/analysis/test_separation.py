"""Separation: groups in one channel and in two, and what of the harness is in sight.

Limits: 1/2 in from mains by clamping or routing (NEC 552.10(C)(3), read); 50 mm for data beside power (common practice,
no source).
"""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.results import Finding
from core.geometry.alongside import alongside
from core.model import (
    Box,
    Circuit,
    Corner,
    Device,
    Electrical,
    Fold,
    Node,
    OnEdge,
    OnSurface,
    Panel,
    Plan,
    Stop,
    Surface,
)
from tests.helpers.grid import LIBRARY, changed, channel, plan

SIGNAL_KIND = next(k for k in LIBRARY.wire_kinds if k.group == "signal" and k.cores == 1)


def beside(apart_mm: float, group: str = "signal", **fields) -> Plan:
    """Power along y 500 for 3 m, and a circuit of another group parallel to it."""
    y = 500.0 + apart_mm
    of = plan({"a": (200.0, 500.0), "b": (3_200.0, 500.0)}, (channel("c", "a", "b"),), "a", "b")
    ends = {"p": (200.0, y), "q": (3_200.0, y)}
    conductors = ("data",) if group == "signal" else ("line", "neutral", "protective_earth")
    devices = (
        Device(id="from", name="From", kind="panelboard", surface="floor", at_mm=ends["p"], node="p"),
        Device(
            id="to", name="To", kind="appliance", surface="floor", at_mm=ends["q"], node="q",
            electrical=Electrical(system="ac230" if group == "mains" else "signal", current_a=1.0),
        ),
    )  # fmt: skip
    stops = (Stop(id="0", device="from", role="source"), Stop(id="1", device="to", after="0"))
    kinds = {"wire_kind": SIGNAL_KIND.id} if group == "signal" else {}
    other = Circuit(id="D", name="Other", group=group, conductors=conductors, stops=stops, **kinds)
    return replace(
        of,
        nodes=(*of.nodes, *(Node(id=n, place=OnSurface(surface="floor", at_mm=at)) for n, at in ends.items())),
        channels=(*of.channels, channel("d", "p", "q", groups=(group,), **fields)),
        devices=(*of.devices, *devices),
        circuits=(*of.circuits, other),
        wire_kinds=(*of.wire_kinds, SIGNAL_KIND),
    )


def findings(of: Plan, code: str) -> list[Finding]:
    return [f for f in analyse(of, LIBRARY).findings if f.code == code]


def test_data_beside_power_over_how_many_metres() -> None:
    (found,) = findings(beside(40.0), "separation.near")
    bundles = analyse(beside(40.0), LIBRARY).bundles
    radii = (bundles["c"].diameter_laid_mm + bundles["d"].diameter_laid_mm) / 2
    assert found.value == pytest.approx(40.0 - radii)
    assert found.limit == 50.0
    assert "3.00 m" in found.message
    assert found.severity == "note"
    assert not findings(beside(50.0 + radii + 1), "separation.near")


def test_mains_beside_power_is_an_error_unless_a_conduit_parts_them() -> None:
    (found,) = findings(beside(12.0, "mains"), "separation.near")
    assert (found.severity, found.limit) == ("error", 13.0)
    assert not findings(beside(12.0, "mains", kind="closed_conduit"), "separation.near")
    assert not findings(beside(40.0, "mains"), "separation.near")


def test_a_crossing_at_a_right_angle_is_fine() -> None:
    of = beside(40.0)
    moved = tuple(
        replace(n, place=OnSurface(surface="floor", at_mm=at))
        for n, at in zip(of.nodes[2:], ((1_500.0, 100.0), (1_500.0, 1_900.0)), strict=True)
    )
    devices = tuple(replace(d, at_mm=n.place.at_mm) for d, n in zip(of.devices[2:], moved, strict=True))
    crossed = replace(of, nodes=(*of.nodes[:2], *moved), devices=(*of.devices[:2], *devices))
    assert not findings(crossed, "separation.near")
    ends = ((200.0, 400.0), (3_200.0, 600.0))
    flat = tuple(replace(n, place=OnSurface(surface="floor", at_mm=at)) for n, at in zip(moved, ends, strict=True))
    slanted = replace(crossed, nodes=(*of.nodes[:2], *flat))
    assert findings(slanted, "separation.near")


def folded(apart_mm: float, deg: float = 90.0) -> Plan:
    """Power on the floor along y 1,980, 20 mm from the wall's foot; a signal on the wall, `apart_mm` above it."""
    of = beside(40.0)
    wall = Surface(
        id="wall",
        name="Wall",
        corners=tuple(
            Corner(id=str(i), at_mm=at)
            for i, at in enumerate(((0.0, 0.0), (4_000.0, 0.0), (4_000.0, 2_000.0), (0.0, 2_000.0)), 1)
        ),
        fold=Fold(line=OnEdge(edge="1"), parent="floor", parent_line=OnEdge(edge="3"), fold_deg=deg),
    )
    at = {"a": ("floor", (200.0, 1_980.0)), "b": ("floor", (3_200.0, 1_980.0)),
          "p": ("wall", (200.0, apart_mm)), "q": ("wall", (3_200.0, apart_mm))}  # fmt: skip
    nodes = tuple(Node(id=n, place=OnSurface(surface=s, at_mm=p)) for n, (s, p) in at.items())
    devices = tuple(replace(d, surface=at[d.node][0], at_mm=at[d.node][1]) for d in of.devices)
    channels = (of.channels[0], replace(of.channels[1], surface="wall"))
    return replace(of, surfaces=(*of.surfaces, wall), nodes=nodes, devices=devices, channels=channels)


def test_data_beside_power_round_a_fold() -> None:
    """Pythagoras: 20 mm out on the floor and 15 mm up the wall are 25 mm apart; laid flat they would be 35 mm."""
    (found,) = findings(folded(15.0), "separation.near")
    bundles = analyse(folded(15.0), LIBRARY).bundles
    radii = (bundles["c"].diameter_laid_mm + bundles["d"].diameter_laid_mm) / 2
    assert found.value == pytest.approx(25.0 - radii, abs=1e-6)
    assert "3.00 m, on Wall and Floor" in found.message
    assert not findings(folded(100.0), "separation.near")


@given(
    st.lists(st.floats(-50.0, 50.0), min_size=12, max_size=12),
    st.floats(1.0, 80.0),
)
def test_alongside_is_what_sampling_finds(v: list[float], reach: float) -> None:
    """Against points every 1/2,000 of the first leg and their feet on the second, by vectors."""
    p, q, r, s = (np.array(v[k : k + 3]) for k in (0, 3, 6, 9))
    one, two = q - p, s - r
    assume(np.linalg.norm(one) > 1.0 and np.linalg.norm(two) > 1.0)
    found = alongside(tuple(p), tuple(q), tuple(r), tuple(s), reach, 45.0)
    cosine = abs(one @ two) / np.linalg.norm(one) / np.linalg.norm(two)
    assume(abs(cosine - np.cos(np.pi / 4)) > 1e-9)
    if cosine < np.cos(np.pi / 4):
        assert found is None
        return
    t = np.linspace(0.0, 1.0, 2_001)
    points = p + t[:, None] * one
    u = (points - r) @ two / (two @ two)
    away = np.linalg.norm(points - r - u[:, None] * two, axis=1)
    beside = (u >= 0.0) & (u <= 1.0) & (away <= reach)
    length = beside.sum() / 2_001 * np.linalg.norm(one)
    assert (0.0 if found is None else found[1] - found[0]) == pytest.approx(length, abs=np.linalg.norm(one) / 900)
    if beside.any() and found is not None:
        assert found[2] == pytest.approx(away[beside].min(), abs=0.2)


def test_a_signal_in_the_channel_of_power_is_told_with_its_metres() -> None:
    of = beside(40.0)
    shared = replace(
        of,
        channels=of.channels[:1],
        devices=(*of.devices[:2], *(replace(d, node=n) for d, n in zip(of.devices[2:], ("a", "b"), strict=True))),
    )
    (found,) = findings(shared, "separation.data")
    assert "3.0 m" in found.message
    assert found.subjects == ("D",)
    assert not findings(of, "separation.data")


OUTLINE = ((0.0, 0.0), (1_200.0, 0.0), (1_200.0, 2_000.0), (0.0, 2_000.0))
PLAIN = plan({"a": (200.0, 500.0), "b": (3_200.0, 500.0)}, (channel("c", "a", "b"),), "a", "b")


def test_wire_no_panel_covers_is_seen() -> None:
    of = replace(PLAIN, panels=(Panel(id="p", name="Board", surface="floor", outline=OUTLINE),))
    (found,) = findings(of, "wire.visible")
    assert found.value == pytest.approx(2_000.0)  # from 1,200 to 3,200
    assert "1000 to 3000" in found.message
    rest = ((1_200.0, 0.0), (4_000.0, 0.0), (4_000.0, 2_000.0), (1_200.0, 2_000.0))
    box = Box(id="b", name="Cabinet", surface="floor", outline=rest, height_mm=800.0)
    assert not findings(replace(of, boxes=(box,)), "wire.visible")
    assert not findings(changed(of, "channels", "c", kind="behind_panel"), "wire.visible")
    assert not findings(PLAIN, "wire.visible")  # nothing is built yet


def test_a_channel_marked_visible_has_one_finding() -> None:
    of = replace(PLAIN, panels=(Panel(id="p", name="Board", surface="floor", outline=OUTLINE),))
    (found,) = findings(changed(of, "channels", "c", visible=True), "wire.visible")
    assert found.value == pytest.approx(3_000.0)
