"""What the program says about a plan file, as any other program would read it: its two JSON outputs."""

import contextlib
import io
import json
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import sample_layouts
from core.cli import main
from core.files.codec import read_plan
from core.model import Plan
from tests.helpers.recount_circuit import Circuits, Conductor
from tests.helpers.recount_route import Ways
from tests.helpers.recount_size import Row, Sizes

FOLDER = Path(sample_layouts.__file__).parent
NAMES = ("weekend-camper", "long-van")


def said(command: str, path: Path) -> dict[str, Any]:
    """The JSON that `python -m core COMMAND PATH --json` prints."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        status = main([command, str(path), "--json"])
    assert status in (0, 1), out.getvalue()[:500]
    answer: dict[str, Any] = json.loads(out.getvalue())
    return answer


@dataclass(frozen=True)
class Sample:
    """A plan, what the program says of it, and the recounts on it."""

    path: Path
    plan: Plan = field(repr=False)
    tables: dict[str, Any] = field(repr=False)
    findings: list[dict[str, Any]] = field(repr=False)

    @property
    def wires(self) -> list[Row]:
        return list(self.tables["wires"])

    @cached_property
    def ways(self) -> Ways:
        return Ways(self.plan)

    @cached_property
    def circuits(self) -> Circuits:
        return Circuits(self.plan)

    @cached_property
    def sizes(self) -> Sizes:
        return Sizes(self.plan, self.wires, self.ways.lengths_mm)

    def role(self, wire: Row) -> str:
        """The role as the circuit has it: a switched leg is a feed behind a switch."""
        return "feed" if wire["role"] == "switched" else str(wire["role"])

    @cached_property
    def rows_of(self) -> dict[Conductor, list[Row]]:
        """The rows of the wire list for each conductor that is expected."""
        found: dict[Conductor, list[Row]] = {}
        for circuit in self.plan.circuits:
            for one in self.circuits.conductors(circuit):
                key = (circuit.id, one.role, one.start, one.end)
                found[one] = [w for w in self.wires if (w["circuit"], self.role(w), w["from"], w["to"]) == key]
        return found

    def found(self, code: str, *subjects: str) -> bool:
        """Whether a finding of this code (or family of codes) is about all of these."""
        return any(f["code"].startswith(code) and set(subjects) <= set(f["subjects"]) for f in self.findings)


@lru_cache(maxsize=len(NAMES))
def sample(name: str) -> Sample:
    path = FOLDER / f"{name}.loomplan"
    return Sample(path, read_plan(path), said("tables", path), said("check", path)["findings"])
