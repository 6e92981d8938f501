"""A monkey at the real window: `python3 -m tests.soak.monkey [STEPS] [SEED]`.

It moves, clicks, drags, turns the wheel, types, takes tools, runs actions, answers dialogs and menus, edits facts, and
undoes and redoes, all by real events, chosen by a random number generator. Every so often, and when it leaves a window:
the file reads back equal, undoing everything and redoing it ends at the very same plans, and the analysis that
remembers its stages says what one from scratch says. No exception may reach the last resort, no warning of Python or Qt
may be said, no thread may be left, and windows that were closed may not pile up in memory. The same seed does the same.
"""

import gc
import os
import random
import shutil
import sys
import tempfile
import threading
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import NamedTuple

from PySide6.QtCore import (
    QCoreApplication,
    QEvent,
    QMessageLogContext,
    QPoint,
    QPointF,
    Qt,
    QTimer,
    QtMsgType,
    qInstallMessageHandler,
)
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QDialog,
    QFileDialog,
    QLineEdit,
    QMenu,
    QMessageBox,
    QPlainTextEdit,
    QWidget,
)

from app.commands.table import ACTIONS
from app.main import make_application
from app.settings import Settings
from app.window import Window
from app.windows import make_window
from core.analysis.engine import analyse
from core.files.codec import decode, encode, read_plan
from core.model import Plan, Point
from core.resources import samples
from tests.helpers.vans import shell
from tests.helpers.wired import wired
from tests.soak.work import RESULTS, said

Left, Right, Middle = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton, Qt.MouseButton.MiddleButton
NONE, SHIFT, CTRL, ALT = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
)
HELD = (NONE, NONE, NONE, NONE, SHIFT, CTRL, ALT)
KEYS = (
    Qt.Key.Key_Escape, Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Space, Qt.Key.Key_Delete, Qt.Key.Key_Backspace,
    Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Home, Qt.Key.Key_PageDown,
)  # fmt: skip
TEXTS = (
    "", "0", "1", "250", "1200", "-50", "1e400", "2,5", "4 ft 6 1/2 in", "12 V", "30 A", "abc", "Küche", "=1+1", "(",
    "99999999999", "0.0001", "1/0", "45", "90", "x" * 300, "日本語", "\ud83d\ude90", "50 %", "2.5", "10 mm2", ";",
)  # fmt: skip
#: Steps in one window, and steps between two looks at everything.
STEPS_OF_A_WINDOW, LOOK_EVERY = 250, 50
#: Actions that end the window.
NEVER = frozenset({"close", "quit", "new-window", "open-window"})


class Fault(NamedTuple):
    """Something that must not happen: what, where the monkey was, and what it had done just before."""

    what: str
    where: str
    before: tuple[str, ...]


