"""A person at the window: real mouse and key events on the sheet and in fields, nothing else."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog, QLineEdit, QPushButton, QToolButton, QWidget
from pytestqt.qtbot import QtBot

from app.settings import Settings
from app.window import Window
from app.windows import make_window
from core.model import Point

Left = Qt.MouseButton.LeftButton


class Hand:
    def __init__(self, qtbot: QtBot, settings: Settings | None = None) -> None:
        self.qtbot = qtbot
        self.window: Window = make_window(settings or Settings(theme="light"))
        self.window.resize(1600, 1000)
        self.window.show()
        qtbot.waitExposed(self.window)
        self.window.activateWindow()
        self.view = self.window.view
        self.view.zoom_to_fit()
        self.actions = 0
        #: Committed plans, to see that every step can be undone.
        self.session = self.window.session

    # --- the sheet ---------------------------------------------------------------------------------------------------

    def px(self, point: Point) -> QPoint:
        """Where a point of the sheet is on the screen; the test fails where that is off the view."""
        at = self.view.mapFromScene(QPointF(*point))
        assert self.view.viewport().rect().contains(at), f"{point} is not in view"
        return at

    def on(self, surface: str, local: Point) -> Point:
        """A point of a surface on the sheet."""
        return self.window.desk.to_sheet(surface, local)

    def move(self, point: Point) -> None:
        QTest.mouseMove(self.view.viewport(), self.px(point))
        self._settle()

    def click(self, point: Point, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        self.actions += 1
        self.move(point)
        QTest.mouseClick(self.view.viewport(), Left, held, self.px(point))
        self._settle()

    def double_click(self, point: Point) -> None:
        self.actions += 1
        QTest.mouseDClick(self.view.viewport(), Left, Qt.KeyboardModifier.NoModifier, self.px(point))
        self._settle()

    def drag(self, start: Point, *through: Point, release: bool = True) -> None:
        self.actions += 1
        self.move(start)
        QTest.mousePress(self.view.viewport(), Left, Qt.KeyboardModifier.NoModifier, self.px(start))
        for point in through:
            QTest.mouseMove(self.view.viewport(), self.px(point))
            self._settle()
        if release:
            self.release(through[-1])

    def release(self, point: Point) -> None:
        QTest.mouseRelease(self.view.viewport(), Left, Qt.KeyboardModifier.NoModifier, self.px(point))
        self._settle()

    def key(self, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        self.actions += 1
        QTest.keyClick(self.view, key, held)
        self._settle()

    def type_in(self, text: str) -> None:
        """Type numbers while drawing: the first digit opens the field; a tab is the Tab key; ends with Return."""
        self.actions += 1
        QTest.keyClicks(self.view, text[0])
        field = self.typed_field()
        assert field.isVisible(), "no field opened for a typed dimension"
        for character in text[1:]:
            if character == "\t":
                QTest.keyClick(field, Qt.Key.Key_Tab)
            else:
                QTest.keyClicks(field, character)
        QTest.keyClick(field, Qt.Key.Key_Return)
        self._settle()

    def typed_field(self) -> QLineEdit:
        return next(edit for edit in self.view.findChildren(QLineEdit) if edit.accessibleName() == "Typed dimension")

    # --- the window --------------------------------------------------------------------------------------------------

    def stage(self, stage: str) -> None:
        self._press(self.window.stages.buttons[stage])

    def tool(self, tool_id: str) -> None:
        """Press a tool's button in the bar of the stage."""
        button = self.window.bar.widgetForAction(self.window.tools_by_id[tool_id])
        assert isinstance(button, QToolButton), f"{tool_id} is not at hand in this stage"
        self._press(button)

    def take_device(self, words: str) -> None:
        """Search the shelf and take the first device found."""
        self.write(self.window.shelf.search, words)

    def write(self, field: QLineEdit, text: str) -> None:
        """Replace the text of a field and press Return."""
        self.write_only(field, text)
        QTest.keyClick(field, Qt.Key.Key_Return)
        self._settle()

    def write_only(self, field: QLineEdit, text: str) -> None:
        """Replace the text of a field of a dialog, without Return."""
        self.actions += 1
        field.setFocus()
        field.selectAll()
        QTest.keyClick(field, Qt.Key.Key_Delete)
        QTest.keyClicks(field, text)

    def field(self, path: str) -> QWidget:
        form = self.window.facts.form
        assert form is not None
        return form.row(path).editor

    def shortcut(self, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.ControlModifier) -> None:
        self.actions += 1
        # What a window manager does when a dialog closes; the offscreen platform has none.
        self.window.activateWindow()
        self._settle()
        QTest.keyClick(self.window, key, held)
        self._settle()

    def dialog(self, kind: type[QDialog]) -> QDialog:
        """The open dialog of a kind."""
        self._settle()
        found = [each for each in self.window.findChildren(kind) if each.isVisible()]
        assert found, f"no {kind.__name__} is open"
        return found[-1]

    def choose_file(self, path: Path) -> None:
        """Answer the open file dialog."""
        dialog = next(each for each in self._tops() if isinstance(each, QFileDialog) and each.isVisible())
        names = dialog.findChild(QLineEdit, "fileNameEdit")
        assert names is not None
        names.clear()
        QTest.keyClicks(names, str(path))
        QTest.keyClick(names, Qt.Key.Key_Return)
        self._settle()

    def press(self, button: QPushButton) -> None:
        self._press(button)

    def _tops(self) -> Sequence[QWidget]:
        return self.window.findChildren(QWidget)

    def _press(self, button: QWidget) -> None:
        self.actions += 1
        assert button.isVisible()
        assert button.isEnabled(), f"{button.accessibleName() or button.objectName()} is greyed out"
        QTest.mouseClick(button, Left)
        self._settle()

    def _settle(self) -> None:
        QApplication.processEvents()


def at_work(qtbot: QtBot, settings: Settings | None = None) -> Iterator[Hand]:
    """A hand at a new window, which is closed without being asked and taken away at the end."""
    hand = Hand(qtbot, settings)
    yield hand
    window = hand.window
    for dialog in window.findChildren(QDialog):
        dialog.close()
    window.session.mark_saved(window.session.path or Path("unsaved.loomplan"))
    window.close()
    window.deleteLater()
    # Outside an event loop nobody else would, and windows would pile up behind the tests.
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
