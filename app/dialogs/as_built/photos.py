"""Photos of the open walls: attached, captioned, pinned to a place, and put to the panel that will cover it."""

from collections.abc import Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QImage, QImageReader, QImageWriter, QPixmap
from PySide6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.dialogs.as_built.work import KEY, Cells, Work, problem_label, say
from core.edits.finishing import attach_photo, set_photo
from core.edits.records import delete
from core.errors import FileProblem
from core.files.limits import PICTURE_BYTES
from core.files.pictures import look_at_picture
from core.model import Photo, Plan
from core.text import counted, mm

SHOWN_PX = 300
QUALITIES = (85, 70, 55, 40, 25)


def load_photo(path: Path) -> tuple[bytes, str, str]:
    """Bytes, media type and day of a PNG or JPEG, turned upright and reduced to what a plan keeps. Raises
    FileProblem for anything else. The day is that of the file."""
    try:
        data, day = path.read_bytes(), date.fromtimestamp(path.stat().st_mtime).isoformat()  # noqa: DTZ012
    except OSError as error:
        raise FileProblem(f"the photo cannot be read: {error.strerror}", str(path)) from error
    info = look_at_picture(data, path.name)
    if info.fits:
        return data, info.media_type, day
    return _reduced(data, QSize(*info.reduced_px), path), "image/jpeg", day


def _reduced(data: bytes, size: QSize, path: Path) -> bytes:
    source = QBuffer()
    source.setData(QByteArray(data))
    source.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(source)
    reader.setAutoTransform(True)
    reader.setScaledSize(size)
    image = reader.read()
    if image.isNull():
        raise FileProblem("the photo cannot be opened", str(path), "a whole PNG or JPEG file")
    for quality in QUALITIES:
        target = QBuffer()
        target.open(QIODevice.OpenModeFlag.WriteOnly)
        writer = QImageWriter(target, QByteArray(b"jpeg"))
        writer.setQuality(quality)
        writer.write(image.convertToFormat(QImage.Format.Format_RGB32))
        small = bytes(target.data().data())
        if len(small) <= PICTURE_BYTES:
            return small
    raise FileProblem("the photo stays too large", str(path), f"at most {PICTURE_BYTES // 2**20} MB")


