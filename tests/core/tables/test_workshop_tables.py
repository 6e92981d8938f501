"""Tables of the workshop against the plan and against numbers worked out by hand."""

from itertools import groupby

import pytest
from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.edits.finishing import close_panel, tick_close_out
from core.files.library import load_library
from core.geometry.entry import entry_point
from core.model import Image, Photo, Plan, TestResult
from core.tables.closing import close_out_sheet, closing
from core.tables.drilling import drilling_list
from core.tables.formboard import boards, stations
from core.tables.fuse_map import fuse_map, fuse_rows
from core.tables.kits import BARE, BARE_WORDS, MOST_ON_A_STUD, WAYS_APART, kit_list, kit_list_by_day, stud_stacks
from core.tables.names import Names
from core.tables.pulling import pull_plan, pulls, way_of
from core.tables.spots import spots_by_surface, view_of
from core.tables.table import Table, shown
from core.tables.testing import continuity_tests, insulation_tests, resistance_ohm, voltage_tests
from core.tables.workshop import told_number
from core.tables.wrapping import stretches, wrap_stretches_table
from tests.core.pages.test_owners_book import STAYS_LIVE
from tests.helpers.samples import SAMPLES, sample
from tests.helpers.walls import RIGHT, WIRE_MM, wall

MM = 1e-6


def cells(table: Table, key: str) -> list[object]:
    index = [column.key for column in table.columns].index(key)
    return [row[index] for row in table.rows]


def made(plan: Plan) -> Analysis:
    return analyse(plan, load_library())


# --- places ----------------------------------------------------------------------------------------------------------


def test_fixings_of_an_upright_wire_are_all_as_far_from_the_front() -> None:
    """The wire stands 2,000 mm behind the front edge, from 300 to 1,500 mm above the floor."""
    analysis = made(wall())
    view = view_of(analysis, analysis.surfaces[RIGHT])
    assert view is not None
    spots = [spot for spot in spots_by_surface(analysis)[RIGHT] if spot.kind == "fixing"]
    assert len(spots) == sum(row.channel == "c" for row in analysis.securing) > 1
    for spot in spots:
        assert spot.along_mm is not None
        assert view.measured(spot.at_mm) == (pytest.approx(WIRE_MM, abs=MM), pytest.approx(300 + spot.along_mm, abs=MM))


@pytest.mark.parametrize("name", SAMPLES)
def test_every_hole_and_fixing_is_on_the_drill_list_and_numbered_once(name: str) -> None:
    analysis = sample(name)
    spots = spots_by_surface(analysis)
    for here in spots.values():
        numbers = [spot.number for spot in here]
        assert len(set(numbers)) == len(numbers)
    told = sum(len([s for s in here if s.kind != "node"]) for here in spots.values())
    table = drilling_list(analysis)
    assert len(table.rows) == told
    on_surface = {channel for channel, path in analysis.paths.items() if path.surface is not None}
    fixings = sum(row.channel in on_surface for row in analysis.securing)
    assert sum(str(number).startswith("F") for number in cells(table, "number")) == fixings
    holes = {p.id for p in analysis.plan.pass_throughs if p.kind != "edge"} | {p.id for p in analysis.plan.penetrations}
    assert holes == {s.subject for here in spots.values() for s in here if s.kind == "hole"}
    # A box for the after-work only where something is drilled.
    for row in table.rows:
        drilled, deburr, paint = row[5] is not None, row[8] is not None, row[9] is not None
        assert drilled == deburr == paint


def test_a_hole_through_the_roof_is_listed_on_both_its_sides_and_counted_once() -> None:
    analysis = sample("long-van")
    hole = analysis.plan.penetrations[0]
    spots = spots_by_surface(analysis)
    for surface, at in ((hole.a, hole.a_mm), (hole.b, hole.b_mm)):
        assert any(spot.subject == hole.id and spot.at_mm == at for spot in spots[surface])
    drills = next(note for note in drilling_list(analysis).notes if note.startswith("Drills:"))
    sizes = [s.hole_mm for here in spots.values() for s in here if s.hole_mm and s.kind == "fixing"]
    sizes += [s.hole_mm for s in {s.subject: s for here in spots.values() for s in here
                                  if s.hole_mm and s.kind == "hole"}.values()]  # fmt: skip
    counted = sum(int(part.split(" × ")[0]) for part in drills.removeprefix("Drills: ").split(", "))
    assert counted == len(sizes)


