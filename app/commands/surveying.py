"""The survey sheet of a vehicle that is not there yet: printed from the form, to be filled by hand beside the van."""

from pathlib import Path

from msgspec.structs import replace
from PySide6.QtWidgets import QWidget

from app.commands.bench import Bench, today
from app.dialogs.files import file_name
from core.edits.measurements import Measurements
from core.edits.start import new_plan

NAME = "survey"
#: How papers are called in the settings, and on the papers.
PAPERS = {"A4": "A4", "A3": "A3", "letter": "Letter", "tabloid": "Tabloid"}


def print_survey(bench: Bench, over: QWidget, form: Measurements, name: str) -> None:
    """Open the sheet for what the form shows; values that were measured stand in it already."""
    # The papers are imported when one is wanted: the first window does not wait for them.
    from app.dialogs.paper_desk import Desk, PaperDesk
    from core.pages.imprint import imprint
    from core.pages.marks import Page
    from core.pages.paper import Choices
    from core.pages.papers import About
    from core.pages.survey import survey_pages

    about = imprint(new_plan(bench.library, name, bench.plan.profile.id), today())
    measured = any(each.known == "measured" for each in form.values)
    paper = About(
        title="Survey sheet",
        what_for="what to measure, to be filled by hand",
        group="On the vehicle",
        build=lambda _, told: survey_pages(form, told, values=measured),
    )

    def make(_paper: str, choices: Choices) -> tuple[Page, ...]:
        return survey_pages(form, replace(about, choices=choices), values=measured)

    desk = Desk(
        papers={NAME: paper},
        make=make,
        run=bench.in_background,
        suggested=lambda _: Path(f"{Path(file_name(name)).stem}-survey.pdf"),
        said=bench.say,
        export=lambda _: None,
        chosen=lambda _: None,
    )
    dialog = PaperDesk(over, desk, Choices(paper=PAPERS[bench.settings.paper]), NAME)
    dialog.export_button.hide()
    dialog.open()