class PhotosPage(QWidget):
    def __init__(self, parent: QWidget, work: Work) -> None:
        super().__init__(parent)
        self._work = work
        told = QLabel(
            "A photo of each wall before its panel goes up, with a tape measure in it. They are bound into the owner's "
            "book; a photo that is pinned stands on the pages of its surface.", self,
        )  # fmt: skip
        told.setWordWrap(True)
        titles = ("caption", "day", "behind panel", "pinned to")
        self.table = Cells(self, "Photos", titles, typed=(0, 1), wide=(0, 3))
        self.table.itemChanged.connect(self._typed)
        self.table.itemSelectionChanged.connect(self._show)
        self.picture = QLabel(self)
        self.picture.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.picture.setMinimumSize(SHOWN_PX, SHOWN_PX)
        self.picture.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self.picture.setAccessibleName("The photo that is chosen")
        self.panel = Choice(self)
        self.panel.setAccessibleName("Panel of the photo")
        self.panel.activated.connect(self._to_panel)
        self.attach = self._button("Attach photos…", self._ask)
        self.pin = self._button("Pin to what is selected on the sheet", self._pin)
        self.unpin = self._button("Take pin off", self._unpin)
        self.remove = self._button("Remove", self._remove)
        self.problem = problem_label(self)
        middle = QHBoxLayout()
        middle.addWidget(self.table, 1)
        middle.addWidget(self.picture)
        row = QHBoxLayout()
        label = QLabel("behind panel", self)
        label.setObjectName("fieldLabel")
        label.setBuddy(self.panel)
        row.addWidget(self.attach)
        row.addSpacing(12)
        row.addWidget(label)
        row.addWidget(self.panel)
        for widget in (self.pin, self.unpin, self.remove):
            row.addWidget(widget)
        layout = QVBoxLayout(self)
        layout.addWidget(told)
        layout.addLayout(middle, 1)
        layout.addWidget(self.problem)
        layout.addLayout(row)

    def _button(self, words: str, run: Any) -> QPushButton:
        button = QPushButton(words, self)
        button.setAutoDefault(False)
        button.clicked.connect(run)
        return button

    def refresh(self) -> None:
        plan = self._work.analysis().plan
        panels = {panel.id: panel.name for panel in plan.panels}
        surfaces = {surface.id: surface.name for surface in plan.surfaces}
        now = self.panel.currentData()
        self.panel.clear()
        self.panel.addItem("none", "")
        for key, name in panels.items():
            self.panel.addItem(name, key)
        self.panel.setCurrentIndex(max(0, self.panel.findData(now)))
        self.table.show_rows(
            [(row.id, (row.caption, row.taken_on, panels.get(row.panel or "", ""), _pin_words(row, surfaces)))
             for row in plan.photos]
        )  # fmt: skip
        self._show()

    def _show(self) -> None:
        chosen = self.table.chosen()
        plan = self._work.analysis().plan
        photo = next((row for row in plan.photos if row.id in chosen), None)
        image = next((row for row in plan.images if photo is not None and row.id == photo.image), None)
        pixmap = QPixmap()
        if image is None or not pixmap.loadFromData(image.data):
            self.picture.setPixmap(QPixmap())
            self.picture.setText("No photo is chosen." if photo is None else "This photo cannot be shown.")
        else:
            keep, smooth = Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
            self.picture.setPixmap(pixmap.scaled(SHOWN_PX, SHOWN_PX, keep, smooth))
        if photo is not None:
            self.panel.setCurrentIndex(max(0, self.panel.findData(photo.panel or "")))

    def _ask(self) -> None:
        dialog = QFileDialog(self, "Attach photos", "", "Photos (*.jpg *.jpeg *.png)")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        dialog.filesSelected.connect(self.attach_files)
        dialog.open()

    def attach_files(self, paths: Sequence[str]) -> None:
        """Attach these files, to the panel that is chosen; those that cannot be read are told, the others come in."""
        panel = str(self.panel.currentData() or "") or None
        photos, problems = [], []
        for path in map(Path, paths):
            try:
                photos.append((*load_photo(path), path.stem))
            except FileProblem as problem:
                problems.append(str(problem))

        def edit(plan: Plan) -> Plan:
            for data, media_type, day, name in photos:
                plan, _ = attach_photo(plan, data, media_type, panel=panel, caption=name, taken_on=day)
            return plan

        if photos:
            problems.append(self._work.change(f"Attach {counted(len(photos), 'photo')}", edit))
            self.refresh()
            self.table.choose([row.id for row in self._work.analysis().plan.photos[-len(photos) :]])
        say(self.problem, " ".join(filter(None, problems)))

    def _typed(self, item: QTableWidgetItem) -> None:
        field = ("caption", "taken_on")[item.column()]
        self._set({field: item.text().strip()}, [str(item.data(KEY))])

    def _to_panel(self) -> None:
        self._set({"panel": self.panel.currentData() or None})

    def _pin(self) -> None:
        place = self._work.place()
        if place is None:
            say(self.problem, "Nothing with a place is selected on the sheet: select a device, node or channel there.")
            return
        self._set({"surface": place[0], "at_mm": place[1]})

    def _unpin(self) -> None:
        self._set({"surface": None, "at_mm": (0.0, 0.0)})

    def _set(self, changes: dict[str, Any], photos: Sequence[str] | None = None) -> None:
        photos = self.table.chosen() if photos is None else photos
        if not photos:
            say(self.problem, "Choose a photo first.")
            return

        def edit(plan: Plan) -> Plan:
            for photo in photos:
                plan = set_photo(plan, photo, **changes)
            return plan

        problem = self._work.change(f"Set {counted(len(photos), 'photo')}", edit)
        self.refresh()
        say(self.problem, problem)

    def _remove(self) -> None:
        chosen = self.table.chosen()
        if not chosen:
            say(self.problem, "Choose a photo first.")
            return
        problem = self._work.change(f"Remove {counted(len(chosen), 'photo')}", partial(_without, chosen=chosen))
        self.refresh()
        say(self.problem, problem)


def _without(plan: Plan, chosen: Sequence[str]) -> Plan:
    return delete(plan, chosen)[0]


def _pin_words(row: Photo, surfaces: dict[str, str]) -> str:
    if row.surface is None:
        return ""
    return f"{surfaces.get(row.surface, row.surface)} at {mm(row.at_mm[0])}, {mm(row.at_mm[1])}"
