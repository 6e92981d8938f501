"""The samples counted again by hand: lengths, conductors, currents, drops, sizes, fuses and cuts.

Everything here comes from the raw plan, the tables in resources/ and formulas written a second time in tests/helpers/
(recount_*.py); the program is only asked for its two JSON outputs. Sources are named beside the formulas there.
"""

import math
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from core.model import DISTRIBUTION, Circuit, Device
from tests.helpers.recount_circuit import PUSHES, counted, linked_a
from tests.helpers.recount_place import ON_MM, ends
from tests.helpers.recount_sample import NAMES, Sample, sample
from tests.helpers.recount_size import IDLE, Row, standard_ratings

#: The tables print lengths and amperes with three decimals.
PRINTED = 0.00051
#: Roles that carry the current of their circuit.
LOADED = ("feed", "switched", "return", "line", "neutral")


@pytest.fixture(params=NAMES)
def told(request: pytest.FixtureRequest) -> Sample:
    return sample(request.param)


# --- the sheet -------------------------------------------------------------------------------------------------------


def test_a_line_of_a_fold_lies_on_its_parent_line_in_the_vehicle_and_on_the_sheet(told: Sample) -> None:
    sheet = told.ways.sheet
    for surface in told.plan.surfaces:
        if surface.fold is None:
            continue
        start, stop = ends(surface, surface.fold.line)
        parent = sheet.surfaces[surface.fold.parent]
        first, last = ends(parent, surface.fold.parent_line)
        for poses in (sheet.vehicle, sheet.flat):
            if poses is sheet.flat and surface.apart is not None:
                continue
            line = LineString([poses[parent.id].of(tuple(at)) for at in (first, last)])
            for at in (start, stop):
                assert line.distance(Point(poses[surface.id].of(tuple(at)))) < ON_MM


def test_seams_close_in_the_folded_vehicle(told: Sample) -> None:
    sheet = told.ways.sheet
    for seam in told.plan.seams:
        a = [sheet.vehicle[seam.a].of(tuple(at)) for at in ends(sheet.surfaces[seam.a], seam.a_line)]
        b = [sheet.vehicle[seam.b].of(tuple(at)) for at in ends(sheet.surfaces[seam.b], seam.b_line)]
        gap = max(float(np.linalg.norm(a[0] - b[1])), float(np.linalg.norm(a[1] - b[0])))
        assert gap < 10.0 or told.found("seam", seam.id)


def test_surfaces_on_the_sheet_do_not_overlap(told: Sample) -> None:
    flat = told.ways.sheet.flat
    laid = {s.id: Polygon([flat[s.id].of(corner.at_mm)[:2] for corner in s.corners]) for s in told.plan.surfaces}
    for a, b in combinations(laid, 2):
        assert laid[a].intersection(laid[b]).area <= 1.0 or told.found("sheet", a, b)


def test_lengths_of_channels(told: Sample) -> None:
    for row in told.tables["bundles"]:
        assert row["length_mm"] == pytest.approx(told.ways.lengths_mm[row["channel"]], abs=PRINTED), row["channel"]


# --- routes ----------------------------------------------------------------------------------------------------------


def test_a_route_is_an_unbroken_way_in_channels_of_its_group(told: Sample) -> None:
    for wire in told.wires:
        group = told.circuits.by_id[wire["circuit"]].group
        start, end = (told.ways.carriers[wire[key]].node for key in ("from", "to"))
        at, _ = told.ways.walked(start or "", wire["channels"])
        assert at == end, wire["wire"]
        for name in wire["channels"]:
            channel = told.ways.sheet.channels[name]
            assert channel.state != "blocked", (wire["wire"], name)
            assert group in channel.groups, (wire["wire"], name)


