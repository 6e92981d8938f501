"""Can I add …: pick a place and a device or a current, see what it would take, do it."""

from typing import TYPE_CHECKING

from app.commands.action import Action, no_surface
from app.commands.bench import Bench
from app.tools.spot import SpotTool
from core.edits.circuits import free_ways
from core.model import Plan, Point, find

if TYPE_CHECKING:
    from core.files.library import DeviceTemplate
    from core.model.devices import System
    from core.studies.can_i_add import Addition, Answer


def can_i_add(bench: Bench) -> None:
    # Imported when asked for: the first window does not wait for the studies.
    from app.dialogs.can_i_add import CanIAddDialog
    from core.studies.can_i_add import can_i_add as asked

    #: The analysis each answer was worked out on: one of an earlier plan must not be done.
    stood_on: dict[int, Plan] = {}

    def ask(
        surface: str, at_mm: Point, amps: float, system: "System", critical: bool, template: "DeviceTemplate | None"
    ) -> "Addition":
        analysis = bench.analysis()
        name = template.name if template is not None else "New load"
        found = asked(analysis, surface, at_mm, amps, bench.library, system, name, critical, template)
        stood_on.clear()
        stood_on[id(found)] = analysis.plan
        return found

    def do(answer: "Answer", addition: "Addition") -> str:
        if stood_on.get(id(addition)) is not bench.plan:
            dialog.refresh()
            return "The plan was changed meanwhile; this is the answer for it as it is now. Press “Do it” again."
        name = find(answer.plan, "devices", answer.device).name
        bench.session.commit(f"Add {name}", answer.plan)
        bench.session.select((answer.device,))
        bench.say(f"{name} is placed and fed from {answer.offer.words}.")
        return ""

    def place_words(surface: str, at_mm: Point) -> str:
        show = bench.desk.show_mm
        return (
            f"{find(bench.plan, 'surfaces', surface).name}, {show(round(at_mm[0]))} along, {show(round(at_mm[1]))} up"
        )

    def ways_left(source: str) -> int:
        return len(free_ways(bench.plan, source))

    def take_pointer() -> None:
        bench.pointer.hold("can-i-add", SpotTool(bench.desk, dialog.pick, "it"))

    dialog = CanIAddDialog(bench.window, bench.library, ask, do, ways_left, place_words, take_pointer)
    take_pointer()
    dialog.finished.connect(bench.pointer.select)
    dialog.show()
    corner = bench.window.geometry().topRight()
    dialog.move(max(corner.x() - dialog.width() - 40, 0), corner.y() + 130)
    bench.view.setFocus()


ACTIONS = (
    Action("can-i-add", "Can I add…", "Circuits", can_i_add, "Ctrl+Alt+A", no_surface, stages=("devices", "circuits")),
)
