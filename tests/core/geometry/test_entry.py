"""Where wires enter a turned device, worked out by hand on squared paper."""

import pytest

from core.geometry.entry import entry_point
from core.model import Device


@pytest.mark.parametrize(
    ("turn_deg", "expected"),
    [(0.0, (130.0, 210.0)), (90.0, (90.0, 230.0)), (180.0, (70.0, 190.0)), (-90.0, (110.0, 170.0))],
)
def test_the_entry_turns_with_its_device(turn_deg: float, expected: tuple[float, float]) -> None:
    device = Device(id="d", name="d", surface="s", at_mm=(100.0, 200.0), entry_mm=(30.0, 10.0), turn_deg=turn_deg)
    assert entry_point(device) == pytest.approx(expected)
