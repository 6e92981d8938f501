"""All tools by their ids: words, key, the stage they belong to, and how they are made."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from app.tools.base import BaseTool
from app.tools.beside import FromEdgeTool, OffsetTool
from app.tools.by_distance import ArrayTool, ByDistanceTool, CopyTool
from app.tools.cutting import SplitSurfaceTool, SplitTool, TrimTool
from app.tools.desk import Desk
from app.tools.lines import ChannelTool, MetalEdgeTool, RibTool
from app.tools.measure import DimensionTool, MeasureTool
from app.tools.on_channel import SecuringPointTool
from app.tools.outline import CABINET, DOOR, FLOOR, PANEL, WHEEL_ARCH, WINDOW, ZONE, Making, OutlineTool
from app.tools.pairs import JoinTool, NextToTool, SewTool
from app.tools.reshape import ReshapeTool
from app.tools.route_way import RouteTool
from app.tools.runs import AlongTool, BeltTool, MeasuredTool, RiserTool
from app.tools.switching import SwitchTool
from app.tools.turning import MirrorCopyTool, MirrorTool, RoundArrayTool, TurnTool
from app.tools.walls import CurvedWallTool, RaiseWallTool
from app.tools.ways import WayTool
from core.model import Plan

#: Stages in which what is drawn is changed.
CHANGED_IN = ("survey", "fit-out", "devices", "channels")


@dataclass(frozen=True)
class ToolRow:
    """`needs` says what a plan must have first: "floor", "channel", "device" or "". `group` is the button on the bar of
    the stage under which it stands with others that are not wanted every minute; "" is a button of its own."""

    id: str
    words: str
    tip: str
    key: str
    stages: tuple[str, ...]
    make: Callable[[Desk], BaseTool]
    needs: str = "floor"
    menu: Literal["Draw", "Change"] = "Draw"
    group: str = ""


def _outline(making: Making) -> Callable[[Desk], BaseTool]:
    def make(desk: Desk) -> BaseTool:
        return OutlineTool(desk, making)

    return make


def _surface(tool_id: str, words: str, tip: str, key: str, make: Callable[[Desk], BaseTool]) -> ToolRow:
    return ToolRow(tool_id, words, tip, key, ("survey",), make, group="Surfaces")


def _change(tool_id: str, words: str, tip: str, key: str, make: Callable[[Desk], BaseTool]) -> ToolRow:
    return ToolRow(tool_id, words, tip, key, CHANGED_IN, make, menu="Change", group="Change")


TOOLS: tuple[ToolRow, ...] = (
    ToolRow("floor", "Floor", "Draw the floor: the surface all others fold out from", "F", ("survey",),
            _outline(FLOOR), needs="no floor"),
    ToolRow("wall", "Raise wall", "Raise a wall from an edge, or the ceiling from a wall's top", "W", ("survey",),
            RaiseWallTool),
    ToolRow("rib", "Rib", "Draw a rib or pillar by its centre line", "I", ("survey",), RibTool),
    ToolRow("window", "Window", "Draw a window opening", "O", ("survey",), _outline(WINDOW)),
    ToolRow("door", "Door", "Draw a door opening", "Shift+O", ("survey",), _outline(DOOR)),
    ToolRow("arch", "Wheel arch", "Draw a wheel arch by its footprint", "Shift+W", ("survey",), _outline(WHEEL_ARCH)),
    ToolRow("cabinet", "Cabinet", "Draw a cabinet by its outline and height", "B", ("fit-out",), _outline(CABINET)),
    ToolRow("panel", "Panel", "Draw a board that will cover the wall", "P", ("fit-out",), _outline(PANEL)),
    ToolRow("zone", "Keep-out zone", "Draw where wires must not lie", "K", ("fit-out",), _outline(ZONE)),
    ToolRow("channel", "Channel", "Draw where wires may lie, across folds", "C", ("channels",), ChannelTool),
    ToolRow("securing", "Securing point", "Fix the bundle at a place of a channel", "S", ("channels",),
            SecuringPointTool, needs="channel"),
    ToolRow("along", "Channel along", "A channel along a rib, pillar or edge", "Shift+L", ("channels",), AlongTool,
            group="More channels"),
    ToolRow("belt", "Belt line", "A channel round the walls at one height", "Shift+B", ("channels",), BeltTool,
            group="More channels"),
    ToolRow("riser", "Riser or fall", "From a device, or through a point of a wall, to the channels above and below",
            "Shift+Y", ("channels",), RiserTool, group="More channels"),
    ToolRow("measured", "Measured channel", "Two ends and the length by the tape, where nothing can be drawn",
            "Shift+M", ("channels",), MeasuredTool, group="More channels"),
    ToolRow("metal-edge", "Metal edge", "Draw a raw metal edge", "E", ("survey", "channels"), MetalEdgeTool),
    ToolRow("connect", "Connect", "Drag from a way of a fuse block to what it feeds", "N", ("circuits", "devices"),
            WayTool, needs="device"),
    ToolRow("switch", "Switch", "Drag from a switch to the load it switches; several switch from each", "Shift+K",
            ("circuits",), SwitchTool, needs="device"),
    ToolRow("route", "Route this way", "Lead a wire by the channels and nodes it has to pass", "Shift+R",
            ("channels", "circuits"), RouteTool, needs="channel"),
    ToolRow("measure", "Measure", "The tape's length along the surfaces", "M",
            ("survey", "fit-out", "devices", "channels", "checks"), MeasureTool),
    ToolRow("dimension", "Dimension", "Draw a dimension; ends at corners stay attached", "Shift+D",
            ("survey", "fit-out", "devices"), DimensionTool, group="Change"),
    _surface("curved-wall", "Curved wall", "Raise a curved wall as strips, as high as the tape says along the curve",
             "Shift+C", CurvedWallTool),
    _surface("sew", "Sew edges", "Make a seam by picking two edges", "Shift+S", SewTool),
    _surface("next-to", "Draw next to", "Choose which neighbour a surface is drawn next to: the sheet re-folds",
             "Shift+N", NextToTool),
    _surface("split-surface", "Split surface", "Cut a surface in two along a straight line", "Shift+V",
             SplitSurfaceTool),
    _change("move", "Move", "Move the selection from a point to a point, or by a typed distance", "V", ByDistanceTool),
    _change("copy", "Copy", "Copy the selection, again and again", "Y", CopyTool),
    _change("turn", "Turn", "Turn the selection about a point, by the pointer or a typed angle", "U", TurnTool),
    _change("mirror", "Mirror", "Mirror the selection at a line", "H", MirrorTool),
    _change("mirror-copy", "Mirror a copy", "Mirror a copy of the selection at a line", "Shift+H", MirrorCopyTool),
    _change("array", "Array", "Repeat the selection in a row, or in rows", "A", ArrayTool),
    _change("round-array", "Array round a point", "Repeat the selection round a point", "Shift+A", RoundArrayTool),
    _change("from-edge", "Distance from edge", "Set how far from an edge the selection lies", "G", FromEdgeTool),
    _change("reshape", "Edges and corners", "Move, insert and delete corners; move edges, type their length", "X",
            ReshapeTool),
    _change("offset", "Offset", "A copy beside a line, or round an outline", "Q", OffsetTool),
    _change("trim", "Trim to edge", "Take off a stretch of a line; Shift: extend it to an edge", "Shift+T", TrimTool),
    _change("split", "Split", "Split a rib, metal edge or channel", "Shift+X", SplitTool),
    _change("join", "Join", "Make one of two lines, channels or surfaces", "Shift+J", JoinTool),
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
