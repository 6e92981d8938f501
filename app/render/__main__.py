"""`python3 -m app.render < JOB`: the child process that turns pages into PDF files, without a screen.

The job is a `RenderJob` as JSON on standard input. Each file that is ready is told with a line on standard output. Exit
code 0: all written; 1: a file could not be written or the job is none; 3: Qt is missing or cannot start. What went
wrong is one sentence on standard error.
"""

import os
import sys
from pathlib import Path

QT_MISSING = 3


def main() -> int:
    os.environ["QT_QPA_PLATFORM"] = "offscreen"

    from app import preflight

    problem = preflight.missing_libraries("offscreen")
    if problem is not None:
        return fail(problem, QT_MISSING)
    try:
        from PySide6.QtGui import QGuiApplication

        from app.fonts import FontsMissing, load_fonts
        from app.render.pdf import write_pdf
        from app.theme import Theme
    except ImportError as error:
        return fail(f"Qt is not installed ({error}).", QT_MISSING)

    import msgspec

    from core.errors import FileProblem
    from core.pages.job import decode_job

    try:
        job = decode_job(sys.stdin.buffer.read())
    except msgspec.DecodeError as error:
        return fail(f"This is no list of papers: {error}", 1)
    application = QGuiApplication.instance() or QGuiApplication(["loomwright"])
    try:
        load_fonts()
        theme = Theme("print")
        for paper in job.papers:
            write_pdf(Path(paper.path), paper.pages, theme, paper.title)
            print(Path(paper.path).name, flush=True)  # noqa: T201 (the parent process counts them)
    except (FontsMissing, FileProblem) as sentence:
        return fail(str(sentence), 1)
    del application
    return 0


def fail(sentence: str, code: int) -> int:
    print(sentence, file=sys.stderr)  # noqa: T201 (the parent process reads it)
    return code


if __name__ == "__main__":
    sys.exit(main())
