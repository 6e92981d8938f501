"""Underlays: scale a picture by two points and a typed distance, level it, lock it, and draw from lines of a DXF."""

from math import atan2, degrees

from msgspec.structs import replace

from core.edits.change import get, put, refuse, replaced
from core.edits.drawn import stored_image
from core.geometry.motion import turn
from core.geometry.plane import Point, distance_mm
from core.model import Picture, Plan, Surface

#: Two points nearer than this in mm of the sheet cannot be picked apart.
NEAREST_MM = 1.0
LEAST_MM_PER_PIXEL, MOST_MM_PER_PIXEL = 1e-3, 1e3


def scale_picture(plan: Plan, picture_id: str, p_mm: Point, q_mm: Point, distance: float) -> Plan:
    """Scale picture so that two of its points, in mm of its surface, lie a typed distance apart. The first stays."""
    picture = _open(plan, picture_id)
    now = distance_mm(p_mm, q_mm)
    if now < NEAREST_MM:
        refuse("The two points lie on each other; pick them further apart.")
    if not distance > 0:
        refuse(f"The distance must be more than 0 mm; {distance:g} mm is not.")
    share = distance / now
    scale = picture.mm_per_pixel * share
    if not LEAST_MM_PER_PIXEL <= scale <= MOST_MM_PER_PIXEL:
        refuse(f"A pixel would be {scale:g} mm wide; check the distance.")
    x, y = picture.at_mm
    at = (p_mm[0] + (x - p_mm[0]) * share, p_mm[1] + (y - p_mm[1]) * share)
    return put(plan, "pictures", replaced(picture, at_mm=at, mm_per_pixel=scale))


def fit_picture(plan: Plan, picture_id: str, size_px: tuple[int, int], share: float = 0.8) -> Plan:
    """Fit picture into the middle of its surface, as large as `share` of it, until somebody scales it."""
    picture = _open(plan, picture_id)
    surface: Surface = get(plan, "surfaces", picture.surface)
    points = [corner.at_mm for corner in surface.corners]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    wide, tall = size_px
    scale = share * min((right - left) / wide, (high - low) / tall)
    if not LEAST_MM_PER_PIXEL <= scale <= MOST_MM_PER_PIXEL:
        refuse(f"{surface.name} is too small for a picture.")
    at = ((left + right - wide * scale) / 2, (low + high - tall * scale) / 2)
    return put(plan, "pictures", replaced(picture, at_mm=at, mm_per_pixel=scale))


def exchange_image(
    plan: Plan, picture_id: str, data: bytes, media_type: str, at_mm: Point, mm_per_pixel: float
) -> Plan:
    """Straighten picture: other pixels for the same picture, upright on its surface, with their place and scale. Pixels
    that nothing shows any more are dropped."""
    picture = _open(plan, picture_id)
    plan, image_id = stored_image(plan, data, media_type, f"The picture “{picture.name or picture.id}”")
    new = replaced(picture, image=image_id, at_mm=at_mm, mm_per_pixel=float(mm_per_pixel), turn_deg=0.0)
    plan = put(plan, "pictures", new)
    used = {each.image for each in plan.pictures} | {each.image for each in plan.photos}
    return replace(plan, images=tuple(image for image in plan.images if image.id in used))


def pixel_of(picture: Picture, height_px: int, p_mm: Point) -> Point:
    """The pixel of a picture, from its upper left corner with y down, under a point of its surface."""
    x, y = turn(picture.at_mm, -picture.turn_deg).at(p_mm)
    dx, dy = x - picture.at_mm[0], y - picture.at_mm[1]
    return dx / picture.mm_per_pixel, height_px - dy / picture.mm_per_pixel


def place_of_pixel(picture: Picture, height_px: int, pixel: Point) -> Point:
    """The point of its surface under which a pixel of a picture lies."""
    dx, dy = pixel[0] * picture.mm_per_pixel, (height_px - pixel[1]) * picture.mm_per_pixel
    return turn(picture.at_mm, picture.turn_deg).at((picture.at_mm[0] + dx, picture.at_mm[1] + dy))


def level_picture(plan: Plan, picture_id: str, p_mm: Point, q_mm: Point) -> Plan:
    """Level picture: turn it about the first point until the second lies level with it, or upright over it."""
    picture = _open(plan, picture_id)
    if distance_mm(p_mm, q_mm) < NEAREST_MM:
        refuse("The two points lie on each other; pick them further apart.")
    slope = degrees(atan2(q_mm[1] - p_mm[1], q_mm[0] - p_mm[0]))
    by_deg = round(slope / 90.0) * 90.0 - slope
    moved = turn(p_mm, by_deg).at(picture.at_mm)
    turned = round((picture.turn_deg + by_deg) % 360.0, 6)
    return put(plan, "pictures", replaced(picture, at_mm=moved, turn_deg=turned))


def set_opacity(plan: Plan, picture_id: str, opacity: float) -> Plan:
    """Set opacity of a picture, 0 to 1."""
    picture: Picture = get(plan, "pictures", picture_id)
    if not 0 <= opacity <= 1:
        refuse(f"Opacity is between 0 and 1; {opacity:g} is not.")
    return put(plan, "pictures", replaced(picture, opacity=float(opacity)))


def lock_picture(plan: Plan, picture_id: str, locked: bool = True) -> Plan:
    """Lock picture, so that nothing moves it by mistake; or free it."""
    picture: Picture = get(plan, "pictures", picture_id)
    return put(plan, "pictures", replaced(picture, locked=locked))


def _open(plan: Plan, picture_id: str) -> Picture:
    picture: Picture = get(plan, "pictures", picture_id)
    if picture.locked:
        refuse(f"The picture “{picture.name or picture.id}” is locked; unlock it first.")
    return picture
