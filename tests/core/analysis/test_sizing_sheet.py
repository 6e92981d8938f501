"""The sizing sheet: every size with every rule's word, the same answer as the analysis, and what would be if."""

import json
import re

import pytest
from msgspec.structs import replace

from core.analysis.engine import analyse
from core.analysis.sizing_sheet import SizingDesk, sizing_sheet, sizing_sheets
from core.analysis.what_if import what_if
from core.model import Protective
from core.tables.sizing import sizing_document
from tests.core.analysis.test_electrical_sizes import fridge, line
from tests.helpers.grid import KIND, LIBRARY, changed
from tests.helpers.samples import sample
from tests.helpers.wired import library, wired


def test_every_size_has_a_verdict_of_every_rule_and_one_is_chosen() -> None:
    analysis = analyse(line(6_000.0, current_a=8.0), LIBRARY)
    sheet = sizing_sheet(analysis, "C-1F")
    assert [row.section_mm2 for row in sheet.rows] == [s.section_mm2 for s in KIND.sizes]
    (chosen,) = (row for row in sheet.rows if row.chosen)
    assert chosen.section_mm2 == analysis.sized["C-1F"].section_mm2
    assert chosen.holds
    # no thinner row holds: that is what "smallest" means; and each refusal says why
    for row in sheet.rows:
        if row.section_mm2 < chosen.section_mm2:
            assert not row.holds
            assert row.remark
            assert any(not v.holds for v in row.verdicts)
        assert {v.rule for v in row.verdicts} >= {
            "smallest size",
            "carries the load",
            "carries the fuse",
            "voltage drop",
        }
        assert all(v.source for v in row.verdicts)
    assert sheet.reason == analysis.sized["C-1F"].reason
    assert sheet.conductor_c == 60.0
    assert sheet.base_v == 12.0


def test_the_drop_of_each_row_by_ohms_law() -> None:
    analysis = analyse(line(6_000.0, current_a=8.0), LIBRARY)
    for row, made in zip(sizing_sheet(analysis, "C-1F").rows, KIND.sizes, strict=True):
        ohm = made.r20_ohm_per_km / 1000 * 294.5 / 254.5 * 6.0
        assert row.drop_v == pytest.approx(8.0 * ohm)
        assert row.path_drop_v == pytest.approx(2 * 8.0 * ohm)
        assert row.drop_percent == pytest.approx(100 * 2 * 8.0 * ohm / 12)


def test_the_makers_table_is_on_the_sheet_and_refuses_the_thinner() -> None:
    rows = {row.size: row for row in sizing_sheet(analyse(fridge(2_600.0), LIBRARY), "C-1F").rows}
    assert rows["4 mm²"].chosen
    assert "maker's table" in rows["2.5 mm²"].remark
    assert not rows["2.5 mm²"].holds


def test_what_if_at_24_volts() -> None:
    """Half the current for the same power and twice the base: a quarter of the drop in per cent with the same wire."""
    made = line(6_000.0, current_a=8.0)
    found = {row.change: row for row in what_if(SizingDesk(analyse(made, LIBRARY)), "C-1F")}
    now, high = found["as planned"], found["at 24 V"]
    assert high.current_a == pytest.approx(4.0)
    assert high.section_mm2 < now.section_mm2
    assert high.holds
    assert high.copper_g < now.copper_g
    fixed = changed(made, "circuits", "C", section_mm2=4.0)
    found = {row.change: row for row in what_if(SizingDesk(analyse(fixed, LIBRARY)), "C-1F")}
    assert found["at 24 V"].drop_percent == pytest.approx(found["as planned"].drop_percent / 4)


def test_what_if_at_24_volts_where_the_drop_decides() -> None:
    """20 A over 9 m one-way, 10 %: 1.2 V / (20 A x 18 m) = 3.33 milliohm a metre hot, 2.88 ohm/km cold: 10 mm2 (1.82).
    At 24 V 2.4 V / (10 A x 18 m), 11.5 ohm/km: 2 mm2 (9.42), where 1.5 (12.7) loses too much."""
    found = {row.change: row for row in what_if(SizingDesk(analyse(line(9_000.0, current_a=20.0), LIBRARY)), "C-1F")}
    assert found["as planned"].section_mm2 == 10.0
    assert found["at 24 V"].section_mm2 == 2.0
    assert found["at 24 V"].path_drop_v == pytest.approx(10 * 18 * 9.42e-3 * 294.5 / 254.5)


def test_what_if_the_fridge_were_on_24_volts() -> None:
    """4.9 m: 6 mm2 at 12 V, 2.5 mm2 at 24 V by the maker's table."""
    found = {row.change: row for row in what_if(SizingDesk(analyse(fridge(4_900.0), LIBRARY)), "C-1F")}
    assert found["as planned"].section_mm2 == 6.0
    assert found["at 24 V"].section_mm2 == 2.5


