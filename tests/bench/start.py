"""How long the first window takes, against a bare Qt window: `python3 -m tests.bench.start`.

Processor seconds of a process from its birth to the frame that is on the screen, the median of some, with settings,
state and cache of its own. Python may keep what it compiled, as it does where the program is installed; the first run
of each, which fills that, is not counted.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
STARTS = 7
AIM = 1.5

END = """
import os, sys
sys.stdout.flush()
os._exit(0)
"""
_SHOWN = """
from PySide6.QtCore import QTimer
QTimer.singleShot(0, application.quit)
application.exec()
"""
BARE = f"""
from PySide6.QtWidgets import QApplication, QMainWindow
application = QApplication([])
window = QMainWindow()
window.resize(1440, 900)
window.show()
{_SHOWN}{END}"""
SIGN = f"""
from app.main import first_sign, make_application
application = make_application()
sign = first_sign(dark=False)
{END}"""
READY = f"""
from app.main import make_application, open_first
from app.settings import Settings
application = make_application()
windows = open_first(Settings())
{_SHOWN}"""


def run(program: str, home: Path) -> str:
    """What the program says; it finds a home of its own. Raises CalledProcessError, TimeoutExpired."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    folders = dict.fromkeys(("HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "APPDATA"), str(home))
    kept = {"PYTHONPYCACHEPREFIX": str(home / "compiled"), "PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen"}
    call = [sys.executable, "-c", program]
    done = subprocess.run(
        call, cwd=ROOT, env=environment | folders | kept, check=True, timeout=60, capture_output=True, text=True
    )
    return done.stdout


def measured(home: Path, starts: int = STARTS) -> dict[str, float]:
    """Seconds of a bare Qt window, of the first sign on the screen and of the window that can be worked in."""
    programs = {"bare_s": BARE, "first_s": SIGN, "ready_s": READY + END}
    spent: dict[str, list[float]] = {name: [] for name in programs}
    for _ in range(starts + 1):
        for name, program in programs.items():  # by turns, so that all meet the same machine
            before = os.times()
            run(program, home)
            after = os.times()
            spent[name].append(
                after.children_user + after.children_system - before.children_user - before.children_system
            )
    return {name: median(times[1:]) for name, times in spent.items()}


def table(found: dict[str, float]) -> str:
    bare_s = found["bare_s"]
    rows = (("a bare Qt window", bare_s), ("first sign on the screen", found["first_s"]), ("window", found["ready_s"]))
    lines = [f"start-up{'':16s}{'ms':>10s}{'ratio':>8s}   (aim {AIM})"]
    lines += [f"{words:24s}{seconds * 1e3:10.0f}{seconds / bare_s:8.2f}" for words, seconds in rows]
    return "\n".join(lines)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        print(table(measured(Path(folder))))
