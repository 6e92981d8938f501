"""The long van's channels: low voltage over the windows, mains under them, one ceiling crossing, ways to the roof."""

from typing import Any

from core.edits.channels import add_node
from core.model import InPenetration
from sample_layouts.bench import Bench
from sample_layouts.long_van_devices import LIGHT_ROWS
from sample_layouts.long_van_places import (
    BELT,
    BOARD_OFF,
    CAB_X,
    LENGTH,
    MAINS_BELT,
    ROOF_WIDTH,
    WALL,
    WIDTH,
    board,
    board_foot,
    left,
    outside,
    right,
    roof,
)

MAINS = ("mains",)
#: Behind the boards, on battens: 25 mm below the panel face.
HIDDEN: dict[str, Any] = {"kind": "behind_panel", "depth_mm": 25.0, "bend_mm": 160.0}
CABINET: dict[str, Any] = {"kind": "furniture", "bend_mm": 120.0}
#: The low-voltage way along the right wall, over the wheel arch and under the mains.
LOW = 390.0
#: The crossing of the ceiling, and where it meets the rows of lights.
CROSSING = 3_150.0


def draw(b: Bench, s: dict[str, str]) -> None:
    for hole in b.holes.values():
        b.plan, _ = add_node(b.plan, InPenetration(penetration=hole))
    _cabinet(b, s)
    _trunk(b, s)
    _walls(b, s)
    _ceiling(b, s)
    _mains(b, s)
    _floor(b, s)
    _roof(b, s)


def _cabinet(b: Bench, s: dict[str, str]) -> None:
    """Heavy leads each go their own short way, so that they do not heat one another over 300 mm or more."""
    on = {"surface": s["board"], **CABINET}
    b.channel("Board, upper row", board(160, 440), board(1_130, 440), **on)
    b.channel("Board, fuse blocks", board(110, 110), board(450, 110), **on)
    b.channel("Board, link", board(415, 440), board(415, 110), **on)
    b.channel("Board, chargers", board(760, 110), board(1_130, 110), **on)
    b.channel("Board, right side", board(1_130, 440), board(1_130, 110), **on)
    b.channel("Inverter leads", board(620, 440), board(620, 610), **on)
    b.channel("Battery link", (3_530, 90), (4_036, 90), surface=s["floor"], **CABINET)
    for name, u in (("Main positive", 214.0), ("Main negative", 720.0)):
        foot = board_foot(u)
        b.channel(name, (foot[0], 90), foot, surface=s["floor"], **CABINET)
        b.channel(name, board(u, 0), board(u, 440), **on)
    foot = board_foot(310)
    b.channel("Always-live lead", (foot[0], 90), foot, surface=s["floor"], **CABINET)
    b.channel("Always-live lead", board(310, 0), board(310, 110), **on)


def _trunk(b: Bench, s: dict[str, str]) -> None:
    b.channel("Trunk, from the board", board(450, 110), board(450, 0), surface=s["board"], **CABINET)
    foot = board_foot(450)
    b.channel("Trunk, behind the board", foot, (foot[0], 0), surface=s["floor"], **CABINET)
    b.channel("Trunk riser", (foot[0], 0), left(foot[0], BELT), surface=s["left"], wrap="wrap-open-spiral", **HIDDEN)


def _walls(b: Bench, s: dict[str, str]) -> None:
    trunk = board_foot(450)[0]
    b.channel("Left belt, front", left(trunk, BELT), left(240, BELT), **HIDDEN)
    b.channel("Left belt, rear", left(trunk, BELT), left(3_960, BELT), **HIDDEN)
    b.channel("Left bed drop", left(3_960, BELT), left(3_960, 1_040), **HIDDEN)
    b.channel(
        "Dinette drop", left(580, BELT), left(580, 0), (580, 190), bend_mm=90.0, kind="behind_panel", depth_mm=25.0
    )
    b.channel("Right belt, front", right(CROSSING, BELT), right(1_730, BELT), **HIDDEN)
    b.channel("Right belt, rear", right(CROSSING, BELT), right(LENGTH, BELT), **HIDDEN)
    b.channel("Switch drop", right(1_730, BELT), right(1_730, 330), **HIDDEN)
    low: dict[str, Any] = {"kind": "trunking", "bore": {"width_mm": 80.0, "height_mm": 40.0}, "bend_mm": 200.0}
    low_wall = {**HIDDEN, "bend_mm": 200.0}
    foot = board_foot(450)
    b.channel("Floor crossing", foot, (foot[0], WIDTH), surface=s["floor"], **low)
    b.channel("Right low row", (foot[0], WIDTH), right(foot[0], LOW), right(2_230, LOW), surface=s["right"], **low_wall)
    b.channel("Right bed drop", right(3_560, BELT), right(3_560, LOW), **HIDDEN)
    b.channel("Display branch", right(1_985, BELT), right(1_985, 1_400), **HIDDEN)
    b.channel("Left overhead drop", left(1_900, BELT), left(1_900, 1_620), **HIDDEN)
    b.channel("Left overhead drop, front", left(480, BELT), left(480, 1_640), **HIDDEN)
    b.channel("Rear door", (LENGTH, right(0, BELT)[1]), (4_760, right(0, BELT)[1]), surface=s["right door"], **HIDDEN)


