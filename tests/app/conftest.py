"""The program with one window, behind which its guard stands, and a plan file to open."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from pytestqt.qtbot import QtBot

from app.guard import Guard
from app.settings import Settings
from app.window import Window
from app.windows import Windows
from core.files import encode
from tests.helpers.vans import shell


@pytest.fixture
def windows(qtbot: QtBot) -> Iterator[Windows]:
    made = Windows(Settings(theme="light", autosave_after_s=1.0))
    qtbot.waitExposed(made.open().window)
    yield made
    for guard in tuple(made.guards):
        guard.window.close_now()
    made.close()
    made.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def guard(windows: Windows) -> Guard:
    return windows.guards[0]


@pytest.fixture
def window(guard: Guard) -> Window:
    return guard.window


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "van.loomplan"
    path.write_bytes(encode(shell()))
    return path
