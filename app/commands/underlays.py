"""Underlays: a photo, scan, page or drawing under the sheet, made true to scale, to draw after."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog

from app.commands.action import Action, no_surface
from app.commands.bench import Bench
from app.dialogs.ask import tell_problem
from core.errors import FileProblem
from core.files.limits import IMPORT_BYTES
from core.model import Picture, Plan, Point, Surface, find

if TYPE_CHECKING:
    # Imported when an underlay is placed: the first window does not wait for numpy.
    from app.render.underlay import Kept, Straight
    from core.files.underlays import DxfDrawing, PdfPage, PdfPicture

FILTER = "Underlays (*.png *.jpg *.jpeg *.pdf *.dxf);;All files (*)"


# --- which one -------------------------------------------------------------------------------------------------------


def chosen(bench: Bench) -> str:
    """The picture that is selected, or the only one there is; "" for none."""
    selected = bench.selected("pictures")
    if selected:
        return selected[0]
    return bench.plan.pictures[0].id if len(bench.plan.pictures) == 1 else ""


def _no_picture(bench: Bench) -> str:
    if not bench.plan.pictures:
        return "There is no underlay yet."
    return "" if chosen(bench) else "Select an underlay first, on the sheet or in the outline."


def _no_free_picture(bench: Bench) -> str:
    told = _no_picture(bench)
    if told:
        return told
    return "The underlay is locked; unlock it first." if _picture(bench).locked else ""


def _picture(bench: Bench) -> Picture:
    found: Picture = find(bench.plan, "pictures", chosen(bench))
    return found


# --- place -----------------------------------------------------------------------------------------------------------


def ask_place(bench: Bench) -> None:
    folder = str(bench.session.path.parent) if bench.session.path is not None else ""
    dialog = QFileDialog(bench.window, "Place an underlay", folder, FILTER)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
    dialog.fileSelected.connect(lambda path: place_file(bench, Path(path)))
    dialog.open()


def place_file(bench: Bench, path: Path) -> None:
    """Place a file under the surface that is selected, or the one in view; what hinders is told."""
    told = no_surface(bench)
    if told:
        bench.say(told)
        return
    surface = target(bench)
    failed = partial(tell_problem, bench.window, f"“{path.name}” cannot be placed.")
    bench.say(f"Reading {path.name} …")
    match path.suffix.lower():
        case ".pdf":
            from core.files.underlays import pdf_pages

            bench.in_background(
                lambda: (data := _read(path), pdf_pages(data, path.name)),
                lambda found: _ask_page(bench, surface, path, *found),
                failed,
            )
        case ".dxf":
            from core.files.underlays import read_dxf

            bench.in_background(
                lambda: read_dxf(_read(path), path.name), partial(_ask_unit, bench, surface, path), failed
            )
        case _:
            from app.render.underlay import kept_picture

            bench.in_background(
                lambda: kept_picture(_read(path), path.name), partial(_place, bench, surface, path, None), failed
            )


def target(bench: Bench) -> str:
    """The surface that is selected, or on which something selected lies, else the one in the middle of the view, else
    the floor."""
    plan = bench.plan
    for each in bench.session.selection:
        for collection in ("surfaces", "devices", "openings", "boxes", "pictures", "panels", "ribs"):
            for record in getattr(plan, collection):
                if record.id == each:
                    return str(record.id if collection == "surfaces" else record.surface)
    middle = bench.view.mapToScene(bench.view.viewport().rect().center())
    spot = bench.desk.spot((middle.x(), middle.y()))
    floor: Surface = next((s for s in plan.surfaces if s.fold is None), plan.surfaces[0])
    return spot[0] if spot is not None else floor.id


def _read(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size > IMPORT_BYTES:
            raise FileProblem(f"the file has {size / 2**20:.0f} MB", path.name, f"at most {IMPORT_BYTES // 2**20} MB")
        return path.read_bytes()
    except OSError as error:
        raise FileProblem(f"the file cannot be read: {error.strerror or error}", str(path)) from error


def _ask_page(bench: Bench, surface: str, path: Path, data: bytes, pages: "tuple[PdfPage, ...]") -> None:
    from app.dialogs.underlay import PdfDialog
    from core.files.underlays import pdf_picture

    if not pages:
        tell_problem(bench.window, f"“{path.name}” cannot be placed.", FileProblem("the PDF has no pages", path.name))
        return

    def drawn(number: int, scale: float) -> None:
        def done(page: "PdfPicture") -> None:
            from app.render.underlay import kept_picture

            _place(bench, surface, path, page.mm_per_pixel * scale, kept_picture(page.data, path.name))

        bench.in_background(
            lambda: pdf_picture(data, number, path.name),
            done,
            partial(tell_problem, bench.window, f"“{path.name}” cannot be placed."),
        )

    PdfDialog(bench.window, path.name, pages, drawn).open()


def _ask_unit(bench: Bench, surface: str, path: Path, drawing: "DxfDrawing") -> None:
    if drawing.unit:
        _draw(bench, surface, path, drawing, 1.0)
        return
    from app.dialogs.underlay import DxfDialog

    DxfDialog(bench.window, path.name, drawing, partial(_draw, bench, surface, path, drawing)).open()


def _draw(bench: Bench, surface: str, path: Path, drawing: "DxfDrawing", unit_mm: float) -> None:
    from app.render.underlay import drawn_dxf

    def done(found: "tuple[Kept, float]") -> None:
        _place(bench, surface, path, found[1] * unit_mm, found[0])
        if drawing.left_out:
            kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(drawing.left_out.items())[:4])
            bench.say(f"{path.name} is placed true to scale. Not drawn: {kinds}.")

    bench.in_background(
        lambda: drawn_dxf(drawing, path.name),
        done,
        partial(tell_problem, bench.window, f"“{path.name}” cannot be placed."),
    )


def _place(bench: Bench, surface: str, path: Path, mm_per_pixel: float | None, kept: "Kept") -> None:
    """Lay it in the middle of the surface: true where its scale is known, else as large as fits, to be scaled."""
    from core.edits.drawn import place_picture
    from core.edits.underlays import fit_picture
    from core.geometry.edges import outline_of
    from core.geometry.polygon import centre

    if all(each.id != surface for each in bench.plan.surfaces):
        bench.say(f"The surface is gone; {path.name} was not placed.")
        return
    placed = ""

    def edit(plan: Plan) -> Plan:
        nonlocal placed
        scale = mm_per_pixel or 1.0
        x, y = centre(outline_of(find(plan, "surfaces", surface)))
        at = (x - kept.width_px * scale / 2, y - kept.height_px * scale / 2)
        plan, placed = place_picture(plan, surface, kept.data, kept.media_type, at, scale, path.stem[:80] or None)
        return plan if mm_per_pixel else fit_picture(plan, placed, (kept.width_px, kept.height_px))

    if not bench.attempt(f"Place {path.name}", edit):
        return
    bench.session.select((placed,))
    if mm_per_pixel:
        bench.say(f"{path.name} is placed true to scale; drag it where it belongs, then lock it.")
    else:
        scale(bench)


# --- make it true ----------------------------------------------------------------------------------------------------


def scale(bench: Bench) -> None:
    from app.tools.underlay import ScaleUnderlayTool

    bench.pointer.take_tool("scale-underlay", ScaleUnderlayTool(bench.desk, chosen(bench)))


def level(bench: Bench) -> None:
    from app.tools.underlay import LevelUnderlayTool

    bench.pointer.take_tool("level-underlay", LevelUnderlayTool(bench.desk, chosen(bench)))


def straighten(bench: Bench) -> None:
    from app.tools.underlay import StraightenTool

    picture = chosen(bench)
    bench.pointer.take_tool("straighten", StraightenTool(bench.desk, picture, partial(_straighten, bench, picture)))


def _straighten(bench: Bench, picture_id: str, corners: tuple[Point, ...], wide_mm: float, high_mm: float) -> None:
    """Work out the straight picture beside the window, then put it where the middle of the rectangle was."""
    from app.render.underlay import straightened
    from core.edits.underlays import pixel_of
    from core.files.pictures import look_at_picture
    from core.geometry.polygon import centre

    picture: Picture = find(bench.plan, "pictures", picture_id)
    image = find(bench.plan, "images", picture.image)
    height = look_at_picture(image.data, picture.name).height_px
    pixels = [pixel_of(picture, height, corner) for corner in corners]
    name = picture.name or picture.id
    bench.say(f"Straightening {name} …")
    bench.in_background(
        lambda: straightened(image.data, pixels, wide_mm, high_mm, name),
        partial(_straight, bench, picture_id, centre(corners)),
        partial(tell_problem, bench.window, f"“{name}” stays as it is."),
    )


def _straight(bench: Bench, picture_id: str, middle_mm: Point, found: "Straight") -> None:
    from core.edits.underlays import exchange_image, place_of_pixel

    def edit(plan: Plan) -> Plan:
        picture: Picture = find(plan, "pictures", picture_id)
        plan = exchange_image(
            plan, picture_id, found.kept.data, found.kept.media_type, picture.at_mm, found.mm_per_pixel
        )
        picture = find(plan, "pictures", picture_id)
        there = place_of_pixel(picture, found.kept.height_px, found.middle_px)
        at = (picture.at_mm[0] + middle_mm[0] - there[0], picture.at_mm[1] + middle_mm[1] - there[1])
        return exchange_image(plan, picture_id, found.kept.data, found.kept.media_type, at, found.mm_per_pixel)

    if all(picture.id != picture_id for picture in bench.plan.pictures):
        bench.say("The underlay is gone; nothing was straightened.")
    elif bench.attempt("Straighten photo", edit):
        bench.session.select((picture_id,))
        bench.say("The photo is straight and true to scale. Drag it where it belongs, then lock it.")


# --- opacity, lock ---------------------------------------------------------------------------------------------------


def fade(bench: Bench, by: float) -> None:
    from core.edits.underlays import set_opacity

    picture = _picture(bench)
    opacity = round(min(max(picture.opacity + by, 0.1), 1.0), 2)
    bench.attempt(f"Opacity of {picture.name or picture.id}", lambda plan: set_opacity(plan, picture.id, opacity))


def lock(bench: Bench) -> None:
    from core.edits.underlays import lock_picture

    picture = _picture(bench)
    words = "Unlock" if picture.locked else "Lock"
    bench.attempt(
        f"{words} {picture.name or picture.id}", lambda plan: lock_picture(plan, picture.id, not picture.locked)
    )


def _is_locked(bench: Bench) -> bool:
    return bool(chosen(bench)) and _picture(bench).locked


ACTIONS = (
    Action("underlay", "Place underlay…", "Draw", ask_place, "Ctrl+Shift+U", no_surface, parted=True,
           stages=("survey",), group="Underlay"),
    Action("scale-underlay", "Scale underlay", "Draw", scale, "", _no_free_picture, stages=("survey",),
           group="Underlay"),
    Action("level-underlay", "Level underlay", "Draw", level, "", _no_free_picture, stages=("survey",),
           group="Underlay"),
    Action("straighten", "Straighten photo", "Draw", straighten, "", _no_free_picture, stages=("survey",),
           group="Underlay"),
    Action("fainter", "Underlay fainter", "Draw", lambda b: fade(b, -0.15), "", _no_picture, stages=("survey",),
           group="Underlay"),
    Action("stronger", "Underlay stronger", "Draw", lambda b: fade(b, 0.15), "", _no_picture, stages=("survey",),
           group="Underlay"),
    Action("lock-underlay", "Lock underlay", "Draw", lock, "", _no_picture, is_on=_is_locked, stages=("survey",),
           group="Underlay"),
)  # fmt: skip