def test_a_route_is_its_channels_its_falls_and_what_it_passes(told: Sample) -> None:
    for wire in told.wires:
        carrier = told.ways.carriers[wire["from"]]
        _, walked = told.ways.walked(carrier.node or "", wire["channels"])
        whole = walked + told.ways.fall_mm(wire["from"]) + told.ways.fall_mm(wire["to"])
        assert wire["route_mm"] == pytest.approx(whole, abs=PRINTED), wire["wire"]


def test_no_route_is_shorter_than_the_network_allows(told: Sample) -> None:
    pulled = {row.wire for row in told.plan.as_pulled}
    for wire in told.wires:
        group = told.circuits.by_id[wire["circuit"]].group
        start, end = (told.ways.carriers[wire[key]].node or "" for key in ("from", "to"))
        shortest = told.ways.shortest_mm(group, start, end)
        assert shortest is not None
        # holes have a test of their own above; what they add is less than this
        holes = sum(hole.thickness_mm for hole in told.plan.penetrations)
        walked = wire["route_mm"] - told.ways.fall_mm(wire["from"]) - told.ways.fall_mm(wire["to"])
        assert walked >= shortest - holes - PRINTED, wire["wire"]
        # a detour for what is visible or hot may cost something, not the length of the van
        assert walked <= 2.0 * shortest + 500.0 or wire["wire"] in pulled, wire["wire"]


def test_feed_and_return_of_a_leg_share_their_way(told: Sample) -> None:
    apart = {circuit.id for circuit in told.plan.circuits if circuit.return_apart}
    legs = {(w["circuit"], w["from"], w["to"]): w for w in told.wires if told.role(w) in ("feed", "line")}
    shared = 0
    for wire in told.wires:
        if wire["role"] in ("return", "neutral", "protective_earth") and wire["circuit"] not in apart:
            leg = legs.get((wire["circuit"], wire["to"], wire["from"]))
            if leg is not None:
                assert sorted(leg["channels"]) == sorted(wire["channels"]), wire["wire"]
                shared += 1
    assert shared > 10


# --- conductors and currents -----------------------------------------------------------------------------------------


def test_every_conductor_between_two_terminals_is_a_row(told: Sample) -> None:
    for circuit in told.plan.circuits:
        rows = [wire for wire in told.wires if wire["circuit"] == circuit.id]
        expected = counted(told.circuits.conductors(circuit))
        got: dict[tuple[str, str, str], int] = {}
        for wire in rows:
            key = (told.role(wire), wire["from"], wire["to"])
            got[key] = got.get(key, 0) + 1
        assert got == dict(expected), circuit.name


def test_the_cores_of_a_cable_lie_together(told: Sample) -> None:
    kinds = {kind.id: kind for kind in told.plan.wire_kinds}
    cables: dict[str, list[Row]] = {}
    for wire in told.wires:
        circuit = told.circuits.by_id[wire["circuit"]]
        assert wire["cable"] or not circuit.as_cable, wire["wire"]
        if wire["cable"]:
            cables.setdefault(wire["cable"], []).append(wire)
    for cable, cores in cables.items():
        assert len(cores) <= kinds[cores[0]["kind"]].cores, cable
        for key in ("kind", "section_mm2", "od_mm", "route_mm", "cut_mm"):
            assert len({core[key] for core in cores}) == 1, (cable, key)
        assert len({tuple(sorted(core["channels"])) for core in cores}) == 1, cable


def test_colours_of_mains_cores(told: Sample) -> None:
    # IEC 60445 (memory): line brown, neutral blue, protective earth green-and-yellow and nothing else
    colours = {"line": "BN", "neutral": "BU", "protective_earth": "GNYE"}
    for wire in told.wires:
        if wire["role"] in colours:
            assert wire["colour"] == colours[wire["role"]], wire["wire"]
        elif wire["role"] != "bond":
            assert wire["colour"] != "GNYE", wire["wire"]


