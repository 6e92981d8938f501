"""Takes the pictures of the README from the real window: `python3 -m tests.helpers.take_pictures [FOLDER]`.

The window is drawn off the screen with the shipped fonts, so the pictures are the same on every machine.
"""

import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pypdfium2
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from app.main import make_application
from app.settings import Settings
from app.window import Window
from app.windows import make_window
from core.analysis.engine import analyse
from core.exports.papers import write_papers
from core.files.codec import read_plan
from core.model import Plan
from core.resources import folder, samples

SIZE_PX = 1500, 940
FOLD_OUT_PX = 1400


def main(arguments: list[str]) -> int:
    out = Path(arguments[0]) if arguments else folder() / "pictures"
    out.mkdir(parents=True, exist_ok=True)
    application = make_application()
    plan = read_plan(next(path for path in samples() if path.stem == "long-van"))
    for theme in ("light", "dark"):
        window = opened(application, Settings(theme=theme), plan)
        window.stages.choose("devices" if theme == "light" else "circuits")
        fridge = next(device.id for device in plan.devices if device.kind == "fridge")
        window.session.select((fridge,))
        take(application, window, out / f"window-{theme}.png")
        window.close()
    window = opened(application, Settings(theme="light"), None)
    take(application, window, out / "start.png")
    window.close()
    fold_out(window, plan, out / "fold-out.png")
    return 0


def opened(application: QApplication, settings: Settings, plan: Plan | None) -> Window:
    window = make_window(settings)
    window.resize(*SIZE_PX)
    window.show()
    settle(application)
    if plan is not None:
        window.files.start(plan, drawn=False)
        window.session.analysis_now()
    settle(application)
    window.view.zoom_to_fit()
    return window


def settle(application: QApplication) -> None:
    for _ in range(5):
        application.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def take(application: QApplication, window: Window, file: Path) -> None:
    settle(application)
    if not window.grab().save(str(file)):
        raise OSError(f"{file} was not written")
    print(file)


def fold_out(window: Window, plan: Plan, file: Path) -> None:
    analysis = analyse(plan, window.session.library, "refined")
    with tempfile.TemporaryDirectory() as papers:
        write_papers(analysis, Path(papers), ("fold-out",), "1 Jan 2026")
        with pypdfium2.PdfDocument(Path(papers) / "fold-out.pdf") as document:
            page = document[0]
            bitmap = page.render(scale=FOLD_OUT_PX / page.get_width(), rev_byteorder=True)
            picture = QImage(
                bitmap.buffer, bitmap.width, bitmap.height, bitmap.stride, QImage.Format.Format_RGB888
            ).copy()
    if not picture.save(str(file)):
        raise OSError(f"{file} was not written")
    print(file)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
