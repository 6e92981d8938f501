"""Marks that say "this one": an outline around areas, a glow along lines."""

from collections.abc import Sequence

from app.canvas.extent import picture_corners
from core.pages.marks import AnyMark, AreaMark, CircleMark, ImageMark, LineMark, PathMark

#: Pixels that the glow of a line reaches beyond it on either side.
GLOW_PX = 3.0


def emphasis_marks(marks: Sequence[AnyMark], style: str, mm_per_px: float) -> tuple[AnyMark, ...]:
    """Marks over the body of one record. `style` is "select" or "hover"; ticks and labels are left alone."""
    halo = f"{style}:halo" if style == "select" else style
    found: list[AnyMark] = []
    for mark in marks:
        family = mark.style.partition(":")[0]
        if family in ("tick", "pill", "zone") and mark.style != "zone":
            continue
        match mark:
            case PathMark() if family != "bundle_gap":
                wide = (mark.width_mm or 0.0) + 2 * GLOW_PX * mm_per_px
                found.append(PathMark(style=halo, points_mm=mark.points_mm, radius_mm=mark.radius_mm, width_mm=wide))
            case LineMark() if family != "device":
                wide = (mark.width_mm or 0.0) + 2 * GLOW_PX * mm_per_px
                found.append(LineMark(style=halo, points_mm=mark.points_mm, closed=mark.closed, width_mm=wide))
            case ImageMark():
                found.append(LineMark(style=style, points_mm=picture_corners(mark), closed=True))
            case AreaMark():
                found.append(LineMark(style=style, points_mm=mark.outline_mm, closed=True))
            case CircleMark() if mark.filled:
                reach = mark.radius_mm + 1.5 * mm_per_px
                found.append(CircleMark(style=style, centre_mm=mark.centre_mm, radius_mm=reach))
            case _:
                pass
    return tuple(found)
