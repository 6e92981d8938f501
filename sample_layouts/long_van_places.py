"""Where things lie on the sheet of the long van: its sizes, and points by what a tape measures."""

from math import cos, radians, sin

from core.model import Point

LENGTH, WIDTH = 4_300.0, 1_780.0
#: Along the wall with the tape; the walls lean in, so the ceiling is narrower than the floor.
WALL, LEAN_DEG = 1_910.0, 93.0
LEAN = radians(LEAN_DEG - 90.0)
INSET = WALL * sin(LEAN)
ROOF_WIDTH = WIDTH - 2 * INSET
HEIGHT = WALL * cos(LEAN)

RIGHT, CEILING = WIDTH, WIDTH + WALL
#: The outer skin of the roof reaches this far beyond the ceiling on every side; it is drawn apart, above the ceiling.
OVERHANG = 40.0
OUTSIDE = CEILING + ROOF_WIDTH + 260.0
CAB_X = -HEIGHT - 320.0
#: The board of the electrical cabinet stands 40 mm off the left wall; it is drawn apart, behind the left rear door.
BOARD_FROM, BOARD_TO, BOARD_HIGH, BOARD_OFF = 3_020.0, 4_250.0, 800.0, 40.0
BOARD_AT = (5_560.0, -1_780.0)

#: Heights of the main ways on the walls: low voltage over the windows, mains under them.
BELT, MAINS_BELT = 1_450.0, 480.0


def right(x: float, z: float) -> Point:
    """A point of the right wall on the sheet, `x` from the front and `z` along the wall above the floor."""
    return x, RIGHT + z


def left(x: float, z: float) -> Point:
    return x, -z


def roof(x: float, y: float) -> Point:
    """A point of the ceiling, `y` from its right edge."""
    return x, CEILING + y


def outside(x: float, y: float) -> Point:
    """The point of the outer skin above `roof(x, y)`: the skin is drawn turned over at the left edge of the ceiling."""
    return x, OUTSIDE + OVERHANG + ROOF_WIDTH - y


def board(u: float, v: float) -> Point:
    """A point of the board, `u` from its rear end and `v` above the floor, as seen by who stands before it."""
    return BOARD_AT[0] + u, BOARD_AT[1] + v


def board_foot(u: float) -> Point:
    """The point of the floor under a point of the board."""
    return BOARD_TO - u, BOARD_OFF
