"""Bodies made of folded surfaces, for tests."""

from math import asin, cos, degrees, pi, sin, tan

from core.model import Corner, Fold, OnEdge, Seam, Surface


def rectangle(
    surface: str, width_mm: float, height_mm: float, *, role: str = "wall", fold: Fold | None = None, name: str = ""
) -> Surface:
    """Corners a, b, c, d from the origin, counter-clockwise: edge a is the lower one, c the upper one."""
    points = ((0.0, 0.0), (width_mm, 0.0), (width_mm, height_mm), (0.0, height_mm))
    corners = tuple(Corner(id=f"{surface}.{key}", at_mm=p) for key, p in zip("abcd", points, strict=True))
    return Surface(id=surface, name=name or surface, role=role, corners=corners, fold=fold)  # type: ignore[arg-type]


def folded(surface: str, edge: str, parent: str, parent_edge: str, fold_deg: float = 90.0, shift_mm: float = 0) -> Fold:
    return Fold(
        line=OnEdge(edge=f"{surface}.{edge}"),
        parent=parent,
        parent_line=OnEdge(edge=f"{parent}.{parent_edge}"),
        fold_deg=fold_deg,
        shift_mm=float(shift_mm),
    )


def box_room(length_mm: float, width_mm: float, height_mm: float) -> tuple[Surface, ...]:
    """A room seen from inside: floor, four walls on its edges, the ceiling on the right wall.

    On the floor x runs along the room and y to the vehicle's right, so edge a is the left side, b the rear,
    c the right, d the front.
    """
    return (
        rectangle("floor", length_mm, width_mm, role="floor"),
        rectangle("left", length_mm, height_mm, fold=folded("left", "a", "floor", "a")),
        rectangle("rear", width_mm, height_mm, fold=folded("rear", "a", "floor", "b"), role="end"),
        rectangle("right", length_mm, height_mm, fold=folded("right", "a", "floor", "c")),
        rectangle("front", width_mm, height_mm, fold=folded("front", "a", "floor", "d"), role="end"),
        rectangle("ceiling", length_mm, width_mm, fold=folded("ceiling", "a", "right", "c"), role="ceiling"),
    )


def sewn(seam: str, a: str, a_edge: str, b: str, b_edge: str) -> Seam:
    return Seam(
        id=seam, a=a, a_line=OnEdge(edge=f"{a}.{a_edge}"), b=b, b_line=OnEdge(edge=f"{b}.{b_edge}"), origin="drawn"
    )


def frustum(sides: int, side_mm: float, shrink: float, slant_mm: float) -> tuple[Surface, ...]:
    """A tent without its tip: regular floor, equal walls leaning in, and a ceiling `1 - shrink` times as wide.

    The inset of a wall is apothem x shrink = slant x sin(lean), so every edge closes exactly.
    """
    apothem = side_mm / (2 * tan(pi / sides))
    lean_deg = degrees(asin(apothem * shrink / slant_mm))
    top_mm = side_mm * (1 - shrink)
    floor = _regular("floor", sides, side_mm)
    surfaces = [Surface(id="floor", name="floor", role="floor", corners=floor)]
    for number in range(sides):
        wall = f"wall{number}"
        inset = (side_mm - top_mm) / 2
        points = ((0.0, 0.0), (side_mm, 0.0), (side_mm - inset, slant_mm), (inset, slant_mm))
        corners = tuple(Corner(id=f"{wall}.{key}", at_mm=p) for key, p in zip("abcd", points, strict=True))
        fold = Fold(
            line=OnEdge(edge=f"{wall}.a"),
            parent="floor",
            parent_line=OnEdge(edge=f"floor.{number}"),
            fold_deg=90.0 + lean_deg,
        )
        surfaces.append(Surface(id=wall, name=wall, corners=corners, fold=fold))
    hang = Fold(
        line=OnEdge(edge="ceiling.0"), parent="wall0", parent_line=OnEdge(edge="wall0.c"), fold_deg=90.0 - lean_deg
    )
    ceiling = _regular("ceiling", sides, top_mm)
    surfaces.append(Surface(id="ceiling", name="ceiling", role="ceiling", corners=ceiling, fold=hang))
    return tuple(surfaces)


def _regular(surface: str, sides: int, side_mm: float) -> tuple[Corner, ...]:
    radius = side_mm / (2 * sin(pi / sides))
    turn = 2 * pi / sides
    return tuple(
        Corner(id=f"{surface}.{i}", at_mm=(radius * cos(i * turn), radius * sin(i * turn))) for i in range(sides)
    )
