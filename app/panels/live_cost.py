"""What a drag costs, live in a corner of the sheet: metres, volts, size steps, kilograms and money against before."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

from app.session import Session

#: Distance from the corner of the sheet.
MARGIN_PX = 14


class LiveCost(QLabel):
    """There while a preview is shown whose estimate is known; routes are planned again on release, and that is said."""

    def __init__(self, session: Session, sheet: QWidget) -> None:
        super().__init__(sheet)
        self.setObjectName("liveCost")
        self.setAccessibleName("What the change costs")
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._session, self._sheet = session, sheet
        session.plan_changed.connect(self._follow)
        session.analysis_changed.connect(self._follow)
        self.hide()

    def _follow(self, *_: object) -> None:
        session = self._session
        before = session.settled
        after = session.analysis if session.previewing and before is not None else None
        if after is None or before is None or after is before or after.plan is not session.shown:
            # A frame that is not worked out yet keeps the last answer; the end of the drag takes it away.
            self.setVisible(self.isVisible() and session.previewing)
            return
        # Imported when something is dragged: the first window does not wait for the studies.
        from core.studies.difference import difference

        words = difference(before, after).words
        self.setText(f"{words}  ·  same routes" if words != "no change" else words)
        self.adjustSize()
        self.move(MARGIN_PX, self._sheet.height() - self.height() - MARGIN_PX)
        self.show()
