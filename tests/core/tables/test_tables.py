"""Tables against the results they are made from."""

from dataclasses import replace

from core.tables.all import TABLES
from core.tables.contract import findings_document, tables_document
from core.tables.cut_list import COLUMNS, UNPLACED, cut_list
from core.tables.names import Names
from core.tables.plain import plain_text
from core.tables.table import Swatch, Table, number_text, shown, swatch
from core.tables.workshop import findings_list, securing_list
from tests.helpers.results import analysis

KEYS = {
    "wires": "wire circuit role from to kind cable parallel section_mm2 gauge_awg od_mm colour route_mm allowances "
    "cut_mm current_a peak_a ampacity_a drop_v drop_percent decided_by fuse_a channels",
    "bundles": "channel length_mm wires diameter_tight_mm diameter_laid_mm fill_percent",
    "securing": "channel at_mm kind user",
    "crossings": "channel at_mm with kind angle_deg severity remedy size_mm finding",
    "wrap": "channel style tape_width_mm overlap layers tape_mm",
    "cutting": "spool wire cable cut_mm waste_mm",
    "materials": "item quantity unit why",
}
TOTALS = "route_mm allowance_mm cut_mm tape_mm rolls mass_kg"


def cells(table: Table, key: str) -> list[object]:
    index = [column.key for column in table.columns].index(key)
    return [row[index] for row in table.rows]


def test_the_document_has_exactly_the_keys_of_the_contract() -> None:
    document = tables_document(analysis(12))
    assert set(document) == {*KEYS, "totals"}
    for name, keys in KEYS.items():
        assert document[name], name
        for row in document[name]:
            assert list(row) == keys.split(), name
    assert list(document["totals"]) == TOTALS.split()


def test_a_wire_without_a_route_has_null_lengths_and_drops() -> None:
    rows = {row["wire"]: row for row in tables_document(analysis(12))["wires"]}
    lost = rows["W12"]
    assert lost["route_mm"] is lost["cut_mm"] is lost["drop_v"] is lost["drop_percent"] is None
    assert lost["allowances"] == {}
    assert lost["channels"] == []
    found = rows["W1"]
    assert found["cut_mm"] == found["route_mm"] + sum(found["allowances"].values())
    assert (found["from"], found["to"], found["channels"]) == ("block", "load0", ["ch1"])
    assert found["ampacity_a"] == 16.667


def test_a_crossing_names_its_finding() -> None:
    assert tables_document(analysis())["crossings"][0]["finding"] == "rub.rib"


def test_a_cable_is_cut_as_one_piece_under_its_own_name() -> None:
    made = analysis(4)
    cores = {
        wire: replace_struct(row, cable="cable1", cores=2) if wire in ("W1", "W2") else row
        for wire, row in made.wires.items()
    }
    whole = replace_struct(made.pieces[0], piece="cable1", wires=("W1", "W2"))
    cut = replace_struct(made.cutting[0], piece="cable1")
    document = tables_document(replace(made, wires=cores, pieces=(whole,), cutting=(cut,)))
    assert [(row["wire"], row["cable"]) for row in document["cutting"]] == [(None, "cable1")]
    both = [row for row in document["wires"] if row["wire"] in ("W1", "W2")]
    assert {row["cut_mm"] for row in both} == {round(whole.cut_mm, 3)}
    assert {row["cable"] for row in both} == {"cable1"}


def replace_struct(record, **changes):  # type: ignore[no-untyped-def]
    import msgspec

    return msgspec.structs.replace(record, **changes)


def test_findings_leave_waived_ones_out_and_count_them() -> None:
    document = findings_document(analysis().findings)
    assert [row["severity"] for row in document["findings"]] == ["error", "warning"]
    assert document["counts"] == {"error": 1, "warning": 1, "note": 0, "waived": 1}
    keys = ["code", "severity", "subjects", "message", "value", "limit", "unit", "source"]
    assert all(list(row) == keys for row in document["findings"])


