"""Switch a load: drag from the switch to what it switches; several switches clicked in turn switch it from each."""

from app.tools import overlay
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.on_devices import OnDevicesTool
from core.edits.circuits import add_switch
from core.edits.devices import connect_to_nearest
from core.edits.forms import add_intermediate, switch_two_way
from core.errors import EditRefused
from core.model import Device, Plan, find


def switched(plan: Plan, circuit_id: str, stop_id: str | None, switches: tuple[str, ...]) -> Plan:
    """The plan with the switches before a stop: one is a switch leg, two are two-way, more have the others between."""
    for each in switches:
        if find(plan, "devices", each).node is None:
            try:
                plan, _ = connect_to_nearest(plan, each)
            except EditRefused:
                continue  # told by the finding of the wire that has no way
    if len(switches) == 1:
        return add_switch(plan, circuit_id, switches[0], stop_id)[0]
    first, *between, last = switches
    plan = switch_two_way(plan, circuit_id, first, last, stop_id)
    for each in between:
        plan = add_intermediate(plan, circuit_id, each)
    return plan


def leg_of(plan: Plan, device_id: str) -> tuple[str, str] | None:
    """Circuit and stop that feed a device; None where none does."""
    for circuit in plan.circuits:
        stop = next((s for s in circuit.stops[1:] if s.device == device_id and s.role in ("load", "tap")), None)
        if stop is not None and circuit.kind != "bond":
            return circuit.id, stop.id
    return None


class SwitchTool(OnDevicesTool):
    """Click the switches in turn, then the load; or drag from one switch to the load."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._switches: tuple[Device, ...] = ()

    @property
    def hint(self) -> str:
        if not self._switches:
            return "Drag from a switch to the load it switches, or click switches in turn and then the load."
        return "Click the load, or a switch more to switch it from another place. Backspace takes the last one back."

    def show(self) -> ToolReply:
        way = [self.desk.entry_on_sheet(device) for device in self._switches]
        marks = [overlay.handle(point, self._k) for point in way]
        if way:
            marks.append(overlay.line((*way, self._at)))
        if self._under is not None:
            marks.append(overlay.handle(self.desk.entry_on_sheet(self._under), self._k))
        places = f"from {len(self._switches)} places" if len(self._switches) > 1 else "by this switch"
        word = "point at a switch" if not self._switches else f"point at the load, switched {places}"
        return ToolReply(overlay=tuple(marks), word=self._under.name if self._under is not None else word)

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left" or event.kind == "double":
            return self.show()
        self._pressed_px = event.pixel
        device = self._under
        if device is None:
            raise EditRefused("Click a switch, then the load it switches.")
        if device.kind == "switch":
            if device.id not in {each.id for each in self._switches}:
                self._switches = (*self._switches, device)
            return self.show()
        if not self._switches:
            raise EditRefused(f"“{device.name}” is no switch; begin at the switch.")
        return self._make(device)

    def release(self, event: PointerEvent) -> ToolReply:
        dragged = self._dragged(event)
        self._pressed_px = None
        self._look(event)
        if not dragged or not self._switches or self._under is None:
            return self.show()
        if self._under.id in {each.id for each in self._switches}:
            return self.show()
        if self._under.kind == "switch":
            self._switches = (*self._switches, self._under)
            return self.show()
        return self._make(self._under)

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key in ("Escape", "Backspace") and self._switches:
            self._switches = self._switches[:-1] if event.key == "Backspace" else ()
            return self.show()
        return None

    def _make(self, load: Device) -> ToolReply:
        leg = leg_of(self.desk.plan, load.id)
        if leg is None:
            raise EditRefused(f"“{load.name}” is in no circuit yet; connect it to a fuse block first.")
        switches, self._switches = self._switches, ()
        plan = switched(self.desk.plan, *leg, tuple(device.id for device in switches))
        places = f"from {len(switches)} places" if len(switches) > 1 else f"by {switches[0].name}"
        return ToolReply(plan=plan, commit=f"Switch {load.name}", select=leg[:1], word=f"{load.name} switched {places}")
