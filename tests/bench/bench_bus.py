"""A bus of 180 circuits at the window: how long an edit takes until all of it shows. `python -m tests.bench.bench_bus`

Counted in processor time of all threads, from the edit to the last paint, sheet, panes and circuit table included.
"""

import os
import time
from collections.abc import Callable
from pathlib import Path

from core.model import Plan
from tests.bench import vehicles

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

#: Nodes, channels, wires of a bus: two wires a circuit (common practice, no source).
BUS = (900, 1_500, 360)
CIRCUITS = BUS[2] // 2
#: The column of notes in the circuit table.
NOTE = 10
AIM_S = 1.0


def bus() -> Plan:
    sizes: dict[str, tuple[int, int, int]] = vehicles.SIZES  # type: ignore[assignment]
    sizes["bus"] = BUS
    try:
        return vehicles.vehicle("bus")  # type: ignore[arg-type]
    finally:
        del sizes["bus"]


def updates_s(only: str = "") -> dict[str, float]:
    """Seconds of each edit by its name; `only` leaves out the other edits than that one and the table's."""
    from PySide6.QtCore import QCoreApplication, QEvent

    from app.main import make_application
    from app.settings import Settings
    from app.windows import make_window
    from core.edits.change import replaced
    from core.edits.circuits import set_section
    from core.edits.devices import move_device

    application = make_application()
    window = make_window(Settings(theme="light", autosave=False))
    window.resize(1600, 1000)
    window.show()
    window.files.start(bus(), drawn=False)
    window.stages.choose("circuits")
    session = window.session

    def settle() -> None:
        while session.analysing or session.analysis.plan is not session.plan:
            application.processEvents()
            time.sleep(0.001)
        application.processEvents()

    settle()
    assert len(session.plan.circuits) == CIRCUITS

    def section(plan: Plan) -> Plan:
        return set_section(plan, plan.circuits[90].id, 6.0)

    def load(plan: Plan) -> Plan:
        device = plan.devices[100]
        return replaced(
            plan,
            devices=tuple(
                replaced(d, electrical=replaced(d.electrical, current_a=7.0, power_w=None)) if d is device else d
                for d in plan.devices
            ),
        )

    def move(plan: Plan) -> Plan:
        device = plan.devices[50]
        return move_device(plan, device.id, device.surface, (device.at_mm[0] + 20.0, device.at_mm[1]))

    edits: dict[str, Callable[[Plan], Plan]] = {"section of a circuit": section, "current of a load": load,
                                                "move a device": move}  # fmt: skip
    found = {}
    for name, edit in edits.items():
        if only not in ("", name):
            continue
        for turn in range(2):  # the first one warms up what is remembered
            started = time.process_time()
            session.commit(name, edit(session.plan))
            settle()
            if turn == 0:
                found[name] = time.process_time() - started
                session.undo()
                settle()
    started = time.process_time()
    table = window.circuit_table.model
    table.put([(row, NOTE, "checked") for row in range(CIRCUITS)], "Fill down")
    settle()
    found["a column of 180 cells"] = time.process_time() - started
    window.session.mark_saved(window.session.path or Path("bus.loomplan"))
    window.close()
    window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    return found


def main() -> None:
    for name, seconds in updates_s().items():
        print(f"{name:24} {seconds * 1000:7.0f} ms   aim {AIM_S * 1000:.0f} ms")


if __name__ == "__main__":
    main()
