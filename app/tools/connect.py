"""Connect devices as a circuit: drag from the source to the device it feeds, or click the source and the loads in turn.

Devices whose wires join no channel yet are joined to the nearest one first.
"""

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.on_devices import OnDevicesTool
from core.edits.circuits import connect
from core.edits.devices import connect_to_nearest
from core.errors import EditRefused
from core.files.library import Library
from core.model import Device, Plan


def connected(
    plan: Plan, source: str, loads: tuple[str, ...], library: Library, way: str | None = None
) -> tuple[Plan, str, str]:
    """The plan with the circuit, its id, and a sentence where a device found no channel ("" where all did). Without
    `way` the first free one that can carry the loads."""
    unjoined: list[str] = []
    before = {device.id: device for device in plan.devices}
    # First, so that a circuit that cannot be leaves the plan alone and says the weightier reason.
    connect(plan, source, way, loads, library=library)
    for each in (source, *loads):
        if before[each].node is None:
            try:
                plan, _ = connect_to_nearest(plan, each)
            except EditRefused:
                unjoined.append(before[each].name)
    plan, circuit = connect(plan, source, way, loads, library=library)
    if not unjoined:
        return plan, circuit, ""
    names = " and ".join(f"“{name}”" for name in unjoined)
    return plan, circuit, f"No channel within 1 m of {names}: draw one, and the wires find their way."


class ConnectTool(OnDevicesTool):
    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._source: Device | None = None
        self._loads: tuple[Device, ...] = ()

    @property
    def hint(self) -> str:
        if self._source is None:
            return "Drag from a fuse block (or another source) to the device it feeds."
        if not self._loads:
            return f"Release on, or click, what “{self._source.name}” feeds."
        return "Click the next device of the chain; Return makes the circuit."

    def show(self) -> ToolReply:
        marks = []
        if self._under is not None:
            marks.append(overlay.handle(self.desk.entry_on_sheet(self._under), self._k))
        if self._source is None:
            return ToolReply(overlay=tuple(marks), word=self._under.name if self._under else "point at the source")
        way = [self.desk.entry_on_sheet(device) for device in (self._source, *self._loads)]
        marks.append(overlay.line((*way, self._at)))
        marks += [overlay.handle(point, self._k) for point in way]
        word = self._under.name if self._under is not None else "point at what it feeds"
        return ToolReply(overlay=tuple(marks), word=word)

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left":
            return self.show()
        if event.kind == "double":
            return self._make() if self._loads else self.show()
        self._pressed_px = event.pixel
        device = self._under
        if self._source is None:
            if device is None:
                raise EditRefused("A circuit starts at a fuse block, battery or another source: click one.")
            self._source = device
        elif device is not None and device.id not in {each.id for each in (self._source, *self._loads)}:
            self._loads = (*self._loads, device)
            if "shift" not in event.modifiers and "ctrl" not in event.modifiers:
                return self._make()
        return self.show()

    def release(self, event: PointerEvent) -> ToolReply:
        dragged = self._dragged(event)
        self._pressed_px = None
        self._look(event)
        if self._source is None or self._loads:
            return self.show()
        if dragged and self._under is not None and self._under.id != self._source.id:
            self._loads = (self._under,)
            return self._make()
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Return" and self._loads:
            return self._make()
        if event.key == "Escape" and self._source is not None:
            self._source, self._loads = None, ()
            return self.show()
        return None

    def _make(self) -> ToolReply:
        assert self._source is not None
        source, loads = self._source, self._loads
        self._source, self._loads = None, ()
        plan, circuit, told = connected(self.desk.plan, source.id, tuple(load.id for load in loads), self.desk.library)
        return ToolReply(
            plan=plan, commit=f"Connect {loads[-1].name}", select=(circuit,), word=told or f"{source.name} connected"
        )
