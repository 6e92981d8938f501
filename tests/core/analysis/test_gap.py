"""A device with no way to it says so and shows the gap."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.gap import gap_of, gap_words
from core.edits.circuits import connect
from core.edits.records import set_field
from core.model import Plan, find
from tests.helpers.grid import LIBRARY
from tests.helpers.wired import CEILING, FLOOR, LEFT, device, wired


def loose(surface: str, at, template: str = "light-reading") -> tuple[Plan, str]:
    return device(wired(), template, surface, at, "Lamp")


def test_the_gap_is_measured_from_the_wire_entry() -> None:
    """The channel on the wall runs at 1,000 mm; a lamp at 1,600 mm hangs 600 mm above it, one at 2,400 across."""
    plan, lamp = loose(LEFT, (2_000.0, 1_600.0))
    analysis = analyse(plan, LIBRARY, "quick")
    gap = gap_of(analysis, find(plan, "devices", lamp))
    assert gap.distance_mm == pytest.approx(500.0)  # the riser at x = 1,500 is nearer than the 600 mm below
    assert gap.near
    assert "0.50 m away" in gap_words(analysis, gap)


def test_a_surface_without_a_channel_says_so_and_a_blocked_one_is_none() -> None:
    plan, lamp = loose("s3", (500.0, 500.0))
    analysis = analyse(plan, LIBRARY, "quick")
    gap = gap_of(analysis, find(plan, "devices", lamp))
    assert gap.distance_mm is None
    assert "has no channel that may carry its wires" in gap_words(analysis, gap)
    plan, lamp = loose(CEILING, (1_500.0, 400.0))
    assert gap_of(analyse(plan, LIBRARY, "quick"), find(plan, "devices", lamp)).near
    for channel in plan.channels:
        if channel.surface == CEILING:
            plan = set_field(plan, channel.id, state="blocked")
    assert gap_of(analyse(plan, LIBRARY, "quick"), find(plan, "devices", lamp)).distance_mm is None


def test_the_finding_names_the_gap_and_what_joins() -> None:
    """The floor's channel ends at (2,400, 300) and runs to its edge; a lamp at (300, 1,500) is more than 2 m away."""
    plan, lamp = loose(FLOOR, (300.0, 1_500.0))
    block = next(d for d in plan.devices if d.ways)
    plan, circuit = connect(plan, block.id, None, [lamp], library=LIBRARY)
    analysis = analyse(plan, LIBRARY, "quick")
    (finding,) = [f for f in analysis.findings if f.code == "route.none" and circuit in f.subjects]
    assert "joins no channel; the nearest channel on" in finding.message
    assert finding.value is not None
    assert finding.value > 2_000.0
    assert finding.limit == 1_000.0
    assert "more than a metre away" in finding.remedy
    near = replace(find(plan, "devices", lamp), at_mm=(2_200.0, 300.0))
    plan = replace(plan, devices=tuple(near if d.id == lamp else d for d in plan.devices))
    (finding,) = [f for f in analyse(plan, LIBRARY, "quick").findings if f.code == "route.none"]
    assert finding.value == pytest.approx(200.0, abs=1.0)
    assert "join the device" in finding.remedy
