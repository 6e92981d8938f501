"""Openings nobody has measured yet follow the body: what is assumed never stands in the way of what was measured."""

from core.edits.change import replaced
from core.edits.measurements import Measurements, WallOpening
from core.edits.new_vehicle_checks import problems

#: An assumed opening is made smaller in such steps, down to the least share of its size.
STEP, LEAST = 0.05, 0.3
#: What is left of a side after each step.
SHARES = tuple(1.0 - STEP * number for number in range(round((1.0 - LEAST) / STEP) + 1))


def fitted(form: Measurements) -> Measurements:
    """The form with each assumed opening that does not fit made smaller until it does, as little as need be.

    Measured openings stay, and so does an assumed one that fits in no size: both are told as problems.
    """
    for index, opening in enumerate(form.openings):
        if opening.known == "assumed" and not _fits(form, opening):
            sizes = sorted(((w, h) for w in SHARES for h in SHARES), key=lambda share: -share[0] * share[1])
            for width, height in sizes:
                smaller = _smaller(opening, width, height)
                tried = _with(form, index, smaller)
                if _fits(tried, smaller):
                    form = tried
                    break
    return form


def _smaller(opening: WallOpening, width: float, height: float) -> WallOpening:
    """Rounded down to whole centimetres, as one would assume it."""
    return replaced(
        opening,
        width_mm=opening.width_mm * width // 10 * 10.0,
        height_mm=opening.height_mm * height // 10 * 10.0,
        up_mm=opening.up_mm * height // 10 * 10.0,
    )


def _with(form: Measurements, index: int, opening: WallOpening) -> Measurements:
    return replaced(form, openings=(*form.openings[:index], opening, *form.openings[index + 1 :]))


def _fits(form: Measurements, opening: WallOpening) -> bool:
    return all(problem.key != opening.name for problem in problems(form))
