"""Qt's mouse and key events as the plain records that tools get."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QMouseEvent

from app.tools.events import Button, KeyEvent, Modifier

_BUTTONS: dict[Qt.MouseButton, Button] = {
    Qt.MouseButton.LeftButton: "left",
    Qt.MouseButton.MiddleButton: "middle",
    Qt.MouseButton.RightButton: "right",
}
_MODIFIERS: tuple[tuple[Qt.KeyboardModifier, Modifier], ...] = (
    (Qt.KeyboardModifier.ShiftModifier, "shift"),
    (Qt.KeyboardModifier.ControlModifier, "ctrl"),
    (Qt.KeyboardModifier.AltModifier, "alt"),
)
#: Keys that mean something while they are held.
HELD: dict[int, Modifier] = {Qt.Key.Key_Shift: "shift", Qt.Key.Key_Control: "ctrl", Qt.Key.Key_Alt: "alt"}
#: Names that a tool reads; everything else is called as Qt writes it in a shortcut.
_NAMES: dict[int, str] = {
    Qt.Key.Key_Escape: "Escape",
    Qt.Key.Key_Return: "Return",
    Qt.Key.Key_Enter: "Return",
    Qt.Key.Key_Backspace: "Backspace",
    Qt.Key.Key_Delete: "Delete",
    Qt.Key.Key_Tab: "Tab",
    Qt.Key.Key_Backtab: "Backtab",
    Qt.Key.Key_Insert: "Insert",
    Qt.Key.Key_Left: "Left",
    Qt.Key.Key_Right: "Right",
    Qt.Key.Key_Up: "Up",
    Qt.Key.Key_Down: "Down",
}


def button_of(event: QMouseEvent) -> Button:
    return _BUTTONS.get(event.button(), "none")


def modifiers_of(held: Qt.KeyboardModifier) -> frozenset[Modifier]:
    return frozenset(name for flag, name in _MODIFIERS if held & flag)


def key_event(event: QKeyEvent) -> KeyEvent:
    name = _NAMES.get(event.key()) or QKeySequence(event.key()).toString()
    if name == "Tab" and event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
        name = "Backtab"  # some systems send the one, some the other
    return KeyEvent(key=name, text=event.text(), modifiers=modifiers_of(event.modifiers()))