def test_the_cut_list_goes_by_spool_and_longest_first() -> None:
    made = analysis(40)
    table = cut_list(made)
    lengths, wires = cells(table, "cut_mm"), cells(table, "wire")
    starts = [index for index, _ in table.headings]
    assert len(starts) == 4
    for start, end in zip(starts, [*starts[1:], len(table.rows)], strict=True):
        part = lengths[start:end]
        assert part == sorted(part, reverse=True)  # type: ignore[type-var]
        spools = {cut.spool for cut in made.cutting if cut.piece in wires[start:end]}
        assert len(spools) == 1
    assert sorted(wires) == sorted(piece.piece for piece in made.pieces)  # type: ignore[type-var]
    total = dict(zip([column.key for column in table.columns], table.totals[0], strict=True))
    assert total["cut_mm"] == made.totals.cut_mm
    assert total["route_mm"] == made.totals.route_mm
    assert any("W40" in note for note in table.notes), "the wire without a route is told"


def test_a_piece_on_no_spool_is_still_in_the_cut_list() -> None:
    made = analysis(6)
    table = cut_list(replace(made, cutting=made.cutting[1:]))
    assert table.headings[-1] == (len(made.pieces) - 1, UNPLACED)
    assert set(cells(table, "wire")) == {piece.piece for piece in made.pieces}


def test_a_provisional_length_is_marked() -> None:
    table = cut_list(analysis(6, provisional=True))
    assert "W1 *" in cells(table, "wire")
    assert any(note.startswith("*") for note in table.notes)


def test_every_row_of_every_table_has_a_cell_for_each_column() -> None:
    made = analysis(30, mains=True)
    for name, build in TABLES.items():
        table = build(made)
        assert table.name == name
        for row in (*table.rows, *table.totals):
            assert len(row) == len(table.columns), name
        assert len(plain_text(table).splitlines()) > len(table.rows)


def test_an_empty_analysis_gives_tables_without_rows() -> None:
    made = analysis(2)
    bare = replace(
        made, wires={}, routes={}, sized={}, pieces=(), cutting=(), bundles={}, securing=(), securing_gaps=(),
        crossings=(), wrap=(), materials=(), findings=(), plan=replace_struct(made.plan, circuits=(), devices=()),
    )  # fmt: skip
    assert all(build(bare).rows == () for build in TABLES.values())


def test_securing_list_tells_holes_and_gaps_along_the_channel() -> None:
    table = securing_list(analysis())
    assert cells(table, "at_mm") == [250, 600, 900]
    assert cells(table, "hole_mm") == [None, 20, None]
    assert "limit 450 mm" in str(cells(table, "why")[2])


def test_waived_findings_stand_last_with_their_reason() -> None:
    table = findings_list(analysis())
    assert cells(table, "severity") == ["ERROR", "warning", "waived"]
    assert "11.9 V" in str(cells(table, "remedy")[2])


def test_colours_are_read_as_plans_write_them() -> None:
    # Letter codes: IEC 60757 (from memory); GNYE without a separator read on a public page.
    assert swatch("GNYE") == Swatch("green", "yellow")
    assert swatch("RD") == Swatch("red")
    assert swatch("RD/WH") == swatch("red/white") == Swatch("red", "white")
    assert swatch("green-and-yellow") == Swatch("green", "yellow")
    assert swatch("Sunset") == Swatch("Sunset")


def test_numbers_for_people_and_for_programs() -> None:
    assert shown(12345.6, "mm").replace("\N{NARROW NO-BREAK SPACE}", " ") == "12 346"
    assert shown(None, "v") == "–"
    assert shown(2.5, "mm2") == "2.5"
    assert number_text(12345.64, "mm") == "12345.6"
    assert number_text(-0.5, "v") == "-0.5"
    assert number_text(None, "mm") == ""


def test_an_end_names_the_way_of_a_fuse_block() -> None:
    made = analysis(4)
    names = Names(made.plan)
    assert names.end(made.wires["W1"].from_) == "Fuse block, way 1"
    assert names("nobody") == "nobody"
    assert [column.key for column in COLUMNS].count("cut_mm") == 1