def test_what_if_one_size_up_and_two_in_parallel() -> None:
    made = changed(line(6_000.0, current_a=8.0), "circuits", "C", section_mm2=2.5)
    analysis = analyse(made, LIBRARY)
    found = {row.change: row for row in what_if(SizingDesk(analysis), "C-1F")}
    assert found["next size up"].section_mm2 == 3.0
    assert found["next size up"].path_drop_v == pytest.approx(found["as planned"].path_drop_v * 6.15 / 7.6)
    double = found["two in parallel"]
    assert double.parallel == 2
    assert double.path_drop_v == pytest.approx(found["as planned"].path_drop_v / 2)
    assert double.copper_g == pytest.approx(2 * found["as planned"].copper_g)
    assert "are a finding" in double.remark


def test_the_trade_size_trap_is_told_where_it_bites() -> None:
    """Auto cable of "4 mm" holds 1.84 mm2 (read on three pages)."""
    made = changed(line(1_000.0), "circuits", "C", section_mm2=4.0, protective=Protective(rating_a=10.0))
    notes = sizing_sheet(analyse(made, LIBRARY), "C-1F").notes
    assert any("1.84 mm²" in note for note in notes)
    boat = next(k for k in LIBRARY.wire_kinds if k.id == "wire-boat")
    gauge = replace(changed(made, "circuits", "C", wire_kind=boat.id, section_mm2=None), wire_kinds=(boat,))
    assert not any("auto cable" in note for note in sizing_sheet(analyse(gauge, LIBRARY), "C-1F").notes)


def test_a_van_has_a_sheet_for_every_wire_that_agrees_with_the_analysis() -> None:
    analysis = analyse(wired(), library())
    sheets = sizing_sheets(analysis)
    assert [sheet.wire for sheet in sheets] == list(analysis.wires)
    for sheet in sheets:
        sized = analysis.sized[sheet.wire]
        assert sheet.reason == sized.reason
        assert next(row.section_mm2 for row in sheet.rows if row.chosen) == sized.section_mm2
        if sheet.role != "bond":  # of a bond the sheet says what it carries in a fault
            assert next(row.ampacity_a for row in sheet.rows if row.chosen) == pytest.approx(sized.ampacity_a)


def test_reasons_read_as_an_electrician_notes_them() -> None:
    """Which rule, its numbers, its source; nothing that says 0 A, and a table is never quoted without its name."""
    analysis = analyse(line(6_000.0, current_a=8.0), LIBRARY)
    by_drop = analyse(line(9_000.0, current_a=20.0), LIBRARY).sized["C-1F"].reason
    assert re.fullmatch(
        r"voltage drop: \d\.\d\d V there and back, 1\.20 V allowed \(10 % of 12 V, .+\), copper at 60 °C", by_drop
    )
    assert analysis.sized["C-1F"].reason.startswith(("carries its 10 A fuse: ", "voltage drop: ", "smallest size"))
    hand = changed(line(6_000.0, current_a=8.0), "circuits", "C", section_mm2=6.0)
    fixed = analyse(hand, LIBRARY).sized["C-1F"].reason
    assert fixed == "set by hand; carries 60 A by ISO 10133 Annex A (from memory) behind a 10 A fuse"
    for name in ("long-van", "weekend-camper"):
        told = sample(name)
        for sheet in sizing_sheets(told):
            assert " 0 A" not in sheet.reason
            assert " 0.0 A" not in sheet.reason
            assert all(verdict.source for row in sheet.rows for verdict in row.verdicts)
            if sheet.role in ("data", "antenna"):
                assert sheet.factors == ()
                assert all(row.ampacity_a is None for row in sheet.rows)


def test_an_unknown_wire_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        sizing_sheet(analyse(line(1_000.0), LIBRARY), "nothing")


def test_the_sheets_as_plain_values_for_json() -> None:
    analysis = analyse(line(6_000.0, current_a=8.0), LIBRARY)
    document = json.loads(json.dumps(sizing_document(analysis)))
    assert [sheet["wire"] for sheet in document] == list(analysis.wires)
    first = document[0]
    assert {"from", "to", "role", "base_v", "conductor_c", "fuse_a", "rows", "reason", "decided_by"} <= set(first)
    (chosen,) = (row for row in first["rows"] if row["chosen"])
    assert chosen["section_mm2"] == analysis.sized["C-1F"].section_mm2
    assert {"rule", "value", "limit", "unit", "holds", "source"} == set(chosen["verdicts"][0])
