"""The circuit table as a spreadsheet: what a cell shows can be typed back, filled down and pasted."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.edits.circuit_table import COLUMNS, Typed, filled_down, pasted, row_texts, set_cells
from core.files.library import load_library
from core.files.references import problems
from core.model import Plan, find
from tests.core.edits.checks import sound
from tests.helpers.wired import wired

LIBRARY = load_library()
VAN = wired()
KEYS = tuple(column.key for column in COLUMNS)
LIGHT, PUMP = (next(c.id for c in VAN.circuits if c.name == name) for name in ("Light", "Pump"))


def typed(plan: Plan, circuit: str, column: str, text: str) -> Plan:
    after, refused = set_cells(plan, [Typed(circuit, column, text)], LIBRARY)
    assert refused == ()
    return after


def told(circuit: str, column: str, text: str) -> str:
    after, refused = set_cells(VAN, [Typed(circuit, column, text)], LIBRARY)
    assert after is VAN
    (one,) = refused
    return one.reason


def test_what_a_row_shows_typed_back_changes_nothing() -> None:
    plan = typed(typed(typed(VAN, PUMP, "section", "4"), PUMP, "fuse", "15 A"), PUMP, "drop", "5")
    for circuit in plan.circuits:
        cells = [Typed(circuit.id, key, text) for key, text in zip(KEYS, row_texts(plan, circuit), strict=True)
                 if key != "id"]  # fmt: skip
        after, refused = set_cells(plan, cells, LIBRARY)
        assert refused == ()
        assert after == plan


@pytest.mark.parametrize(
    ("column", "text", "field", "value"),
    [
        ("name", " Water ", "name", "Water"),
        ("section", "2,5 mm²", "section_mm2", 2.5),
        ("section", "auto", "section_mm2", None),
        ("drop", "3 %", "drop_percent", 3.0),
        ("drop", "", "drop_percent", None),
        ("note", "behind the sink", "note", "behind the sink"),
        ("colour", "blue", "colour", "blue"),
        ("kind", "battery cable", "wire_kind", "wire-battery"),
    ],
)
def test_a_typed_cell_sets_its_field(column: str, text: str, field: str, value: object) -> None:
    plan = typed(VAN, PUMP, column, text)
    assert problems(plan) == ()
    assert getattr(find(plan, "circuits", PUMP), field) == value


def test_a_gauge_finds_the_wire_of_that_gauge() -> None:
    """ASTM B258: 12 AWG is 3.31 mm2; the gauge wire of the library is sold with the section of its table."""
    plan = typed(typed(VAN, PUMP, "kind", "wire-primary-awg"), PUMP, "section", "12 AWG")
    circuit = find(plan, "circuits", PUMP)
    kind = find(plan, "wire_kinds", "wire-primary-awg")
    row = next(size for size in kind.sizes if size.gauge_awg == "12")
    assert circuit.section_mm2 == row.section_mm2
    assert row_texts(plan, circuit)[KEYS.index("section")] == "12 AWG"


def test_fuse_way_source_and_loads() -> None:
    plan = typed(VAN, PUMP, "fuse", "10")
    assert find(plan, "circuits", PUMP).protective.rating_a == 10.0
    assert typed(plan, PUMP, "fuse", "-") == VAN
    assert find(typed(VAN, PUMP, "way", "6"), "circuits", PUMP).stops[0].way == "6"
    both = sound(VAN, typed(VAN, LIGHT, "loads", "Light; Pump"), "circuits")
    assert len(find(both, "circuits", LIGHT).stops) == 3
    assert typed(both, LIGHT, "loads", "Light") == VAN
    family = typed(VAN, PUMP, "family", "blade_maxi")
    assert find(family, "circuits", PUMP).protective.family == "blade_maxi"


@pytest.mark.parametrize(
    ("column", "text", "says"),
    [
        ("id", "x", "cannot be typed into"),
        ("nothing", "x", "cannot be typed into"),
        ("name", "", "needs a name"),
        ("fuse", "large", "“large”"),
        ("fuse", "0", "is none"),
        ("section", "3.3", "is not made with"),
        ("section", "thick", "“thick”"),
        ("way", "99", "no way 99"),
        ("way", "1", "feeds"),
        ("source", "Nobody", "no device “Nobody”"),
        ("loads", "", "needs a load"),
        ("loads", "Pump; Pump", "twice"),
        ("loads", "Pump; Nobody", "no device “Nobody”"),
        ("family", "blade", "is no family"),
        ("kind", "string", "no kind of wire"),
        ("kind", "wire-coax-50", "is for antenna"),
        ("drop", "80", "is no limit"),
        ("drop", "some", "no percentage"),
    ],
)
def test_what_cannot_be_typed_says_why_and_changes_nothing(column: str, text: str, says: str) -> None:
    reason = told(PUMP, column, text)
    assert says in reason
    assert reason.endswith(".")


def test_fill_down_and_paste() -> None:
    plan = typed(VAN, LIGHT, "section", "2.5")
    after, refused = set_cells(plan, filled_down(plan, "section", [LIGHT, PUMP]), LIBRARY)
    assert refused == ()
    assert find(after, "circuits", PUMP).section_mm2 == 2.5
    block = pasted(
        (("Lamps", "Fuse block"), ("Water", "Fuse block"), ("over", "the edge")), [LIGHT, PUMP], KEYS, (0, 1)
    )
    assert len(block) == 4
    after, refused = set_cells(VAN, block, LIBRARY)
    assert refused == ()
    assert [find(after, "circuits", c).name for c in (LIGHT, PUMP)] == ["Lamps", "Water"]


def test_good_cells_are_set_beside_bad_ones() -> None:
    after, refused = set_cells(VAN, [Typed(PUMP, "fuse", "x"), Typed(PUMP, "name", "Water")], LIBRARY)
    assert [r.cell.column for r in refused] == ["fuse"]
    assert find(after, "circuits", PUMP).name == "Water"


@given(cells=st.lists(st.tuples(st.sampled_from([c.id for c in VAN.circuits]), st.sampled_from(KEYS),
                                st.text(max_size=12)), max_size=8))  # fmt: skip
def test_whatever_is_typed_leaves_a_sound_plan(cells) -> None:
    after, _ = set_cells(replace(VAN), [Typed(*cell) for cell in cells], LIBRARY)
    assert problems(after) == ()
