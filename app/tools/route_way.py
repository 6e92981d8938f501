"""Route this wire this way: the nodes and channels it has to pass are picked on the sheet, the way is shown at once."""

from msgspec.structs import replace

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, PointerEvent, ToolReply
from app.tools.switching import leg_of
from core.analysis.results import Route
from core.analysis.routes import find_routes
from core.edits.lines import route_by
from core.edits.network import node_on, split_channel
from core.errors import EditRefused
from core.geometry.plane import distance_mm, length_mm, nearest_on
from core.model import Channel, Plan, Point, find
from core.pages.marks import AnyMark, LineMark

NODE_PX = 12.0


class RouteTool(BaseTool):
    """A leg of a circuit: that of the selected device, wire or circuit, or of the device clicked first."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._leg = _selected(desk)
        self._nodes: tuple[str, ...] = ()
        #: For each click how many nodes it brought, so that Backspace takes back a click.
        self._clicks: tuple[int, ...] = ()
        self._under = ""
        self._k = 1.0

    @property
    def hint(self) -> str:
        if self._leg is None:
            return "Click a device: its wires are led by the channels and nodes you click next."
        return (
            "Click the channels or nodes they pass, in turn; Return leads them so. Backspace takes the last one back."
        )

    def show(self) -> ToolReply:
        if self._leg is None:
            return ToolReply(word="point at the device whose wires are led")
        route = self._route(self._nodes)
        free = self._route(())
        marks: list[AnyMark] = []
        if route is not None:
            for style in ("route:halo", "route"):
                marks += [LineMark(style=style, points_mm=line) for line in self._lines(route)]
        marks += [overlay.handle(at, self._k) for node in self._nodes if (at := self._node_at(node)) is not None]
        name = find(self.desk.plan, "circuits", self._leg[0]).name
        if route is None or route.route_mm is None:
            word = f"{name}: {route.problem if route is not None and route.problem else 'no way'}"
        else:
            more = route.route_mm - free.route_mm if free is not None and free.route_mm is not None else 0.0
            word = f"{name}, one-way {route.route_mm / 1000:.2f} m"
            word += f", {more / 1000:+.2f} m to the shortest" if abs(more) >= 5 else ""
        return ToolReply(overlay=tuple(marks), word=word)

    def press(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        if event.button != "left":
            return self.show()
        if event.kind == "double":
            return self._make() if self._nodes else self.show()
        if self._leg is None:
            leg = leg_of(self.desk.plan, self._under)
            if leg is None:
                raise EditRefused("Click a device that is in a circuit: its wires are led.")
            self._leg = leg
            return self.show()
        fresh = self._picked(event)
        if not fresh and (channel := self._channel(event)) is not None:
            return self._parted(channel, event)
        if not fresh:
            raise EditRefused("Click a node or a channel the wires have to pass.")
        self._nodes, self._clicks = (*self._nodes, *fresh), (*self._clicks, len(fresh))
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._look(event)
        return self.show()

    def key(self, event: KeyEvent) -> ToolReply | None:
        match event.key:
            case "Return" if self._leg is not None and self._nodes:
                return self._make()
            case "Backspace" if self._clicks:
                self._nodes, self._clicks = self._nodes[: -self._clicks[-1]], self._clicks[:-1]
                return self.show()
            case "Escape" if self._nodes or self._leg is not None:
                if not self._nodes:
                    self._leg = None
                self._nodes, self._clicks = (), ()
                return self.show()
            case _:
                return None

    def _make(self) -> ToolReply:
        assert self._leg is not None
        circuit, stop = self._leg
        plan = route_by(self.desk.plan, circuit, stop, self._nodes)
        name = find(plan, "circuits", circuit).name
        self._nodes, self._clicks = (), ()
        key = f"route {circuit} {stop} {id(self)}"
        return ToolReply(
            plan=plan, commit=self._label(plan), select=(circuit,), word=f"{name} is led this way", key=key
        )

    # --- what is meant -----------------------------------------------------------------------------------------------

    def _look(self, event: PointerEvent) -> None:
        self._k = event.mm_per_pixel
        devices = {device.id for device in self.desk.plan.devices}
        self._under = next((item for item in event.item_ids if item in devices), "")

    def _picked(self, event: PointerEvent) -> tuple[str, ...]:
        """The node under the pointer, else both ends of the channel there, the one nearer to where the way is first."""
        plan, last = self.desk.plan, self._nodes[-1] if self._nodes else None
        near = [
            (distance_mm(at, event.sheet_mm), node.id)
            for node in plan.nodes
            if (at := self._node_at(node.id)) is not None
        ]
        best = min(near, default=None)
        if best is not None and best[0] <= NODE_PX * self._k:
            return () if best[1] == last else (best[1],)
        channel = self._channel(event)
        if channel is None:
            return ()
        ends = self._in_order(channel)
        route = self._route((*self._nodes, *ends))
        if route is None or all(step.channel != channel.id for step in route.steps):
            return ()  # between its ends another way is shorter: only a node within it leads over it
        return ends[1:] if ends[0] == last else ends

    def _channel(self, event: PointerEvent) -> Channel | None:
        channels = {channel.id: channel for channel in self.desk.plan.channels}
        return next((channels[item] for item in event.item_ids if item in channels), None)

    def _parted(self, channel: Channel, event: PointerEvent) -> ToolReply:
        """A node in the channel where it is clicked: both ends of it can be reached a shorter way. The node and the
        leading are one step of undo."""
        path = self.desk.session.analysis.paths.get(channel.id)
        if path is None or len(path.sheet_mm) < 2 or channel.surface is None:
            raise EditRefused("A measured channel is led over by its nodes: click these.")
        near = nearest_on(path.sheet_mm, event.sheet_mm)
        share = near.along_mm / length_mm(path.sheet_mm)
        plan, node, _ = split_channel(self.desk.plan, channel.id, share * path.length_mm)
        self._nodes, self._clicks = (*self._nodes, node), (*self._clicks, 1)
        return ToolReply(plan=plan, commit=self._label(plan), key=self._key())

    def _label(self, plan: Plan) -> str:
        assert self._leg is not None
        return f"Route {find(plan, 'circuits', self._leg[0]).name} this way"

    def _key(self) -> str:
        assert self._leg is not None
        return f"route {' '.join(self._leg)} {id(self)}"

    def _in_order(self, channel: Channel) -> tuple[str, str]:
        """The ends of a channel in the order in which the way gets shorter."""
        pair = channel.start, channel.end
        lengths = []
        for order in (pair, pair[::-1]):
            route = self._route((*self._nodes, *order))
            lengths.append(route.route_mm if route is not None and route.route_mm is not None else float("inf"))
        return pair if lengths[0] <= lengths[1] else pair[::-1]

    def _route(self, nodes: tuple[str, ...]) -> Route | None:
        """The way of the leg's first wire through these nodes, as the analysis finds it."""
        analysis = self.desk.session.analysis
        assert self._leg is not None
        circuit, stop_id = self._leg
        stop = next((s for s in find(self.desk.plan, "circuits", circuit).stops if s.id == stop_id), None)
        wire = next(
            (
                w
                for w in analysis.wires.values()
                if w.circuit == circuit and stop is not None and stop.device in (w.from_.device, w.to.device)
                and w.lead == w.id
            ),
            None,
        )  # fmt: skip
        if wire is None:
            return None
        led = replace(wire, waypoints=nodes)
        found = find_routes(
            analysis.network, {wire.id: led}, self.desk.plan.devices, analysis.falls, (), self.desk.plan.channels
        )
        return found.get(wire.id)

    def _lines(self, route: Route) -> list[tuple[Point, ...]]:
        paths, lines = self.desk.session.analysis.paths, []
        for step in route.steps:
            path = paths.get(step.channel)
            if path is not None and len(path.sheet_mm) > 1:
                lines.append(path.sheet_mm)
        return lines

    def _node_at(self, node_id: str) -> Point | None:
        """A place of a node on the sheet."""
        node = next((each for each in self.desk.plan.nodes if each.id == node_id), None)
        if node is None:
            return None
        for surface in self.desk.layout.laid:
            at = node_on(self.desk.plan, self.desk.joints, node, surface)
            if at is not None:
                return self.desk.to_sheet(surface, at)
        return None


def _selected(desk: Desk) -> tuple[str, str] | None:
    """Circuit and stop of what is selected."""
    plan = desk.plan
    for chosen in desk.session.selection:
        circuit = next((c for c in plan.circuits if c.id == chosen), None)
        if circuit is not None and len(circuit.stops) > 1:
            return circuit.id, circuit.stops[1].id
        wire = desk.session.analysis.wires.get(chosen)
        if wire is not None:
            owner = next(c for c in plan.circuits if c.id == wire.circuit)
            devices = {wire.from_.device, wire.to.device}
            leg = next((s for s in owner.stops[1:] if s.device in devices), None)
            if leg is not None:
                return owner.id, leg.id
        leg_found = leg_of(plan, chosen)
        if leg_found is not None:
            return leg_found
    return None
