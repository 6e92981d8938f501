"""A drag draws only what it touches: the same picture as drawing everything, and no more keys than it must."""

from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser
from core.edits.channels import add_measured_channel, move_node_to
from core.edits.devices import move_device
from core.files.library import load_library
from core.model import OnSurface, Plan
from core.pages.sheet import Drawn, SheetDrawing
from tests.helpers.sheet_van import van

LIBRARY = load_library()


def _followed(analyser: Analyser, plan: Plan, held: Analysis) -> Analysis:
    found = analyser.follow(plan, held)
    assert found is not None
    return found


def _shown(
    before: dict[str, Drawn], drawing: SheetDrawing, analysis: Analysis, scale: float = 20.0
) -> dict[str, Drawn]:
    """What a canvas shows after an answer of the drawing."""
    redrawn = drawing.redraw(analysis, "full", scale)
    if redrawn.whole is not None:
        return dict(redrawn.whole)
    both = {**before, **redrawn.changed}
    return {key: one for key, one in both.items() if one is not None}


def _marks(drawing: dict[str, Drawn]) -> dict[str, object]:
    return {key: one.marks for key, one in drawing.items()}


def _moved(plan: Plan, by_mm: float) -> Plan:
    """A device, and a node on a surface where channels meet."""
    device = plan.devices[0]
    x, y = device.at_mm
    plan = move_device(plan, device.id, device.surface, (x + by_mm, y))
    node = next(n for n in plan.nodes if isinstance(n.place, OnSurface))
    assert isinstance(node.place, OnSurface)
    x, y = node.place.at_mm
    return move_node_to(plan, node.id, node.place.surface, (x + by_mm / 2, y + by_mm / 4))


def test_a_drag_shows_what_drawing_everything_would() -> None:
    plan, analyser, drawing = van(), Analyser(LIBRARY), SheetDrawing()
    held = analyser.analyse(plan, "quick")
    shown = _shown({}, drawing, held)
    for by_mm in (10.0, 40.0, 70.0):
        estimate = _followed(analyser, _moved(plan, by_mm), held)
        redrawn = drawing.redraw(estimate, "full", 20.0)
        assert redrawn.whole is None
        assert 0 < len(redrawn.changed) < len(shown) / 3
        shown = {k: one for k, one in {**shown, **redrawn.changed}.items() if one is not None}
        wholly = SheetDrawing()
        wholly.draw(held)
        assert _marks(shown) == _marks(wholly.draw(estimate))
    # Back where it began, and the very same as before.
    shown = _shown(shown, drawing, _followed(analyser, plan, held))
    assert _marks(shown) == _marks(SheetDrawing().draw(held))
    assert drawing.redraw(held, "full", 20.0).whole is not None


def test_a_channel_known_by_its_length_alone_goes_along_with_its_node() -> None:
    plan = van()
    node = next(n for n in plan.nodes if isinstance(n.place, OnSurface))
    plan, measured = add_measured_channel(plan, node.id, plan.nodes[-1].id, 900.0)
    analyser, drawing = Analyser(LIBRARY), SheetDrawing()
    held = analyser.analyse(plan, "quick")
    drawing.redraw(held)
    redrawn = drawing.redraw(_followed(analyser, _moved(plan, 40.0), held))
    assert measured in redrawn.changed
    assert redrawn.changed[measured] != SheetDrawing().draw(held)[measured]


def test_an_estimate_of_everything_and_another_zoom_in_between_leave_nothing_behind() -> None:
    plan, analyser, drawing = van(), Analyser(LIBRARY), SheetDrawing()
    held = analyser.analyse(plan, "quick")
    shown = _shown({}, drawing, held)
    shown = _shown(shown, drawing, _followed(analyser, _moved(plan, 10.0), held))
    shown = _shown(shown, drawing, analyser.estimate(_moved(plan, 30.0), held))
    back = move_device(plan, plan.devices[1].id, plan.devices[1].surface, plan.devices[1].at_mm)
    for scale in (20.0, 40.0):
        estimate = _followed(analyser, back, held)
        shown = _shown(shown, drawing, estimate, scale)
        assert _marks(shown) == _marks(SheetDrawing().draw(held, "full", scale))


def test_what_is_no_drag_is_drawn_as_a_whole() -> None:
    plan, analyser, drawing = van(), Analyser(LIBRARY), SheetDrawing()
    drawing.draw(analyser.analyse(plan, "quick"))
    fewer = replace(plan, devices=plan.devices[1:], circuits=())
    assert drawing.redraw(analyser.analyse(fewer, "quick")).whole is not None
