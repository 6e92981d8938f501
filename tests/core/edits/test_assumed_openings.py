"""Assumed doors and windows give way to measured bodies; measured ones are never touched."""

from core.edits.assumed_openings import fitted
from core.edits.change import replaced
from core.edits.measurements import Measurements, set_measure, typical
from core.edits.new_vehicle_checks import problems


def _shorter() -> Measurements:
    """A small van in which the usual sliding door would lie behind the wheel arch."""
    form = typical("small_van")
    for key, value in (("length", 1720), ("arch_length", 640)):
        form = set_measure(form, key, value)
    assert [problem.key for problem in problems(form)] == ["Sliding door"]
    return form


def test_an_assumed_door_becomes_as_narrow_as_the_body_asks() -> None:
    """The arch begins 1720 - 420 - 640 = 660 mm from the front, the door 90 mm from there: 570 mm at most."""
    form = fitted(_shorter())
    assert problems(form) == ()
    door = form.openings[0]
    assert (door.from_mm, door.known) == (90.0, "assumed")
    assert 570 - 0.05 * 680 - 10 <= door.width_mm <= 570
    assert door.height_mm == typical("small_van").openings[0].height_mm


def test_what_fits_and_what_was_measured_stay() -> None:
    assert fitted(typical("mid_van")) == typical("mid_van")
    form = _shorter()
    told = replaced(form, openings=tuple(replaced(each, known="measured") for each in form.openings))
    assert fitted(told) == told
