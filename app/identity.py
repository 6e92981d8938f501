"""The name under which Qt keeps settings, state and window placement."""

from PySide6.QtCore import QCoreApplication

from core import __version__


def name_application() -> None:
    """Before anything asks for a folder of settings or state."""
    QCoreApplication.setApplicationName("Loomwright")
    QCoreApplication.setApplicationVersion(__version__)