def test_what_lies_behind_a_switch_is_a_switched_leg(told: Sample) -> None:
    for one, rows in told.rows_of.items():
        circuit = told.circuits.by_id[one.circuit]
        if one.role == "feed" and circuit.kind == "branch":
            behind = told.circuits.behind_switch(circuit, one)
            assert {row["role"] for row in rows} == {"switched" if behind else "feed"}, rows[0]["wire"]


def test_currents_are_the_sums_of_what_hangs_on_the_tree(told: Sample) -> None:
    for one, rows in told.rows_of.items():
        circuit = told.circuits.by_id[one.circuit]
        if circuit.kind == "link":
            continue
        draw = told.circuits.carried(circuit, one)
        for row in rows:
            assert row["current_a"] == pytest.approx(draw.full_a, abs=PRINTED), row["wire"]
            if not (one.role == "return" and told.circuits.brought_back(row["from"])):
                assert row["peak_a"] == pytest.approx(draw.peak_a, abs=PRINTED), row["wire"]


def test_a_link_between_batteries_carries_its_share() -> None:
    told = sample("long-van")
    links = [circuit for circuit in told.plan.circuits if circuit.kind == "link"]
    assert links
    for link in links:
        ohm: dict[str, float] = {}
        for row in (row for row in told.wires if row["circuit"] == link.id):
            ohm[told.role(row)] = ohm.get(told.role(row), 0.0) + told.sizes.ohm(row)
        drawn = []
        for circuit in told.plan.circuits:
            first = circuit.stops[0].device
            if circuit is not link and first in (link.stops[0].device, link.stops[-1].device):
                feed = next(one for one in told.circuits.conductors(circuit) if one.role == "feed")
                home = circuit.return_path.device
                home = home if home in (link.stops[0].device, link.stops[-1].device) else link.stops[-1].device
                drawn.append((first, home, told.circuits.carried(circuit, feed).full_a))
        share = linked_a(told.plan, link, ohm, drawn)
        for row in (row for row in told.wires if row["circuit"] == link.id):
            assert row["current_a"] == pytest.approx(share[told.role(row)], rel=1e-3), (row["wire"], share)


# --- drop, ampacity, fuses -------------------------------------------------------------------------------------------


def test_drop_of_each_conductor(told: Sample) -> None:
    for wire in told.wires:
        assert wire["drop_v"] == pytest.approx(told.sizes.ohm(wire) * wire["current_a"], abs=PRINTED), wire["wire"]


def test_drop_from_source_to_load_and_back(told: Sample) -> None:
    drops = {one: told.sizes.ohm(rows[0]) * rows[0]["current_a"] for one, rows in told.rows_of.items() if rows}
    links = [w for w in told.wires if told.circuits.by_id[w["circuit"]].kind == "link"]
    linked = sum(told.sizes.ohm(wire) * wire["current_a"] for wire in links)
    checked = 0
    for circuit in told.plan.circuits:
        rows = [wire for wire in told.wires if wire["circuit"] == circuit.id and wire["role"] in LOADED]
        if not rows or circuit.kind == "link" or circuit.group in ("signal", "antenna"):
            continue
        source = told.circuits.devices[circuit.stops[0].device]
        base = 230.0 if circuit.group == "mains" else 12.0
        if circuit.kind == "solar_string":
            base = source.electrical.lowest_v or base
        stops = [stop.id for stop in circuit.stops[1:] if stop.role != "series"]
        roles = ("line", "neutral") if circuit.group == "mains" else ("feed", "return")
        worst = max(told.circuits.lost_v(circuit, stop, drops, roles) for stop in stops)
        # a battery that stands behind a link loses some volts in it
        more = 0.0 if circuit.group == "mains" or source.kind in PUSHES else linked
        for row in rows:
            percent = row["drop_percent"]
            assert 100 * worst / base - 0.002 <= percent <= 100 * (worst + more) / base + 0.002, row["wire"]
        critical = any(told.circuits.devices[stop.device].electrical.critical for stop in circuit.stops[1:])
        limit = circuit.drop_percent or told.sizes.limits["drop.critical" if critical else "drop.other"]
        assert rows[0]["drop_percent"] <= limit + 0.001 or told.found("size.drop", circuit.id), circuit.name
        checked += 1
    assert checked > 10


