"""The picture of what to measure, beside the form of a new vehicle."""

from PySide6.QtCore import QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.render.painter import paint
from app.theme import Theme
from core.edits.measurements import Measurements
from core.pages.measuring_picture import measuring_picture

#: Pixels of one millimetre of the picture: its lettering is then as large as that of the form.
PX_PER_MM = 4.0


class MeasuringPicture(QWidget):
    def __init__(self, theme: Theme, form: Measurements, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self._form, self._chosen = form, ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(QSize(420, 380))
        self.setAccessibleName("Side, plan and rear view with numbered measures")

    def show_form(self, form: Measurements, chosen: str) -> None:
        """`chosen` is the key of the field that is lit."""
        self._form, self._chosen = form, chosen
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        wide, high = self.width() / PX_PER_MM, self.height() / PX_PER_MM
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.translate(0, self.height())
            painter.scale(PX_PER_MM, -PX_PER_MM)
            paint(
                painter,
                measuring_picture(self._form, wide, high, chosen=self._chosen),
                self._theme,
                px_per_mm=PX_PER_MM,
            )
