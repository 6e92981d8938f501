"""Findings by place and by rule: each in one group, the worst first, on the surface its subject lies on."""

import re
from pathlib import Path

import pytest

import core.analysis
from core.analysis.engine import analyse
from core.files.codec import read_plan
from core.files.library import load_library
from core.resources import samples
from core.tables.grouping import NOWHERE, SUBJECTS, _Lying, grouped
from core.tables.names import SEVERITY_ORDER

ANALYSES = [analyse(read_plan(path), load_library()) for path in samples()]


@pytest.mark.parametrize("analysis", ANALYSES, ids=lambda analysis: analysis.plan.name)
@pytest.mark.parametrize("by", ["weight", "place", "rule"])
def test_every_finding_stands_once_the_worst_first(analysis, by) -> None:
    groups = grouped(analysis, by)
    rows = [row for _, group in groups for row in group]
    assert sorted(map(repr, rows)) == sorted(map(repr, analysis.findings))
    for _, group in groups:
        weights = [(bool(row.waived), SEVERITY_ORDER[row.severity]) for row in group]
        assert weights == sorted(weights)
    assert len({heading for heading, _ in groups}) == len(groups)


def test_what_belongs_to_a_surface_is_found_on_it() -> None:
    long_van = ANALYSES[0]
    lying, plan = _Lying(long_van), long_van.plan
    surfaces = {surface.id for surface in plan.surfaces}
    for name in ("devices", "ribs", "openings", "boxes", "panels", "zones", "pass_throughs", "splices", "connectors"):
        for record in getattr(plan, name):
            assert lying.on(record.id) in surfaces, (name, record.id)
    for wire in long_van.wires.values():
        device = next(device for device in plan.devices if device.id == wire.from_.device)
        assert lying.on(wire.id) == device.surface
    by_tape = [channel for channel in plan.channels if channel.surface is None]
    assert all(lying.on(channel.id) is None for channel in by_tape)
    assert lying.on("no-such-thing") is None
    # A row about nothing on the sheet has a group of its own.
    assert all(heading != "" for heading, _ in grouped(long_van, "place"))
    assert NOWHERE not in {surface.name for surface in plan.surfaces}


def test_every_code_of_a_check_has_a_subject_in_words() -> None:
    source = "\n".join(path.read_text(encoding="utf-8") for path in Path(core.analysis.__file__).parent.rglob("*.py"))
    codes = set(re.findall(r'Finding\(\s*(?:code=)?"([a-z_]+)\.[a-z_]+"', source))
    codes |= {row.code.partition(".")[0] for analysis in ANALYSES for row in analysis.findings}
    assert len(codes) > 15
    assert codes <= set(SUBJECTS)