def test_ampacity_by_table_ambient_and_grouping(told: Sample) -> None:
    for wire in told.wires:
        base = told.sizes.base_a(told.sizes.kinds[wire["kind"]], wire["section_mm2"])
        group = told.circuits.by_id[wire["circuit"]].group
        informs = wire["role"] in ("data", "antenna") or group in ("signal", "antenna")
        if informs or base == 0.0:
            assert wire["ampacity_a"] is None, wire["wire"]  # nobody asks, or the table is silent
        elif wire["role"] not in IDLE:
            assert wire["ampacity_a"] == pytest.approx(told.sizes.ampacity_a(wire), abs=PRINTED), wire["wire"]


def test_no_conductor_carries_more_than_it_may(told: Sample) -> None:
    for wire in told.wires:
        if wire["role"] in LOADED and told.circuits.by_id[wire["circuit"]].group in ("dc_power", "mains"):
            allowed = told.sizes.ampacity_a(wire)
            assert wire["current_a"] <= allowed + PRINTED or told.found("size.", wire["circuit"]), wire["wire"]


def test_fuses(told: Sample) -> None:
    factor = told.sizes.limits["fuse.factor"]
    fused = {wire["circuit"]: wire["fuse_a"] for wire in told.wires if wire["fuse_a"] is not None}
    for circuit in told.plan.circuits:
        rows = [wire for wire in told.wires if wire["circuit"] == circuit.id and wire["fuse_a"] is not None]
        if circuit.protective.kind == "none":
            assert (not rows and circuit.protective.reason) or told.found("fuse.missing", circuit.id)
            continue
        fuse = fused[circuit.id]
        assert {row["fuse_a"] for row in rows} == {fuse}
        running = max(row["current_a"] for row in rows)
        peak = max(row["peak_a"] for row in rows)
        assert fuse >= factor * running - PRINTED or told.found("fuse", circuit.id), circuit.name
        allowed = min(told.sizes.ampacity_a(row) for row in rows)
        assert fuse <= allowed + PRINTED or told.found("size.fuse", circuit.id), circuit.name
        largest = [told.circuits.devices[stop.device].electrical.largest_fuse_a for stop in circuit.stops[1:]]
        if circuit.group != "mains":
            assert all(fuse <= most for most in largest if most) or told.found("fuse.device", circuit.id)
        if circuit.protective.rating_a is not None:
            assert fuse == circuit.protective.rating_a
            continue
        # nothing said: no larger than its load, its start, or the largest fuse behind it ask for
        behind = [fused[other] for other in _fed_by(told, circuit) if other in fused]
        wanted = max(factor * running, peak, *behind, 0.0)
        least = next(rating for rating in standard_ratings(circuit.protective.family) if rating >= wanted - PRINTED)
        assert fuse == least, circuit.name


def _fed_by(told: Sample, circuit: Circuit) -> list[str]:
    """Circuits that leave the distribution points a circuit feeds."""
    devices = told.circuits.devices
    if devices[circuit.stops[0].device].kind in PUSHES:
        return []
    points = {s.device for s in circuit.stops[1:] if s.role != "series" and devices[s.device].kind in DISTRIBUTION}
    return [other.id for other in told.plan.circuits if other.stops[0].device in points]


def test_a_rating_that_is_not_made_is_told(told: Sample) -> None:
    for circuit in told.plan.circuits:
        if circuit.protective.kind != "none" and circuit.protective.rating_a is not None:
            made = circuit.protective.rating_a in standard_ratings(circuit.protective.family)
            assert made or told.found("fuse", circuit.id), circuit.name


# --- cutting ---------------------------------------------------------------------------------------------------------


