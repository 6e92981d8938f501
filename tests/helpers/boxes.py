"""Bodies made of folded surfaces, for tests."""

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
