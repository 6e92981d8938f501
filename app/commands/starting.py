"""The first steps: samples, the guided first plan, what each stage is for."""

from functools import partial
from pathlib import Path

from app.commands import files
from app.commands.action import Action
from app.commands.bench import Bench
from app.dialogs.ask import tell_problem
from app.dialogs.stage_help import StageHelp
from app.first_plan import STEPS
from app.panels.stages import STAGES
from app.panels.start import Way
from core.errors import FileProblem
from core.files.codec import read_plan
from core.resources import samples

#: How many of the last files stand on the start page.
RECENT = 5


def sample_name(path: Path) -> str:
    return path.stem.replace("-", " ").capitalize()


def open_sample(bench: Bench, path: Path) -> None:
    """A copy of a sample, so that the sample stays as it is."""
    bench.files.when_safe(partial(_show_sample, bench, path))


def _show_sample(bench: Bench, path: Path) -> None:
    try:
        plan = read_plan(path)
    except FileProblem as problem:
        tell_problem(bench.window, f"The sample “{sample_name(path)}” cannot be opened.", problem)
        return
    bench.files.start(plan, drawn=False)
    bench.say(f"A copy of the sample “{sample_name(path)}”: change what you like, then save it where you want.")


def ways_to_begin(bench: Bench) -> tuple[tuple[str, tuple[Way, ...]], ...]:
    """What the start page offers."""
    begin: tuple[Way, ...] = (
        ("New vehicle from measurements…", "Seven kinds of body, made from what your tape says  (Ctrl+N)",
         partial(files.new_vehicle, bench)),
        ("Draw the floor", "Two typed lengths, then raise the walls  (F)", partial(bench.pointer.take, "floor")),
        ("First plan, step by step", "Ten steps on this window, from the floor to the cut list",
         partial(start_guide, bench)),
        ("Open a plan…", "Ctrl+O", bench.files.ask_open),
    )  # fmt: skip
    recent = tuple(
        (path.name, str(path), partial(files.open_recent, bench, path))
        for path in map(Path, bench.settings.recent[:RECENT])
    )
    shown = tuple((sample_name(path), "Opens a copy", partial(open_sample, bench, path)) for path in samples())
    return (("", begin), ("Recent", recent), ("Samples", shown))


def start_guide(bench: Bench) -> None:
    bench.guide.start()
    show_step(bench, bench.guide.step)


def show_step(bench: Bench, number: int) -> None:
    """Go to a step's stage and take its tool in hand."""
    step = STEPS[number]
    bench.stages.choose(step.stage)
    if step.action:
        bench.run(step.action)
    elif step.tool and bench.pointer.tool_id != step.tool:
        bench.pointer.take(step.tool)


def show_stage_help(bench: Bench) -> None:
    StageHelp(bench.window, {stage.id: stage.words for stage in STAGES}, bench.stages.stage).show()


ACTIONS = (
    Action("stage-help", "What this stage is for", "Help", show_stage_help, "F1"),
    Action("first-plan", "First plan, step by step", "Help", start_guide),
)
