"""Lines held to angles and lengths, distances from edges, what is snapped to, by plain records."""

import pytest

from app.tools.lines import ChannelTool, RibTool
from app.tools.outline import CABINET, OutlineTool
from app.tools.place import PlaceDeviceTool
from core.edits.body import draw_metal_edge, draw_opening
from core.errors import EditRefused
from tests.app.tools.driver import Driver
from tests.app.tools.furnished import ALT, SHELL, driven
from tests.helpers.wired import FLOOR, LEFT, wired

pytestmark = pytest.mark.usefixtures("qapp")


# --- locks, distances from edges, snap words -------------------------------------------------------------------------


def test_l_holds_lines_to_angles_and_a_typed_angle_alone_holds_too() -> None:
    d = driven(RibTool, plan=SHELL)
    d.click((1000, 300))
    d.key("L")
    d.move((1400, 360), ALT)
    assert d.reply.word == "held to 0°"
    d.key("L")
    d.move((1400, 560), ALT)
    assert d.reply.word == "held to 45°"
    d.key("L")
    d.key("L")
    assert d.desk.angle_step_deg == 0
    d.type_in("\t30")
    d.move((1400, 300), ALT)
    assert d.reply.word == "held to 30°"
    d.type_in("500")
    (rib,) = d.plan.ribs
    (ax, ay), (bx, by) = rib.line_mm
    assert (bx - ax, by - ay) == pytest.approx((500 * 3**0.5 / 2, 250))


def test_a_typed_angle_holds_for_one_stretch_alone() -> None:
    d = driven(ChannelTool, plan=SHELL)
    d.click((1000, 300))
    d.type_in("\t30")
    d.move((1400, 300), ALT)
    d.click((1400, 300), ALT)
    d.move((1400, 1200), ALT)
    assert "30°" not in d.reply.word
    d.key("Escape")


def test_a_held_line_ends_at_what_it_meets() -> None:
    d = driven(RibTool)
    d.click((1000, 400))
    d.key("L")
    d.move((810, 415))
    assert d.reply.word == "held to 180°, on Cabinet"
    d.click((810, 415))
    assert d.plan.ribs[-1].line_mm[1] == pytest.approx((800, 400))
    d.desk.angle_step_deg = 0


def test_300_from_the_door_edge_while_drawing() -> None:
    plan, _ = draw_opening(
        SHELL, LEFT, ((1000, 0), (1900, 0), (1900, 1700), (1000, 1700)), kind="door", name="Side door"
    )
    d = driven(lambda desk: OutlineTool(desk, CABINET), plan=plan)
    d.tool = RibTool(d.desk)
    beside = d.on(LEFT, (1960, 800))
    d.move(beside)
    assert d.key("D").prompt == "from Side door"
    d.type_in("300")
    assert "300 mm from Side door" in d.reply.word
    d.move(d.on(LEFT, (2100, 20)))
    assert d.key("D").prompt.startswith("from")
    d.type_in("850")
    # The first end lies where both distances say; now the second.
    d.type_in("400\t-90")
    (rib,) = d.plan.ribs
    assert rib.surface == LEFT
    assert rib.line_mm[0] == pytest.approx((2200, 850), abs=0.01)


def test_a_device_300_from_one_edge_and_850_from_another() -> None:
    plan, _ = draw_opening(
        SHELL, LEFT, ((1000, 0), (1900, 0), (1900, 1700), (1000, 1700)), kind="door", name="Side door"
    )
    d = Driver(plan)
    d.tool = PlaceDeviceTool(d.desk, next(row for row in d.desk.library.devices if row.id == "water-pump"))
    d.move(d.on(LEFT, (1960, 800)))
    d.key("D")
    d.type_in("300")
    d.move(d.on(LEFT, (2100, 20)))
    d.key("D")
    assert d.type_in("850").done
    assert d.plan.devices[0].at_mm == pytest.approx((2200, 850))


def test_a_second_edge_that_runs_alike_is_refused() -> None:
    d = driven(RibTool)
    d.move((500, 190))
    d.key("D")
    d.type_in("300")
    d.move((500, 10))
    with pytest.raises(EditRefused, match="across"):
        d.key("D")
    d.key("Escape")
    assert "from" not in d.move((500, 300)).word


def test_what_the_pointer_snaps_to_is_named() -> None:
    plan = wired()
    d = driven(ChannelTool, plan=plan)
    ribs = d.on(LEFT, (1703, 902))
    assert d.move(ribs).word == "middle of Rib 3"
    pump = next(device for device in plan.devices if device.name == "Pump")
    away = d.on(LEFT, (pump.at_mm[0] + 12, 1400))
    assert d.move(away).word.startswith("in line with Pump")
    assert d.move(away, ALT).word == ""
    assert d.move(away, frozenset({"ctrl"})).word == ""


def test_parallel_to_the_line_the_pointer_rested_on() -> None:
    plan, _ = draw_metal_edge(SHELL, FLOOR, ((500, 300), (900, 600)))
    d = driven(RibTool, plan=plan, grid_mm=1.0)
    d.move((660, 421))
    d.click((1500, 300))
    d.move((1902, 602))
    assert d.reply.word == "parallel to Metal edge"
    assert d.reply.overlay