# --- pulling and wrapping --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_pulls_hold_every_piece_once_the_longest_first(name: str) -> None:
    analysis = sample(name)
    plan = pulls(analysis)
    assert sorted(p.piece for pull in plan for p in pull.pieces) == sorted(p.piece for p in analysis.pieces)
    assert [pull.number for pull in plan] == list(range(1, len(plan) + 1))
    open_ones = [pull for pull in plan if not pull.done]
    keys = [(-pull.longest_mm, -pull.thickest_mm2) for pull in open_ones]
    assert keys == sorted(keys)
    for pull in plan:
        ways = {min(way_of(analysis, piece), way_of(analysis, piece)[::-1]) for piece in pull.pieces}
        assert len(ways) == 1, "what shares a pull lies in the same channels"


def test_what_is_pulled_comes_after_what_is_open() -> None:
    plan = wall()
    both = pulls(made(plan))
    assert [pull.done for pull in both] == [False]
    pulled = made(replace(plan, channels=(replace(plan.channels[0], wires="pulled"),)))
    assert [pull.done for pull in pulls(pulled)] == [True]
    table = pull_plan(pulled)
    assert table.headings == ((0, "Pulled"),)
    assert cells(table, "done") == [True]


@pytest.mark.parametrize("name", SAMPLES)
def test_stretches_hold_every_wrapped_channel_once_and_all_its_tape(name: str) -> None:
    analysis = sample(name)
    rows = stretches(analysis)
    channels = [channel for row in rows for channel in row.channels]
    assert sorted(channels) == sorted(row.channel for row in analysis.wrap)
    assert sum(row.tape_mm for row in rows) == pytest.approx(sum(row.tape_mm for row in analysis.wrap))
    styles = {row.channel: row.style for row in analysis.wrap}
    for row in rows:
        assert len({styles[channel] for channel in row.channels}) == 1
        ends = [{analysis.channels[c].start, analysis.channels[c].end} for c in row.channels]
        assert all(a & b for a, b in zip(ends, ends[1:], strict=False)), "one after the other"
        assert row.start in ends[0]
        assert row.end in ends[-1]
    # The rolls are those that the materials ask for.
    bought = {m.item: m.quantity for m in analysis.materials if m.unit == "rolls"}
    notes = " ".join(wrap_stretches_table(analysis).notes)
    for item, quantity in bought.items():
        assert f"{item}: " in notes
        assert f" {quantity:g} rolls" in notes


