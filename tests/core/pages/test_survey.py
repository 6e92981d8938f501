"""The measuring picture and the survey sheet: every field has its number, everything stays on the paper."""

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.edits.measurements import bodies, fields_of, set_measure, typical
from core.edits.new_vehicle import build_vehicle
from core.files.library import load_library
from core.pages.marks import TextMark
from core.pages.measuring_picture import letters, measuring_picture, numbers
from core.pages.paper import Imprint, paper
from core.pages.survey import body_of, survey_of_plan, survey_pages
from core.pages.transform import bounds
from core.text import mm
from tests.helpers.vans import empty

BODIES = tuple(body.key for body in bodies())
IMPRINT = Imprint(plan="Our van", date="25 Nov 2026")


@pytest.mark.parametrize("body", BODIES)
def test_every_field_has_a_number_and_every_opening_a_letter_in_the_picture(body) -> None:  # type: ignore[no-untyped-def]
    form = typical(body)
    marks = measuring_picture(form, 250, 150)
    texts = [mark.text for mark in marks if isinstance(mark, TextMark)]
    for field in fields_of(body):
        number = str(numbers(form)[field.key])
        assert number in texts or f"({number})" in " ".join(texts), field.key
    assert set(letters(form)) <= set(texts)
    box = bounds(marks)
    assert box is not None
    assert box.left >= -1
    assert box.bottom >= -1
    assert box.right <= 251
    assert box.top <= 151


def test_values_that_were_assumed_look_so() -> None:
    form = set_measure(typical("mid_van"), "length", 2_640)
    texts = {mark.text: mark.style for mark in measuring_picture(form, 250, 150) if isinstance(mark, TextMark)}
    assert texts[mm(2_640)] == "text"
    assert texts[f"≈ {mm(1_640)}"] == "text:muted"
    bare = [mark.text for mark in measuring_picture(form, 250, 150, values=False) if isinstance(mark, TextMark)]
    assert not any("640" in text for text in bare)


def test_the_chosen_field_is_lit() -> None:
    marks = measuring_picture(typical("mid_van"), 250, 150, chosen="arch_gap")
    assert {mark.subject for mark in marks if mark.style.startswith("select")} == {"arch_gap"}


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_survey_sheet_asks_for_everything_on_the_paper(body, size) -> None:  # type: ignore[no-untyped-def]
    form = typical(body)
    pages = survey_pages(form, IMPRINT, on=paper(size))
    assert len(pages) == 2
    texts = [mark.text for page in pages for mark in page.marks if isinstance(mark, TextMark)]
    for field in fields_of(body):
        assert field.label in texts
    for opening in form.openings:
        assert opening.name in texts
    for page in pages:
        box = bounds(page.marks)
        assert box is not None
        assert box.left >= 0
        assert box.bottom >= 0
        assert box.right <= page.width_mm
        assert box.top <= page.height_mm
    # Typical sizes are not printed as if somebody had measured them.
    assert mm(form.mm("length")) not in texts


def test_the_paper_of_a_plan_lists_what_is_still_assumed() -> None:
    form = typical("high_roof")
    plan = build_vehicle(empty(), form)
    assert body_of(plan) == "high_roof"
    analysis = analyse(plan, load_library())
    pages = survey_of_plan(analysis, IMPRINT)
    texts = [mark.text for page in pages[2:] for mark in page.marks if isinstance(mark, TextMark)]
    for surface in plan.surfaces:
        assert surface.name in texts
    for field in fields_of("high_roof"):
        form = set_measure(form, field.key, form.mm(field.key))
    measured = build_vehicle(empty(), form)
    assert len(survey_of_plan(analyse(measured, load_library()), IMPRINT)) == 2
    unknown = replace(measured, vehicle=replace(measured.vehicle, description="Something of our own"))
    assert body_of(unknown) == "mid_van"