def _ceiling(b: Bench, s: dict[str, str]) -> None:
    b.channel("Ceiling crossing, left", left(CROSSING, BELT), left(CROSSING, WALL), surface=s["left"], **HIDDEN)
    b.channel("Ceiling crossing", roof(CROSSING, ROOF_WIDTH), right(CROSSING, BELT), surface=s["roof"], **HIDDEN)
    loose = {**HIDDEN, "wrap": "wrap-spot-tape"}
    for row, y in LIGHT_ROWS.items():
        b.channel(f"Lights, {row} row", roof(CROSSING, y), roof(450, y), surface=s["roof"], **loose)
        b.channel(f"Lights, {row} row, rear", roof(CROSSING, y), roof(3_960, y), surface=s["roof"], **loose)
    b.channel("To the front fan", roof(1_275, 380), roof(1_275, 700), surface=s["roof"], **HIDDEN)
    b.channel("To the rear fan", roof(3_920, 380), roof(3_920, 700), surface=s["roof"], **HIDDEN)
    b.channel("To the awning light", roof(560, 380), right(560, 1_870), surface=s["roof"], **HIDDEN)


def _floor(b: Bench, s: dict[str, str]) -> None:
    b.channel("Dinette floor", (580, 190), (1_260, 190), (1_260, 0), left(1_260, 90), bend_mm=90.0, kind="furniture")
    b.channel("To the waste tank", (1_260, 190), (1_400, 190), surface=s["floor"], kind="furniture")
    charge = {"kind": "split_conduit", "conduit": "conduit-split-29", "wrap": "wrap-split-conduit"}
    b.channel("Charge line", board(870, 110), board(870, 0), surface=s["board"], **CABINET)
    foot = board_foot(870)[0]
    b.channel("Charge line", (foot, BOARD_OFF), (foot, 290), (foot - 250, 540), (0, 540), bend_mm=220.0, **charge)
    b.channel("Charge line, cab", (CAB_X, 540), (CAB_X - 640, 540), surface=s["cab"], state="unknown", **charge)
    bond = board_foot(1_130)
    b.channel("Bond lead", board(1_130, 110), board(1_130, 0), surface=s["board"], **CABINET)
    b.channel("Bond lead", bond, board_foot(1_180), surface=s["floor"], **CABINET)
    b.channel(
        "Spare duct to the garage",
        left(LENGTH - 260, 0),
        left(LENGTH - 260, 760),
        surface=s["left"],
        kind="closed_conduit",
        conduit="conduit-pliable-25",
        spare_duct=True,
        draw_string=True,
    )


def _mains(b: Bench, s: dict[str, str]) -> None:
    duct = {"kind": "trunking", "bore": {"width_mm": 80.0, "height_mm": 60.0}, "groups": MAINS, "bend_mm": 75.0}
    b.channel("Mains row, hook-up", board(40, 770), board(1_000, 770), surface=s["board"], **duct)
    b.channel("Mains to the inverter", board(620, 770), board(620, 610), surface=s["board"], **duct)
    b.channel("Mains from the inverter", board(620, 610), board(700, 610), surface=s["board"], **duct)
    b.channel("Mains from the inverter", board(700, 610), board(700, 520), surface=s["board"], **duct)
    b.channel("Mains inlet", board(40, 770), board(40, 0), surface=s["board"], **duct)
    foot = board_foot(40)
    b.channel("Mains inlet", foot, (foot[0], 0), surface=s["floor"], **duct)
    b.channel("Mains inlet", (foot[0], 0), left(foot[0], 550), surface=s["left"], **duct)
    b.channel("Mains out", board(700, 520), board(1_180, 520), surface=s["board"], **duct)
    b.channel("Mains out", board(1_180, 520), board(1_180, 0), surface=s["board"], **duct)
    foot = board_foot(1_180)
    b.channel("Mains left", foot, (foot[0], 0), surface=s["floor"], **duct)
    b.channel("Mains left", (foot[0], 0), left(foot[0], MAINS_BELT), left(1_160, MAINS_BELT), surface=s["left"], **duct)
    b.channel("Mains crossing", foot, (foot[0], WIDTH), surface=s["floor"], **duct)
    b.channel("Mains right", (foot[0], WIDTH), right(foot[0], MAINS_BELT), right(2_250, MAINS_BELT), **duct)
    b.channel("Mains right, garage", right(foot[0], MAINS_BELT), right(3_250, MAINS_BELT), **duct)


def _roof(b: Bench, s: dict[str, str]) -> None:
    pipe = {"kind": "closed_conduit", "conduit": "conduit-pliable-32", "groups": ("dc_power",), "bend_mm": 120.0}
    x = 3_300.0
    foot = board_foot(950)
    b.channel("Solar riser", roof(x, 1_330), roof(x, ROOF_WIDTH), surface=s["roof"], **pipe)
    b.channel("Solar riser", left(x, WALL), left(x, 0), surface=s["left"], **pipe)
    b.channel("Solar riser", (x, 0), foot, surface=s["floor"], **pipe)
    b.channel("Solar riser", board(950, 0), board(950, 110), surface=s["board"], **pipe)
    out = {"kind": "exterior", "groups": ("dc_power",), "ambient_c": 70.0}
    b.channel("Solar, on the roof", outside(x, 1_330), outside(x, 400), surface=s["skin"], **out)
    air = {"groups": ("antenna", "signal"), "ambient_c": 60.0}
    b.channel("Aerial lead", outside(480, 1_330), outside(480, 1_150), surface=s["skin"], kind="exterior", **air)
    b.channel("Aerial lead", roof(480, 1_330), roof(480, ROOF_WIDTH), surface=s["roof"], kind="behind_panel", **air)
    b.channel("Aerial lead", left(480, WALL), left(480, 1_640), surface=s["left"], kind="behind_panel", **air)
