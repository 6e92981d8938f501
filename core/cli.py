"""`python3 -m core`: the job without a window. Exit codes: 0 well, 1 findings of severity error, 2 cannot be done."""

import argparse
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import msgspec

from core import __version__
from core.errors import FileProblem, LoomwrightError

WELL, ERRORS_FOUND, IMPOSSIBLE = 0, 1, 2
#: Set to anything to see where an internal mistake happened.
TRACEBACK = "LOOMWRIGHT_TRACEBACK"


def main(argv: Sequence[str]) -> int:
    """Run one command; the exit code. Answers go to standard output, what went wrong to standard error."""
    try:
        arguments = _parser().parse_args(argv)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else IMPOSSIBLE
    run: Callable[[argparse.Namespace], int] = arguments.run
    try:
        code = run(arguments)
        sys.stdout.flush()
    except FileProblem as problem:
        _complain(str(problem), *map(str, problem.others))
        return IMPOSSIBLE
    except LoomwrightError as error:
        _complain(str(error))
        return IMPOSSIBLE
    except BrokenPipeError:
        # Who reads us has seen enough (`| head`). Nothing more may be flushed at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return IMPOSSIBLE
    except KeyboardInterrupt:
        _complain("stopped")
        return IMPOSSIBLE
    except Exception as error:  # noqa: BLE001 (a person gets a sentence, whatever went wrong)
        if os.environ.get(TRACEBACK):
            traceback.print_exc()
        _complain(
            f"This is a mistake of Loomwright, not of your plan: {type(error).__name__}: {error}. "
            f"Please report it; {TRACEBACK}=1 shows where it happened."
        )
        return IMPOSSIBLE
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python3 -m core", description="Check a wiring plan and make its tables and papers, without a window."
    )
    parser.add_argument("--version", action="version", version=f"Loomwright {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    check = commands.add_parser("check", help="what is wrong or missing in a plan (exit code 1 when there are errors)")
    check.add_argument("file", type=Path, metavar="FILE")
    check.add_argument("--json", action="store_true", help="as JSON")
    check.set_defaults(run=_check)

    tables = commands.add_parser("tables", help="wires, bundles, cutting, materials and totals of a plan")
    tables.add_argument("file", type=Path, metavar="FILE")
    tables.add_argument("--json", action="store_true", help="as JSON, with keys that never change")
    tables.set_defaults(run=_tables)

    papers = commands.add_parser("papers", help="PDF, CSV, XLSX, SVG and DXF files of a plan")
    papers.add_argument("file", type=Path, metavar="FILE")
    papers.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder to write to; made where missing")
    papers.add_argument("--only", nargs="+", metavar="NAME", help="only these papers (a wrong name lists all)")
    papers.add_argument("--paper", choices=("A4", "A3", "Letter", "Tabloid"), default="A4", help="the usual paper")
    papers.add_argument("--labels", metavar="SHEET", default="", help="sheet of labels (a wrong name lists all)")
    papers.add_argument("--first-label", type=int, metavar="N", default=1, help="first free label of a used sheet")
    papers.add_argument("--label-style", choices=("flag", "wrap"), default="flag", help="over a wire or round it")
    papers.add_argument("--scale", type=float, metavar="N", default=0.0, help="1 : N for the fold-out plan")
    papers.add_argument("--no-qr", action="store_true", help="labels without QR signs")
    papers.set_defaults(run=_papers)

    schema = commands.add_parser("schema", help="JSON Schema of a .loomplan file")
    schema.set_defaults(run=_schema)
    return parser


def _check(arguments: argparse.Namespace) -> int:
    from core.tables.contract import findings_document, standing_findings

    analysis = _analysed(arguments.file)
    if arguments.json:
        _say_json(findings_document(analysis.findings))
    else:
        _say(_findings_text(analysis))
    return ERRORS_FOUND if any(f.severity == "error" for f in standing_findings(analysis.findings)) else WELL


def _findings_text(analysis: Any) -> str:
    from core.tables.contract import standing_findings
    from core.tables.workshop import SEVERITY_WORDS
    from core.text import counted

    standing = standing_findings(analysis.findings)
    lines = []
    for finding in standing:
        lines.append(f"{SEVERITY_WORDS[finding.severity]} ({finding.code}): {finding.message}")
        if finding.remedy:
            lines.append(f"    {finding.remedy}")
        if finding.source:
            lines.append(f"    source: {finding.source}")
    waived = [finding for finding in analysis.findings if finding.waived]
    lines += [f"waived ({finding.code}): {finding.message} – {finding.waived}" for finding in waived]
    counts = [
        counted(count, word)
        for word, count in ((w, sum(f.severity == w for f in standing)) for w in ("error", "warning", "note"))
    ]
    lines.append(", ".join(counts) + (f", {len(waived)} waived" if waived else "") + ".")
    return "\n".join(lines)


def _tables(arguments: argparse.Namespace) -> int:
    from core.tables.all import TABLES
    from core.tables.contract import tables_document
    from core.tables.plain import plain_text
    from core.tables.sizing import sizing_document

    analysis = _analysed(arguments.file)
    if arguments.json:
        _say_json({**tables_document(analysis), "sizing": sizing_document(analysis)})
    else:
        _say("\n\n".join(plain_text(build(analysis)) for build in TABLES.values()))
    return WELL


def _papers(arguments: argparse.Namespace) -> int:
    from core.exports.papers import write_papers
    from core.pages.paper import Choices
    from core.pages.papers import PAPERS

    names = list(dict.fromkeys(arguments.only or PAPERS))
    unknown = [name for name in names if name not in PAPERS]
    if unknown:
        _complain(f"There is no paper {', '.join(unknown)}. There are: {', '.join(PAPERS)}.")
        return IMPOSSIBLE
    choices = Choices(
        paper=arguments.paper,
        label_sheet=arguments.labels,
        label_style=arguments.label_style,
        label_qr=not arguments.no_qr,
        first_label=arguments.first_label,
        scale=arguments.scale,
    )
    now = datetime.now().astimezone()
    written = write_papers(_analysed(arguments.file), arguments.out, names, f"{now.day} {now:%b %Y}", choices, _told)
    _say("\n".join(map(str, written.files)))
    if written.without_pdf:
        _complain(f"No PDFs were made: {written.without_pdf}")
        return IMPOSSIBLE
    return WELL


def _told(what: str, done: int, steps: int) -> bool:
    """How far it is, where a person looks on; nothing for a program that reads the answer. Ctrl+C stops it."""
    if sys.stderr.isatty():
        ended = "\n" if done == steps else ""
        _write(sys.stderr, f"\r{done:3} of {steps}  {what:<40}{ended}")
    return False


def _schema(_: argparse.Namespace) -> int:
    from core.files.schema import schema

    _say_json(schema())
    return WELL


def _analysed(file: Path) -> Any:
    """The full analysis of a plan file. Raises FileProblem, or LoomwrightError where its profile is unknown."""
    from core.files.codec import read_plan

    plan = read_plan(file)

    # The engine takes a second to import; a file that cannot be read is told at once.
    from core.analysis.engine import analyse
    from core.files.library import load_library

    return analyse(plan, load_library())


def _say(text: str) -> None:
    _write(sys.stdout, text + "\n")


def _say_json(document: Any) -> None:
    _say(msgspec.json.format(msgspec.json.encode(document), indent=2).decode())


def _complain(*sentences: str) -> None:
    for sentence in sentences:
        _write(sys.stderr, sentence + "\n")


def _write(stream: Any, text: str) -> None:
    """UTF-8 whatever the terminal's code page is: other programs read this."""
    binary = getattr(stream, "buffer", None)
    if binary is None:
        stream.write(text)
        return
    stream.flush()
    binary.write(text.encode("utf-8", "replace"))
    binary.flush()