def _end_mm(told: Sample, device: Device) -> float:
    if device.end_allowance_mm is not None:
        return device.end_allowance_mm
    assumed = told.plan.assumptions
    return assumed.panel_allowance_mm if device.kind in DISTRIBUTION else assumed.end_allowance_mm


def _comes_in(told: Sample, wire: dict[str, Any]) -> int:
    """How often a wire goes from the weather inside or back, from device to device."""
    outside = {surface.id for surface in told.plan.surfaces if surface.side == "outside"}
    way = []
    for key in ("from", "to"):
        device = told.circuits.devices[wire[key]]
        way.append(device.outdoors or device.kind in ("shore_inlet", "solar") or device.surface in outside)
    channels = [told.ways.sheet.channels[name] for name in wire["channels"]]
    wet = [c.kind in ("underfloor", "exterior", "engine_bay") or c.surface in outside for c in channels]
    states = [way[0], *wet, way[1]]
    return sum(one is not other for one, other in pairwise(states))


def test_a_cut_is_the_route_and_its_allowances(told: Sample) -> None:
    assumed = told.plan.assumptions
    for wire in told.wires:
        route = wire["route_mm"]
        assert wire["cut_mm"] == pytest.approx(route + sum(wire["allowances"].values()), abs=2 * PRINTED)
        wanted = route + sum(_end_mm(told, told.circuits.devices[wire[key]]) for key in ("from", "to"))
        wanted += assumed.service_loop_mm + max(assumed.tolerance_least_mm, route * assumed.tolerance_percent / 100)
        wanted += assumed.drip_loop_mm * _comes_in(told, wire)
        steps = math.ceil(round(wanted / assumed.round_up_mm, 4))
        assert wire["cut_mm"] == pytest.approx(steps * assumed.round_up_mm, abs=PRINTED), wire["wire"]


def test_totals_count_a_cable_once(told: Sample) -> None:
    pieces = {wire["cable"] or wire["wire"]: wire for wire in told.wires}.values()
    totals = told.tables["totals"]
    assert totals["route_mm"] == pytest.approx(sum(wire["route_mm"] for wire in pieces), abs=0.1)
    assert totals["cut_mm"] == pytest.approx(sum(wire["cut_mm"] for wire in pieces), abs=0.1)
    assert totals["cut_mm"] == pytest.approx(sum(row["cut_mm"] for row in told.tables["cutting"]), abs=0.1)
    assert totals["route_mm"] + totals["allowance_mm"] == pytest.approx(totals["cut_mm"], abs=0.1)
    mass = sum(told.sizes.size(wire).mass_g_per_m * wire["cut_mm"] / 1e6 for wire in pieces)
    assert totals["mass_kg"] == pytest.approx(mass, abs=0.001)


def test_every_piece_comes_off_a_spool_that_is_long_enough(told: Sample) -> None:
    kinds = {kind.id: kind for kind in told.plan.wire_kinds}
    stock = {spool.id: spool.left_mm for spool in told.plan.spools}
    cut: dict[str, list[float]] = {}
    longest: dict[str, float] = {}
    rows = {wire["cable"] or wire["wire"]: wire for wire in told.wires}
    left = {row["spool"]: row["waste_mm"] for row in told.tables["cutting"]}
    for row in told.tables["cutting"]:
        wire = rows[row["cable"] or row["wire"]]
        cut.setdefault(row["spool"], []).append(row["cut_mm"])
        longest[row["spool"]] = stock.get(row["spool"], max(kinds[wire["kind"]].spools_m) * 1000)
    assert {row["cable"] or row["wire"] for row in told.tables["cutting"]} == set(rows)
    kerf = told.plan.assumptions.kerf_mm
    for spool, pieces in cut.items():
        used = sum(pieces) + kerf * (len(pieces) - 1)
        assert used <= longest[spool] + PRINTED, spool
        if spool in stock:
            assert left[spool] == pytest.approx(stock[spool] - used, abs=kerf + PRINTED), spool