class Watch:
    """Hears every exception nobody caught and every warning; `where` and `recent` are the monkey's."""

    def __init__(self) -> None:
        self.faults: dict[str, Fault] = {}
        self.counts: Counter[str] = Counter()
        self.where = ""
        self.recent: list[str] = []

    def note(self, key: str, what: str) -> None:
        self.counts[key] += 1
        if key not in self.faults:
            self.faults[key] = Fault(what, self.where, tuple(self.recent[-8:]))
            print(f"--- {self.where}, after {', '.join(self.recent[-8:])}\n{what}", file=sys.stderr, flush=True)

    def caught(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        place = "".join(traceback.format_tb(trace)[-1:])
        self.note(f"{kind.__name__} {place}", "".join(traceback.format_exception(kind, error, trace)))

    def caught_on_thread(self, args: threading.ExceptHookArgs) -> None:
        self.caught(args.exc_type, args.exc_value or args.exc_type(), args.exc_traceback)

    def warned(self, message: Warning | str, *_: object, **__: object) -> None:
        self.note(f"warning {message}", "".join(traceback.format_stack()[-6:]) + str(message))

    def qt_said(self, kind: QtMsgType, _context: QMessageLogContext, message: str) -> None:
        if kind != QtMsgType.QtDebugMsg and "This plugin does not support" not in message:
            self.note(f"Qt {message[:60]}", message)

    @contextmanager
    def listening(self) -> Iterator[None]:
        hooks = sys.excepthook, threading.excepthook, warnings.showwarning
        sys.excepthook, warnings.showwarning = self.caught, self.warned  # type: ignore[assignment]
        threading.excepthook = self.caught_on_thread
        before = qInstallMessageHandler(self.qt_said)
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("always")
                warnings.showwarning = self.warned  # type: ignore[assignment]
                yield
        finally:
            sys.excepthook, threading.excepthook, warnings.showwarning = hooks
            qInstallMessageHandler(before)


class Monkey:
    """At one window, until it is left."""

    def __init__(self, plan: Plan, folder: Path, seed: int, watch: Watch) -> None:
        self.rng = random.Random(seed)
        self.folder = folder
        self.watch = watch
        self.counts: Counter[str] = Counter()
        self.files = 0
        settings = Settings(theme="light", length_unit=self.rng.choice(("mm", "cm", "in")))
        self.window: Window = make_window(settings)
        self.window.resize(1400, 900)
        self.window.show()
        self.window.files.start(plan, drawn=False)
        QApplication.processEvents()
        #: Every committed plan, in the order they came; the same for the same seed.
        self.made: list[Plan] = []
        self.window.session.plan_changed.connect(self._changed)

    def _changed(self, _old: object, new: Plan) -> None:
        if not self.window.session.previewing and (not self.made or self.made[-1] is not new):
            self.made.append(new)

    # --- one step ----------------------------------------------------------------------------------------------------

    def step(self) -> None:
        deed, name = self._deed()
        self.counts[name] += 1
        self.watch.recent.append(name)
        del self.watch.recent[:-30]
        deed()
        QApplication.processEvents()

    def _deed(self) -> tuple[Callable[[], object], str]:
        popup, modal = QApplication.activePopupWidget(), QApplication.activeModalWidget()
        if popup is not None:
            return (lambda: self.in_popup(popup)), f"popup {type(popup).__name__}"
        if isinstance(modal, QDialog):
            return (lambda: self.in_dialog(modal)), f"dialog {type(modal).__name__}"
        loose = [each for each in self.window.findChildren(QDialog) if each.isVisible()]
        if loose and self.rng.random() < 0.5:
            dialog = loose[-1]
            return (lambda: self.in_dialog(dialog)), f"dialog {type(dialog).__name__}"
        deeds: tuple[tuple[Callable[[], object], int], ...] = (
            (self.click, 16), (self.drag, 12), (self.double_click, 3), (self.right_click, 2), (self.key, 10),
            (self.type_on_sheet, 8), (self.tool, 12), (self.stage, 3), (self.action, 8), (self.undo, 5), (self.redo, 4),
            (self.wheel, 2), (self.fact, 8), (self.row, 3), (self.device, 4), (self.escape, 3), (self.hover, 2),
            (self.fill_field, 1),
        )  # fmt: skip
        (deed,) = self.rng.choices([each for each, _ in deeds], [weight for _, weight in deeds])
        return deed, deed.__name__

    def spot(self) -> QPoint:
        """A pixel of the sheet: mostly on something, else anywhere."""
        view, rng = self.window.view, self.rng
        plan = self.window.session.plan
        room = view.viewport().rect()
        if plan.surfaces and rng.random() < 0.8:
            desk = self.window.desk
            surface = rng.choice(plan.surfaces)
            if surface.id in desk.layout.laid:
                at = self._on(surface.id)
                pixel = view.mapFromScene(QPointF(*desk.to_sheet(surface.id, at)))
                if room.contains(pixel):
                    return pixel
        return QPoint(rng.randrange(room.width()), rng.randrange(room.height()))

    def _on(self, surface_id: str) -> Point:
        """A point of a surface, often exactly one that is drawn there."""
        rng, plan = self.rng, self.window.session.plan
        surface = self.window.desk.surface(surface_id)
        drawn = [corner.at_mm for corner in surface.corners]
        drawn += [each.at_mm for each in plan.devices if each.surface == surface_id]
        drawn += [
            p for each in (*plan.boxes, *plan.openings, *plan.zones) if each.surface == surface_id for p in each.outline
        ]
        if rng.random() < 0.5:
            return rng.choice(drawn)
        xs, ys = [x for x, _ in drawn], [y for _, y in drawn]
        return rng.uniform(min(xs), max(xs)), rng.uniform(min(ys), max(ys))

    # --- the sheet ---------------------------------------------------------------------------------------------------

    @property
    def sheet(self) -> QWidget:
        return self.window.view.viewport()

    def hover(self) -> None:
        QTest.mouseMove(self.sheet, self.spot())

    def click(self) -> None:
        at = self.spot()
        QTest.mouseMove(self.sheet, at)
        QTest.mouseClick(self.sheet, self.rng.choice((Left, Left, Left, Left, Middle)), self.rng.choice(HELD), at)

    def double_click(self) -> None:
        QTest.mouseDClick(self.sheet, Left, self.rng.choice(HELD), self.spot())

    def right_click(self) -> None:
        at = self.spot()
        QTest.mouseClick(self.sheet, Right, NONE, at)
        self.window.view.customContextMenuRequested.emit(at)

    def drag(self) -> None:
        start, held = self.spot(), self.rng.choice(HELD)
        button = self.rng.choice((Left, Left, Left, Left, Left, Middle))
        QTest.mouseMove(self.sheet, start)
        QTest.mousePress(self.sheet, button, held, start)
        at = start
        for _ in range(self.rng.randint(1, 5)):
            at = (
                self.spot()
                if self.rng.random() < 0.5
                else at + QPoint(self.rng.randint(-60, 60), self.rng.randint(-60, 60))
            )
            QTest.mouseMove(self.sheet, at)
            QApplication.processEvents()
            if self.rng.random() < 0.05:
                QTest.keyClick(self.window.view, self.rng.choice(KEYS))
        if self.rng.random() < 0.95:  # now and then the release is lost, as when the window manager takes it
            QTest.mouseRelease(self.sheet, button, held, at)

    def wheel(self) -> None:
        at = QPointF(self.spot())
        turn = QPoint(0, self.rng.choice((-360, -120, 120, 360)))
        event = QWheelEvent(
            at, QPointF(self.sheet.mapToGlobal(at.toPoint())), QPoint(), turn, Qt.MouseButton.NoButton,
            self.rng.choice(HELD), Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QCoreApplication.sendEvent(self.sheet, event)

    def key(self) -> None:
        for _ in range(self.rng.randint(1, 3)):
            if self.rng.random() < 0.7:
                QTest.keyClick(self.window.view, self.rng.choice(KEYS), self.rng.choice(HELD))
            else:
                QTest.keyClicks(self.window.view, self.rng.choice("abcdefghijklmnopqrstuvwxyz0123456789,;?"))

    def escape(self) -> None:
        QTest.keyClick(self.window.view, Qt.Key.Key_Escape)

    def type_on_sheet(self) -> None:
        """Digits for the field beside the pointer, and what ends them."""
        view = self.window.view
        QTest.keyClicks(view, self.rng.choice("123456789"))
        field = next(each for each in view.findChildren(QLineEdit) if each.accessibleName() == "Typed dimension")
        if not field.isVisible():
            return
        QTest.keyClicks(field, self.rng.choice(("00", "50", "000", " ft", ",5", "abc", "1200", "0000000", "")))
        if self.rng.random() < 0.4:
            QTest.keyClick(field, Qt.Key.Key_Tab)
            QTest.keyClicks(field, self.rng.choice(("400", "90", "-", "1500", "")))
        QTest.keyClick(field, self.rng.choice((Qt.Key.Key_Return, Qt.Key.Key_Return, Qt.Key.Key_Escape)))

    # --- the window --------------------------------------------------------------------------------------------------

    def tool(self) -> None:
        tools = [each for each in self.window.tools_by_id.values() if each.isEnabled()]
        self._trigger(self.rng.choice(tools))

    def stage(self) -> None:
        QTest.mouseClick(self.rng.choice(list(self.window.stages.buttons.values())), Left)

    def action(self) -> None:
        ids = [row.id for row in ACTIONS if row.id not in NEVER and self.window.actions_by_id[row.id].isEnabled()]
        chosen = self.rng.choice(ids)
        self.watch.recent.append(f"action {chosen}")
        self._trigger(self.window.actions_by_id[chosen])

    def undo(self) -> None:
        for _ in range(self.rng.choice((1, 1, 1, 2, 5))):
            self._trigger(self.window.actions_by_id["undo"])

    def redo(self) -> None:
        for _ in range(self.rng.choice((1, 1, 1, 2, 5))):
            self._trigger(self.window.actions_by_id["redo"])

    def _trigger(self, action: object) -> None:
        action.trigger()  # type: ignore[attr-defined]

    def fact(self) -> None:
        """One field of the facts, as the hand would change it."""
        self._change_one(self.window.facts)

    def fill_field(self) -> None:
        """A field anywhere in the window: searches, filters."""
        self._change_one(self.window)

    def row(self) -> None:
        """A row of the outline, the findings or the shelf."""
        views = [each for each in self.window.findChildren(QAbstractItemView) if self._usable(each)]
        self._click_row(views)

    def _click_row(self, views: list[QAbstractItemView]) -> None:
        if not views:
            return
        view = self.rng.choice(views)
        room = view.viewport().rect()
        at = QPoint(self.rng.randrange(max(1, room.width())), self.rng.randrange(max(1, room.height())))
        press = self.rng.choice((QTest.mouseClick, QTest.mouseClick, QTest.mouseDClick))
        press(view.viewport(), Left, self.rng.choice(HELD), at)

    def device(self) -> None:
        """One of the shelf in hand, laid down with the next click."""
        template = self.rng.choice(self.window.session.library.devices)
        self.window.shelf.taken.emit(template)

    # --- dialogs and menus -------------------------------------------------------------------------------------------

    def in_popup(self, popup: QWidget) -> None:
        if isinstance(popup, QMenu) and self.rng.random() < 0.7:
            never = [self.window.actions_by_id[each] for each in NEVER]
            choices = [a for a in popup.actions() if a.isEnabled() and not a.isSeparator() and a not in never]
            if choices:
                chosen = self.rng.choice(choices)
                self.watch.recent.append(f"menu {chosen.text()}")
                popup.close()
                if chosen.menu() is None:
                    chosen.trigger()
                return
        QTest.keyClick(
            popup, self.rng.choice((Qt.Key.Key_Escape, Qt.Key.Key_Escape, Qt.Key.Key_Down, Qt.Key.Key_Return))
        )
        if QApplication.activePopupWidget() is popup and self.rng.random() < 0.5:
            popup.close()

    def in_dialog(self, dialog: QDialog) -> None:
        if isinstance(dialog, QFileDialog):
            self._in_file_dialog(dialog)
        elif isinstance(dialog, QMessageBox) or self.rng.random() < 0.12:
            QTest.keyClick(dialog, Qt.Key.Key_Escape)
        elif self.rng.random() < 0.25:
            self._click_row([each for each in dialog.findChildren(QAbstractItemView) if self._usable(each)])
        elif self.rng.random() < 0.5:
            self._change_one(dialog)
        else:
            buttons = [each for each in dialog.findChildren(QAbstractButton) if self._usable(each)]
            if buttons:
                chosen = self.rng.choice(buttons)
                self.watch.recent.append(f"button {chosen.text()}")
                QTest.mouseClick(chosen, Left)

    def _in_file_dialog(self, dialog: QFileDialog) -> None:
        if self.rng.random() < 0.4:
            dialog.reject()
            return
        names = dialog.findChild(QLineEdit, "fileNameEdit")
        assert names is not None
        if dialog.acceptMode() == QFileDialog.AcceptMode.AcceptSave:
            self.files += 1
            path = self.folder / f"monkey-{self.files}"
        elif dialog.fileMode() == QFileDialog.FileMode.Directory:
            path = self.folder
        else:
            there = sorted(self.folder.glob("*.loomplan"))
            if not there:
                dialog.reject()
                return
            path = self.rng.choice(there)
        names.setText(str(path))
        QTest.keyClick(names, Qt.Key.Key_Return)
        if dialog.isVisible():
            dialog.reject()

    def _usable(self, widget: QWidget) -> bool:
        return widget.isVisible() and widget.isEnabled() and widget.width() > 2 and widget.height() > 2

    def _change_one(self, within: QWidget) -> None:
        fields = [
            each
            for each in within.findChildren(QWidget)
            if isinstance(each, QLineEdit | QComboBox | QAbstractSpinBox | QAbstractButton | QPlainTextEdit)
            and self._usable(each)
            and not isinstance(each.parentWidget(), QAbstractSpinBox | QComboBox)
        ]
        if within is self.window:
            fields = [each for each in fields if isinstance(each, QLineEdit)]
        if not fields:
            return
        field = self.rng.choice(fields)
        self.watch.recent.append(f"field {field.accessibleName() or field.objectName()}")
        field.setFocus()
        if isinstance(field, QLineEdit):
            text = self.rng.choice(TEXTS)
            if self.rng.random() < 0.8:
                field.selectAll()
                QTest.keyClick(field, Qt.Key.Key_Delete)
            field.insert(text)
            field.textEdited.emit(field.text())
            QTest.keyClick(field, self.rng.choice((Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Escape)))
        elif isinstance(field, QComboBox):
            for _ in range(self.rng.randint(1, 3)):
                QTest.keyClick(field, self.rng.choice((Qt.Key.Key_Down, Qt.Key.Key_Up, Qt.Key.Key_End)))
        elif isinstance(field, QAbstractSpinBox):
            QTest.keyClick(field, self.rng.choice((Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp)))
        elif isinstance(field, QPlainTextEdit):
            QTest.keyClicks(field, self.rng.choice(("a", "1;2;3", "light\t12")))
        else:
            QTest.mouseClick(field, Left)

    # --- what must hold ----------------------------------------------------------------------------------------------

    def look(self) -> None:
        session = self.window.session
        plan = session.plan
        if decode(encode(plan)) != plan:
            self.watch.note("file", "the file does not read back equal")
        staged, scratch = said(session.analysis_now()), said(analyse(plan, session.library, "refined"))
        different = [name for name in RESULTS if staged[name] != scratch[name]]
        if different:
            self.watch.note(f"stages {different}", f"staged is not from scratch: {different}")
        self._back_and_forth(plan)

    def _back_and_forth(self, plan: Plan) -> None:
        """Undo to the beginning and redo again: the very same plans on both ways."""
        session = self.window.session
        later: list[Plan] = []
        session.preview(None)
        while session.can_redo:
            session.redo()
            later.append(session.plan)
        for _ in later:
            session.undo()
        if session.plan is not plan:
            self.watch.note("redo", "redo and undo do not come back to the plan")
        back = [plan]
        while session.can_undo:
            session.undo()
            back.append(session.plan)
        for expected in reversed(back[:-1]):
            session.redo()
            if session.plan is not expected:
                self.watch.note("undo", "undo and redo do not pass the same plans")
                return

    def leave(self) -> None:
        """Close the window as one that was saved, and take it away."""
        window = self.window
        for _ in range(10):
            for popup in filter(None, (QApplication.activePopupWidget(), QApplication.activeModalWidget())):
                popup.close()
            QApplication.processEvents()
        window.session.plan_changed.disconnect(self._changed)
        window.close_now()
        window.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        QApplication.processEvents()


def beginnings() -> tuple[Callable[[], Plan], ...]:
    return (shell, wired, *((lambda path=path: read_plan(path)) for path in samples()))


def one_window(steps: int, seed: int, watch: Watch) -> Monkey:
    """The monkey at a new window for so many steps; it has left again."""
    begin = beginnings()
    folder = Path(tempfile.mkdtemp(prefix="loomwright-monkey-"))
    plan = begin[seed % len(begin)]()
    monkey = Monkey(plan, folder, seed, watch)
    impatient = QTimer()
    impatient.timeout.connect(_answer_boxes)
    impatient.start(300)
    try:
        for number in range(1, steps + 1):
            watch.where = f"seed {seed}, step {number}"
            try:
                monkey.step()
                if number % LOOK_EVERY == 0 or number == steps:
                    monkey.look()
            except Exception:  # noqa: BLE001 - what the monkey itself runs into is a finding too
                kind, error, trace = sys.exc_info()
                assert kind is not None
                assert error is not None
                watch.caught(kind, error, trace)
    finally:
        impatient.stop()
        monkey.leave()
        shutil.rmtree(folder, ignore_errors=True)
    return monkey


def _answer_boxes() -> None:
    """Qt's own boxes ("is a file already") wait in a loop of their own."""
    box = QApplication.activeModalWidget()
    if isinstance(box, QMessageBox):
        box.reject()


def main(steps: int, seed: int) -> int:
    make_application()
    watch, counts = Watch(), Counter[str]()
    started = time.monotonic()
    commits = windows = 0
    objects, resident_mb = [], []
    threads = set(threading.enumerate())
    with watch.listening():
        while counts.total() < steps:
            monkey = one_window(min(STEPS_OF_A_WINDOW, steps - counts.total()), seed * 10_000 + windows, watch)
            counts += monkey.counts
            commits += len(monkey.made)
            windows += 1
            del monkey
            gc.collect()
            objects.append(len(gc.get_objects()))
            resident_mb.append(_resident_mb())
            if windows % 5 == 0:
                spent = time.monotonic() - started
                print(f"{counts.total():,} steps, {spent:.0f} s, {len(watch.faults)} kinds of faults, "
                      f"{objects[-1]:,} objects, {resident_mb[-1]:.0f} MB", flush=True)  # fmt: skip
            left = [each.name for each in threading.enumerate() if each not in threads and each.is_alive()]
            if left:
                watch.note("threads", f"left running: {left}")
    spent = time.monotonic() - started
    print(f"{counts.total():,} steps in {windows} windows from seed {seed} in {spent:.0f} s, {commits:,} plans")
    print(", ".join(f"{name} {count}" for name, count in counts.most_common()))
    marks = [len(objects) * part // 4 for part in range(1, 4)] + [-1]
    print("objects after 25, 50, 75, 100 %: " + ", ".join(f"{objects[each]:,}" for each in marks))
    print("memory after 25, 50, 75, 100 %: " + ", ".join(f"{resident_mb[each]:.0f} MB" for each in marks))
    for key, fault in watch.faults.items():
        print(f"{watch.counts[key]} times, first at {fault.where}: {fault.what.strip().splitlines()[-1]}")
    print(f"{len(watch.faults)} kinds of faults")
    return 1 if watch.faults else 0


def _resident_mb() -> float:
    try:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
    except OSError:
        return 0.0  # only Linux tells it like this
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


if __name__ == "__main__":
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    home = tempfile.mkdtemp(prefix="loomwright-home-")
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "XDG_DATA_HOME"):
        os.environ[name] = home
    code = main(int(sys.argv[1]) if len(sys.argv) > 1 else 5_000, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    shutil.rmtree(home, ignore_errors=True)
    sys.exit(code)
