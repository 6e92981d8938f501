"""How long the cut list of 300 wires takes to become a PDF: `python3 -m tests.bench.bench_cut_list`.

Aim (DESIGN of the speed): under 0.5 s on a two-core machine once warm. Beside it, what one would otherwise do with the
same library: lay the same table out as HTML with Qt's text engine and print that.
"""

import json
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from core.pages.imprint import imprint
from core.pages.papers import PAPERS
from core.tables.cut_list import cut_list
from core.tables.table import shown
from tests.helpers.results import analysis

WIRES = 300
AIM_S = 0.5
ROUNDS = 5


def best_s(run: Callable[[], object]) -> float:
    """The best of some rounds, the first one (cold) left out."""
    run()
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def measured() -> dict[str, float]:
    """Seconds of our page and of Qt's."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtGui import QGuiApplication, QPdfWriter, QTextDocument

    from app.render.pdf import write_pdf
    from app.theme import Theme, load_fonts

    application = QGuiApplication.instance() or QGuiApplication([])
    load_fonts()
    made, theme = analysis(WIRES), Theme("print")
    folder = Path(tempfile.mkdtemp())

    def ours() -> None:
        write_pdf(folder / "ours.pdf", PAPERS["cut-list"](made, imprint(made.plan, "25 Nov 2026")), theme)

    def html() -> None:
        table = cut_list(made)
        rows = "".join(
            "<tr>"
            + "".join(f"<td>{shown(c, col.kind)}</td>" for c, col in zip(row, table.columns, strict=True))
            + "</tr>"
            for row in table.rows
        )
        document = QTextDocument()
        document.setHtml(f"<table>{rows}</table>")
        document.print_(QPdfWriter(str(folder / "html.pdf")))

    found = {"own_s": best_s(ours), "html_s": best_s(html)}
    del application
    return found


def table(found: dict[str, float]) -> str:
    mine_s, theirs_s = found["own_s"], found["html_s"]
    return (
        f"cut list of {WIRES} wires to PDF: {mine_s:.3f} s (aim {AIM_S} s), as HTML by Qt {theirs_s:.3f} s, "
        f"ratio {theirs_s / mine_s:.1f}"
    )


if __name__ == "__main__":
    print(json.dumps(measured()) if "--json" in sys.argv else table(measured()))