# --- formboard -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_every_line_of_the_board_is_as_long_as_its_channels(name: str) -> None:
    analysis = sample(name)
    laid: list[str] = []
    for board in boards(analysis):
        laid += board.loops
        for run in board.runs:
            laid += run.channels
            line = [((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
                    for a, b in zip(run.line_mm, run.line_mm[1:], strict=False)]  # fmt: skip
            whole = sum(analysis.bundles[channel].length_mm for channel in run.channels)
            assert sum(line) == pytest.approx(whole)
            assert run.at_mm[-1] == pytest.approx(whole)
            for number, channel in enumerate(run.channels):
                ends = {analysis.channels[channel].start, analysis.channels[channel].end}
                assert {run.nodes[number], run.nodes[number + 1]} == ends
    assert sorted(laid) == sorted(c for c, b in analysis.bundles.items() if b.length_mm > 0)


@pytest.mark.parametrize("name", SAMPLES)
def test_a_branch_begins_where_its_node_lies_on_its_parent(name: str) -> None:
    for board in boards(sample(name)):
        places = {}
        for run in board.runs:
            if run.level:
                assert run.line_mm[0] == pytest.approx(places[run.nodes[0]])
            for index, node in enumerate(run.nodes):
                places.setdefault(node, run.place(index))


def test_runs_in_one_lane_lie_clear_of_each_other() -> None:
    for board in boards(sample("long-van")):
        legs = [leg for run in board.runs for leg in zip(run.line_mm, run.line_mm[1:], strict=False)]
        flat = [(a, b) for a, b in legs if a[1] == b[1]]
        for number, (a, b) in enumerate(flat):
            for c, d in flat[number + 1 :]:
                if a[1] == c[1]:
                    assert b[0] < c[0] or d[0] < a[0]


def test_stations_name_every_device_with_its_free_length() -> None:
    analysis = sample("weekend-camper")
    ends = " ".join(str(cell) for cell in cells(stations(analysis), "ends"))
    for device in analysis.plan.devices:
        if device.node is not None and analysis.falls[device.id].length_mm is not None:
            fall = analysis.falls[device.id].length_mm
            assert f"{device.name}: " in ends
            assert fall is not None


# --- fuses, kits, studs ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_the_fuse_map_has_every_way_and_every_protected_circuit(name: str) -> None:
    analysis = sample(name)
    rows = fuse_rows(analysis)
    ways = sum(len(d.ways) for d in analysis.plan.devices if d.kind in ("fuse_block", "panelboard", "bus_bar"))
    assert sum(bool(row.way) for row in rows) == ways
    told = {row.circuit for row in rows}
    for circuit in analysis.plan.circuits:
        size = analysis.circuit_sizes.get(circuit.id)
        if circuit.protective.kind == "none" or circuit.kind in ("bond", "signal", "antenna", "spare"):
            continue
        assert circuit.name in told
        row = next(row for row in rows if row.circuit == circuit.name)
        assert row.rating_a == (size.fuse_a if size else None)
        # written down one by one, from how each is connected: neither the mark nor the engine is asked
        assert row.live == STAYS_LIVE[name].get(circuit.name, "")
        assert row.always_live == (row.live == "always live")
        assert row.always_live or not circuit.always_live
    holders = [holder for holder, _ in groupby(rows, key=lambda row: row.holder)]
    assert len(holders) == len(set(holders))
    assert len(fuse_map(analysis).rows) == len(rows)


def test_kits_hold_each_device_once_and_a_wire_on_each_wall_it_ends_on() -> None:
    analysis = sample("long-van")
    table = kit_list(analysis)
    names = Names(analysis.plan)
    rows = [(row[1], str(row[2])) for row in table.rows]
    assert [name for group, name in rows if group == "device"].count("Water pump") == 1
    assert sum(group == "device" for group, _ in rows) == len(analysis.plan.devices)
    for piece in analysis.pieces:
        wire = analysis.wires[piece.wires[0]]
        walls = {analysis.devices[end.device].surface for end in (wire.from_, wire.to)}
        start = f"{names(piece.piece)} "
        assert sum(group == "wire" and name.startswith(start) for group, name in rows) == len(walls)


def test_the_largest_lug_lies_lowest_on_its_stud() -> None:
    table = stud_stacks(sample("long-van"))
    starts = [index for index, _ in table.headings] + [len(table.rows)]
    for start, end in zip(starts, starts[1:], strict=False):
        sizes = [row[3] for row in table.rows[start:end]]
        assert sizes == sorted(sizes, reverse=True)
        assert [row[0] for row in table.rows[start:end]] == list(range(1, end - start + 1))
        assert [bool(row[6]) for row in table.rows[start:end]] == [False] * (end - start - 1) + [True]
    for index, (start, text) in enumerate(table.headings):
        assert ("LUGS" in text) == (starts[index + 1] - start > MOST_ON_A_STUD)


def test_a_fused_way_lies_on_a_terminal_of_its_own_and_not_on_the_stud_of_the_feed() -> None:
    """Trade: a fuse block has one stud for its feed and a screw or blade for each way."""
    analysis = sample("weekend-camper")
    table = stud_stacks(analysis)
    heads = dict(table.headings)
    block = next(device for device in analysis.plan.devices if device.kind == "fuse_block")
    starts = [*heads, len(table.rows)]
    on_block = [
        row[1]
        for start, end in zip(starts, starts[1:], strict=False)
        if heads[start].startswith(f"{block.name}, ")
        for row in table.rows[start:end]
    ]
    assert on_block
    for wire_id in on_block:
        wire = analysis.wires[str(wire_id)]
        assert all(end.way is None for end in (wire.from_, wire.to) if end.device == block.id), wire_id
    assert not any("LUGS" in words for words in heads.values())
    assert WAYS_APART in table.notes


def test_a_kit_holds_a_cover_for_every_hole_and_nothing_that_is_only_looked_at() -> None:
    analysis = sample("weekend-camper")
    spots = [spot for here in spots_by_surface(analysis).values() for spot in here]
    holes = [spot for spot in spots if spot.kind == "hole"]
    rows = kit_list(analysis).rows
    assert sum(row[3] for row in rows if row[1] == "hole") == len(holes)
    assert {str(row[2]).split(" for ")[0] for row in rows if row[1] == "hole"} <= {"Grommet", "Bushing", "Gland"}
    assert not any("look" in str(cell).casefold() for row in rows for cell in row if row[1] == "edge")
    bare = [row for row in kit_list(sample("long-van")).rows if str(row[2]).startswith(BARE)]
    assert {row[2] for row in bare} == {BARE_WORDS}, "the long van has a rib that nothing protects"
    assert shown(4.8, "quantity") == "4.80"
    assert shown(4, "quantity") == "4"


def test_values_of_findings_are_no_more_precise_than_anybody_measures() -> None:
    assert [told_number(value) for value in (3008.122, 0.51648, 16.699, None, 81.4)] == [
        3008.0,
        0.5165,
        16.7,
        None,
        81.4,
    ]


# --- tests and close-out ---------------------------------------------------------------------------------------------


def test_the_resistance_is_that_of_the_standard() -> None:
    """ISO 6722-1: 18.5 mΩ/m for a conductor of 1 mm² at 20 C (from memory); 3.44 m of it has 63.6 mΩ."""
    analysis = sample("weekend-camper")
    wire = next(w.id for w in analysis.wires.values() if analysis.sized[w.id].section_mm2 == 1.0
                and w.kind == "wire-thin-wall")  # fmt: skip
    assert resistance_ohm(analysis, wire, 3_440.0) == pytest.approx(0.06364)
    assert resistance_ohm(analysis, wire, None) is None


@pytest.mark.parametrize("name", SAMPLES)
def test_the_test_sheet_asks_for_every_wire_and_every_device(name: str) -> None:
    analysis = sample(name)
    assert sorted(map(str, cells(continuity_tests(analysis), "wire"))) == sorted(analysis.wires)
    volts = voltage_tests(analysis)
    for row in volts.rows:
        circuit = next(c for c in analysis.plan.circuits if c.name == row[0])
        drops = {analysis.word(next(s.device for s in circuit.stops if s.id == stop)): drop
                 for stop, drop, _, _ in analysis.circuit_sizes[circuit.id].drops}  # fmt: skip
        drop = drops[str(row[1])]
        base = analysis.loads[circuit.id].base_v
        assert (row[2], row[3]) == (base, None if drop is None else pytest.approx(base - drop))
    mains = [row for row in analysis.plan.circuits if row.group == "mains" and row.kind != "bond"]
    assert len(insulation_tests(analysis).rows) == len(mains)


def test_a_panel_may_be_closed_when_everything_is_done_and_not_before() -> None:
    plan = wall()
    duct = replace(plan.channels[0], id="d", spare_duct=True, draw_string=True)
    plan = replace(plan, channels=(*plan.channels, duct))
    board = plan.panels[0]
    before = closing(made(plan), board)
    assert [done for _, _, done in before.asked] == [False, False, False, True, False, False]
    assert len(before.missing) == 5
    assert "missing: continuity, polarity" in before.asked[0][1]
    results = tuple(
        TestResult(id=f"t{n}", circuit="C", kind=kind, passed=True) for n, kind in enumerate(("continuity", "polarity"))
    )
    whole = replace(
        plan,
        channels=(replace(plan.channels[0], wires="pulled"), duct),
        test_results=results,
        images=(Image(id="i", media_type="image/png", data=b""),),
        photos=(Photo(id="p", image="i", panel="board"),),
    )
    assert not closing(made(whole), board).may_close, "labels and fixing are still to be looked at"
    whole = tick_close_out(tick_close_out(whole, "board", labels_done=True), "board", secured_done=True)
    board = whole.panels[0]
    assert closing(made(whole), board).may_close
    failed = replace(whole, test_results=(*results, TestResult(id="t9", circuit="C", kind="polarity", passed=False)))
    state = closing(made(failed), board)
    assert not state.may_close
    assert "FAILED: polarity" in state.asked[0][1]


def test_wires_at_a_device_on_the_wall_lie_behind_its_board_too() -> None:
    analysis = sample("long-van")
    plan, panel = analysis.plan, analysis.plan.panels[0]
    device = next(d for d in plan.devices if d.surface == panel.surface and d.node and analysis.falls[d.id].length_mm)
    x, y = entry_point(device)
    # A board no larger than what it covers of the device: no channel runs behind it.
    small = replace(panel, outline=((x - 1, y - 1), (x + 1, y - 1), (x + 1, y + 1), (x - 1, y + 1)))
    ends = [w.id for w in analysis.wires.values() if device.id in (w.from_.device, w.to.device)]
    assert ends
    state = closing(analysis, small)
    assert (
        f"of {len(ends)} wires pulled" in {what: told for what, told, _ in state.asked}["every wire behind it pulled"]
    )
    assert any(what.endswith("tested") for what, _, _ in state.asked)
    x, y = panel.outline[0]
    bare = replace(panel, outline=((x + 1, y + 1), (x + 2, y + 1), (x + 2, y + 2), (x + 1, y + 2)))
    assert "no wire lies behind it" in str(closing(analysis, bare).asked)


def test_an_override_is_printed_with_its_reason() -> None:
    plan = wall()
    missing = closing(made(plan), plan.panels[0]).missing
    shut = close_panel(plan, "board", "2026-11-25", "the builder", missing, "duct comes later")
    table = close_out_sheet(made(shut))
    ((_, said),) = table.headings
    for word in ("CLOSED", "2026-11-25", "the builder", "duct comes later"):
        assert word in said
    told = str(table.rows)
    assert missing
    assert all(what in told for what in missing)
    ((_, open_),) = close_out_sheet(made(plan)).headings
    assert "NOT READY" in open_


def test_kits_of_a_day_hold_every_piece_and_fixing_once() -> None:
    """In the order of the pull plan, no day with more pieces than are asked for but for a pull that is larger."""
    analysis = sample("long-van")
    table = kit_list_by_day(replace_plan(analysis, pieces_per_day=20.0))
    starts = [*(at for at, _ in table.headings), len(table.rows)]
    days = [list(table.rows[a:b]) for a, b in zip(starts, starts[1:], strict=False)]
    wires = [[row for row in day if row[1] == "wire"] for day in days]
    assert max(map(len, wires)) <= 20
    open_ = [pull for pull in pulls(analysis) if not pull.done]
    names = Names(analysis.plan)
    ordered = [names(piece.piece) for pull in open_ for piece in pull.pieces]
    assert [str(row[2]).split(" ")[0] for day in wires for row in day] == [name.split(" ")[0] for name in ordered]
    laid = {channel for pull in open_ for channel in pull.way} - {c for p in pulls(analysis) if p.done for c in p.way}
    fixings = sum(row[3] for day in days for row in day if row[1] == "fixing")
    on_surfaces = [s for group in spots_by_surface(analysis).values() for s in group if s.kind == "fixing"]
    assert fixings == sum(spot.channel in laid for spot in on_surfaces)


def replace_plan(analysis: Analysis, **assumptions: object) -> Analysis:
    """The analysis with other assumptions that nothing computed depends on."""
    from dataclasses import replace as changed

    return changed(analysis, plan=replace(analysis.plan, assumptions=replace(analysis.plan.assumptions, **assumptions)))
