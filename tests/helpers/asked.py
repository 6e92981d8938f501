"""What a window asks, and an edit that shows in its name."""

from PySide6.QtWidgets import QLabel

from app.dialogs.ask import Question
from app.window import Window
from core.edits.records import set_plan


def question(window: Window) -> Question:
    (asked,) = [each for each in window.findChildren(Question) if each.isVisible()]
    return asked


def told(dialog: Question) -> str:
    return " ".join(label.text() for label in dialog.findChildren(QLabel))


def edit(window: Window, name: str) -> None:
    window.session.commit("Rename", set_plan(window.session.plan, name=name))
