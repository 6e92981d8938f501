"""All tools by their ids: words, key, the stage they belong to, and how they are made."""

from collections.abc import Callable
from dataclasses import dataclass

from app.tools.base import BaseTool
from app.tools.connect import ConnectTool
from app.tools.desk import Desk
from app.tools.lines import ChannelTool, MeasureTool, MetalEdgeTool, RibTool
from app.tools.on_channel import SecuringPointTool
from app.tools.outline import CABINET, DOOR, FLOOR, PANEL, WHEEL_ARCH, WINDOW, ZONE, Making, OutlineTool
from app.tools.walls import RaiseWallTool
from core.model import Plan


@dataclass(frozen=True)
class ToolRow:
    """`needs` says what a plan must have first: "floor", "channel", "device" or ""."""

    id: str
    words: str
    tip: str
    key: str
    stages: tuple[str, ...]
    make: Callable[[Desk], BaseTool]
    needs: str = "floor"


def _outline(making: Making) -> Callable[[Desk], BaseTool]:
    def make(desk: Desk) -> BaseTool:
        return OutlineTool(desk, making)

    return make


TOOLS: tuple[ToolRow, ...] = (
    ToolRow("floor", "Floor", "Draw the floor: the surface all others fold out from", "F", ("survey",),
            _outline(FLOOR), needs="no floor"),
    ToolRow("wall", "Raise wall", "Raise a wall from an edge, or the ceiling from a wall's top", "W", ("survey",),
            RaiseWallTool),
    ToolRow("rib", "Rib", "Draw a rib or pillar by its centre line", "I", ("survey",), RibTool),
    ToolRow("window", "Window", "Draw a window opening", "O", ("survey",), _outline(WINDOW)),
    ToolRow("door", "Door", "Draw a door opening", "Shift+O", ("survey",), _outline(DOOR)),
    ToolRow("arch", "Wheel arch", "Draw a wheel arch by its footprint", "Shift+W", ("survey",), _outline(WHEEL_ARCH)),
    ToolRow("metal-edge", "Metal edge", "Draw a raw metal edge", "E", ("survey", "channels"), MetalEdgeTool),
    ToolRow("cabinet", "Cabinet", "Draw a cabinet by its outline and height", "B", ("fit-out",), _outline(CABINET)),
    ToolRow("panel", "Panel", "Draw a board that will cover the wall", "P", ("fit-out",), _outline(PANEL)),
    ToolRow("zone", "Keep-out zone", "Draw where wires must not lie", "K", ("fit-out",), _outline(ZONE)),
    ToolRow("channel", "Channel", "Draw where wires may lie, across folds", "C", ("channels",), ChannelTool),
    ToolRow("securing", "Securing point", "Fix the bundle at a place of a channel", "S", ("channels",),
            SecuringPointTool, needs="channel"),
    ToolRow("connect", "Connect", "Drag from a fuse block to what it feeds", "N", ("circuits", "devices"), ConnectTool,
            needs="device"),
    ToolRow("measure", "Measure", "The tape's length along the surfaces", "M",
            ("survey", "fit-out", "devices", "channels", "checks"), MeasureTool),
)  # fmt: skip


def tool_row(tool_id: str) -> ToolRow:
    return next(row for row in TOOLS if row.id == tool_id)


def needed(plan: Plan, needs: str) -> str:
    """Why a tool has nothing to work on yet, or ""."""
    floor = any(surface.fold is None for surface in plan.surfaces)
    match needs:
        case "no floor":
            return "The plan has a floor; raise walls from its edges." if floor else ""
        case "floor":
            return "" if floor else "Draw the floor first."
        case "channel":
            return "" if plan.channels else "Draw a channel first."
        case "device":
            return "" if len(plan.devices) > 1 else "Place a fuse block and a device first."
    return ""
