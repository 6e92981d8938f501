"""Stories of sizing through the whole engine: makers' tables, thin returns, insulated walls, minimum volts.

The makers' tables are those of the two stories of the electrical issue: a 12 V 5 A fridge (2.5, 4, 6 and 10 mm2 up to
2.5, 4, 6 and 10 m one way; the same sections reach twice as far at 24 V) and a heater counted there and back (4 mm2 to
5 m, 6 mm2 to 8 m). Ampacity: ISO 10133 Annex A (resources/tables, from memory). Covered length: BS 7671 (from memory),
50 mm 0.89 ... 500 mm 0.5.
"""

import pytest
from msgspec.structs import replace

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.model import (
    AsPulled,
    CableTableRow,
    Circuit,
    Device,
    Electrical,
    Limit,
    Plan,
    ProfileUse,
    Protective,
    ReturnPath,
    Stop,
)
from tests.helpers.grid import KIND, LIBRARY, changed, channel, plan

FRIDGE_12 = ((2_500.0, 2.5), (4_000.0, 4.0), (6_000.0, 6.0), (10_000.0, 10.0))
FRIDGE = tuple(CableTableRow(up_to_mm=mm, section_mm2=s, system="dc12") for mm, s in FRIDGE_12) + tuple(
    CableTableRow(up_to_mm=2 * mm, section_mm2=s, system="dc24") for mm, s in FRIDGE_12
)
HEATER = (CableTableRow(up_to_mm=5_000.0, section_mm2=4.0), CableTableRow(up_to_mm=8_000.0, section_mm2=6.0))


def line(length_mm: float, way: dict | None = None, **electrical) -> Plan:
    """A fuse block and a load that far apart, one measured channel between them."""
    made = plan(
        {"a": (100.0, 100.0), "b": (1_100.0, 100.0)},
        (channel("c", "a", "b", measured_mm=length_mm, **(way or {})),),
        "a",
        "b",
        **electrical,
    )
    return replace(made, devices=tuple(replace(d, fall_mm=0.0) for d in made.devices))


def told(analysis: Analysis, code: str) -> list[str]:
    return [f.message for f in analysis.findings if f.code == code]


def codes(analysis: Analysis) -> set[str]:
    return {f.code for f in analysis.findings}


def on_24_volts(of: Plan) -> Plan:
    """The block hangs on a 24 V battery."""
    battery = Device(
        id="battery", name="Battery", kind="battery", surface="floor", at_mm=(100.0, 100.0), node="a", fall_mm=0.0,
        electrical=Electrical(system="dc24", short_circuit_a=800.0, rating_a=100.0),
    )  # fmt: skip
    feed = Circuit(
        id="F", name="Feed", kind="feeder", section_mm2=16.0,
        stops=(Stop(id="0", device="battery", role="source"), Stop(id="1", device="source", after="0")),
        protective=Protective(family="on_post"),
    )  # fmt: skip
    return replace(of, devices=(*of.devices, battery), circuits=(*of.circuits, feed))


# --- the maker's table -------------------------------------------------------------------------------------------


def fridge(length_mm: float, **fields) -> Plan:
    return line(length_mm, current_a=5.0, maker_table=FRIDGE, also=("dc24",), **fields)


@pytest.mark.parametrize(
    ("length_mm", "section_mm2"),
    [(2_400.0, 2.5), (2_500.0, 2.5), (2_600.0, 4.0), (4_000.0, 4.0), (5_900.0, 6.0), (9_000.0, 10.0)],
)
def test_the_fridge_makers_table_counts_one_way(length_mm: float, section_mm2: float) -> None:
    analysis = analyse(fridge(length_mm), LIBRARY)
    assert analysis.sized["C-1F"].section_mm2 == analysis.sized["C-1R"].section_mm2 == section_mm2
    assert analysis.sized["C-1F"].decided_by == "maker's table"
    assert f"{length_mm / 1000:.2f} m one way" in analysis.sized["C-1F"].reason


def test_the_fridge_refuses_a_thinner_wire_with_the_reason() -> None:
    by_hand = changed(fridge(2_600.0), "circuits", "C", section_mm2=2.5)
    (message,) = told(analyse(by_hand, LIBRARY), "size.maker")
    assert "2.5 mm² is smaller than the 4 mm² that the maker's table asks for" in message
    # general rules alone would have taken it: 5 A over 5.2 m of 7.6 ohm/km is 0.35 V of 1.2 V
    assert "size.drop" not in codes(analyse(by_hand, LIBRARY))


def test_the_same_fridge_at_24_volts() -> None:
    analysis = analyse(on_24_volts(fridge(4_900.0)), LIBRARY)
    assert analysis.loads["C"].base_v == 24.0
    assert analysis.loads["C"].current_a == pytest.approx(2.5)  # the same power
    assert analysis.sized["C-1F"].section_mm2 == 2.5
    assert "voltage.mismatch" not in codes(analysis)


@pytest.mark.parametrize(
    ("one_way_mm", "section_mm2", "outside"),
    [(2_400.0, 4.0, False), (2_500.0, 4.0, False), (2_600.0, 6.0, False), (4_000.0, 6.0, False), (4_100.0, 6.0, True)],
)
def test_the_heater_makers_table_counts_there_and_back(one_way_mm: float, section_mm2: float, outside: bool) -> None:
    analysis = analyse(line(one_way_mm, maker_table=HEATER, maker_lengths="there_and_back"), LIBRARY)
    assert analysis.sized["C-1F"].section_mm2 == section_mm2
    assert ("maker.outside" in codes(analysis)) == outside
    if outside:
        (finding,) = (f for f in analysis.findings if f.code == "maker.outside")
        assert (finding.value, finding.limit, finding.unit) == (pytest.approx(2 * one_way_mm), 8_000.0, "mm")


def test_a_table_without_rows_for_the_voltage_is_said() -> None:
    rows = tuple(replace(row, system="dc24") for row in HEATER)
    analysis = analyse(line(2_000.0, maker_table=rows), LIBRARY)
    assert "maker.rows" in codes(analysis)
    assert analysis.sized["C-1F"].decided_by != "maker's table"


def test_the_fuse_of_the_makers_row_is_taken_unless_told() -> None:
    rows = tuple(replace(row, fuse_a=20.0) for row in HEATER)
    made = line(2_000.0, maker_table=rows)
    assert analyse(made, LIBRARY).circuit_sizes["C"].fuse_a == 20.0
    by_hand = changed(made, "circuits", "C", protective=Protective(rating_a=10.0))
    assert analyse(by_hand, LIBRARY).circuit_sizes["C"].fuse_a == 10.0


# --- feed and return ---------------------------------------------------------------------------------------------


def test_a_thin_return_behind_a_large_fuse_is_one_error_that_names_it() -> None:
    """10 AWG feed, 18 AWG return, 30 A fuse: 33 CFR 183.425 Table 5, 105 C: 60 A and 20 A (read)."""
    boat = next(k for k in LIBRARY.wire_kinds if k.id == "wire-boat")
    made = line(2_000.0, current_a=20.0)
    made = replace(made, wire_kinds=(*made.wire_kinds, boat), profile=ProfileUse(id="boat-us", version="1"))
    protective = Protective(family="blade_regular", rating_a=30.0)
    made = changed(made, "circuits", "C", wire_kind=boat.id, section_mm2=5.261, protective=protective)
    made = replace(made, as_pulled=(AsPulled(id="p", wire="C-1R", section_mm2=0.823),))
    faults = [f for f in analyse(made, LIBRARY).findings if f.code in ("size.fuse", "size.ampacity", "size.minimum")]
    over = [f for f in faults if f.code == "size.fuse"]
    assert len(over) == 1
    assert "return C-1R" in over[0].message
    assert "18 AWG" in over[0].message
    assert (over[0].value, over[0].limit, over[0].unit) == (pytest.approx(20.0), 30.0, "A")
    assert not any("C-1F" in f.message for f in faults)


def test_the_body_as_return_counts_the_feed_only_and_says_so() -> None:
    two = analyse(line(3_000.0), LIBRARY)
    body = analyse(changed(line(3_000.0), "circuits", "C", return_path=ReturnPath(kind="chassis")), LIBRARY)
    same = two.sized["C-1F"].section_mm2 == body.sized["C-1F"].section_mm2
    assert same
    assert body.circuit_sizes["C"].drops[0][1] == pytest.approx(two.circuit_sizes["C"].drops[0][1] / 2)
    (note,) = told(body, "return.chassis")
    assert "only the feed is counted" in note
    assert "chassis.no_point" in codes(body)
    assert "return.chassis" not in codes(two)


# --- heat --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("covered_mm", "low", "high"), [(0.0, 1.0, 1.0), (80.0, 0.81, 0.89), (600.0, 0.5, 0.5), (50.0, 0.89, 0.89)]
)
def test_insulated_wall(covered_mm: float, low: float, high: float) -> None:
    """BS 7671: 50 mm 0.89, 100 mm 0.81, 200 mm 0.68, 400 mm 0.55, 500 mm and more 0.5 (from memory)."""
    analysis = analyse(line(2_000.0, {"covered_mm": covered_mm}, current_a=6.0), LIBRARY)
    found = [f.value for f in analysis.sized["C-1F"].factors if f.name == "covered length"] or [1.0]
    assert low <= found[0] <= high


def test_the_aircraft_profile_counts_each_bundle_by_its_own_loading() -> None:
    """Three circuits, six conductors in one channel: the curve for six wires by what is in use, not one for all.

    14 AWG of Table 11-9 at 105 C, 10 A, taken back to free air: 10 / (0.52 x 0.79) = 24.3 A, six of them 146 A.
    6 x 1 A is within 0.20 x 0.85 x 146 = 24.8 A; 6 x 8 A = 48 A beyond 0.40 x 0.725 x 146 = 42.3 A and within
    0.60 x 0.655 x 146 = 57.4 A.
    """
    profile = next(p for p in LIBRARY.profiles if p.id == "aircraft")
    use = ProfileUse(id=profile.id, version=profile.version)

    def note(amps: float) -> str:
        made = line(5_000.0, current_a=amps)
        first = next(c for c in made.circuits if c.id == "C")
        rows = tuple(replace(first, id=name, section_mm2=2.5) for name in ("C", "D", "E"))
        analysis = analyse(replace(made, circuits=rows, profile=use), LIBRARY)
        return next(f.note for f in analysis.sized["C-1F"].factors if f.name == "grouping")

    assert note(1.0) == "6 conductors together, MIL-W-5088L, 20 % of the bundle's capacity in use"
    assert note(8.0) == "6 conductors together, MIL-W-5088L, 60 % of the bundle's capacity in use"
    high = Limit(rule="altitude.m", value=6_096.0, unit="m", source="here", known="common practice")
    thin = replace(line(5_000.0, current_a=1.0), profile=replace(use, changes=(high,)))
    factors = {f.name: f.value for f in analyse(thin, LIBRARY).sized["C-1F"].factors}
    assert factors["altitude"] == pytest.approx(0.91)


def test_engine_space_has_the_printed_factor_of_33_cfr() -> None:
    """33 CFR 183.425 Table 5 note 1 at 50 C: 0.85 for 105 C (read, UL 1426 table); closed form 0.856."""
    boat = next(k for k in LIBRARY.wire_kinds if k.id == "wire-boat")
    made = line(2_000.0, {"kind": "engine_bay"})
    made = replace(made, wire_kinds=(*made.wire_kinds, boat), profile=ProfileUse(id="boat-us", version="1"))
    made = changed(made, "circuits", "C", wire_kind=boat.id)
    (ambient,) = (f for f in analyse(made, LIBRARY).sized["C-1F"].factors if f.name == "ambient")
    assert ambient.value == pytest.approx(0.85)
    assert "engine space" in ambient.note


def test_wires_in_a_bundle_carry_less_and_idle_ones_do_not_count() -> None:
    """33 CFR 183.425 note 2: 3 loaded 0.7, 4 to 6 0.6 (read via UL 1426)."""
    made = line(2_000.0)
    second = replace(made.circuits[0], id="D", name="Other")
    analysis = analyse(replace(made, circuits=(*made.circuits, second)), LIBRARY)
    assert analysis.sized["C-1F"].grouped == 4
    (grouping,) = (f for f in analysis.sized["C-1F"].factors if f.name == "grouping")
    assert grouping.value == 0.6
    bond = replace(second, kind="bond", conductors=("bond",), protective=Protective(kind="none", reason="bond"))
    assert analyse(replace(made, circuits=(*made.circuits, bond)), LIBRARY).sized["C-1F"].grouped == 2


# --- drop --------------------------------------------------------------------------------------------------------


def test_drop_by_hand_over_feeder_and_branch() -> None:
    """Ohm's law; ISO 6722-1 resistance (from memory) at 60 C by 294.5/254.5."""
    made = on_24_volts(line(3_000.0, {}, system="dc24", current_a=4.0))
    analysis = analyse(made, LIBRARY)
    row = next(r for r in KIND.sizes if r.section_mm2 == analysis.sized["C-1F"].section_mm2)
    hot = 294.5 / 254.5 / 1000
    branch = 2 * 4.0 * 3.0 * row.r20_ohm_per_km * hot
    assert analysis.circuit_sizes["C"].drops[0][1] == pytest.approx(branch)  # the feeder has no length here
    assert analysis.sized["C-1F"].drop_percent == pytest.approx(100 * branch / 24)


def test_what_stays_in_the_vehicle_beyond_the_route_is_told() -> None:
    """8 A, 6 m of 2.5 mm2 (7.6 ohm/km, ISO 6722): 0.844 V over the route; with 300 mm at the panel, 150 at the device
    and a loop of 50, kept in feed and return, 6.5 m and 0.915 V. The measuring tolerance is cut off and loses nothing.
    """
    ohm = 7.6e-3 * 294.5 / 254.5
    made = changed(line(6_000.0, current_a=8.0), "circuits", "C", section_mm2=2.5, drop_percent=7.3)
    analysis = analyse(made, LIBRARY)
    (note,) = (f for f in analysis.findings if f.code == "size.drop_ends")
    assert (note.severity, note.unit) == ("note", "V")
    assert note.value == pytest.approx(2 * 8 * 6.5 * ohm)
    assert note.limit == pytest.approx(0.073 * 12)
    assert 2 * 8 * 6.0 * ohm < note.limit < note.value
    assert analysis.circuit_sizes["C"].drops[0][1] == pytest.approx(2 * 8 * 6.0 * ohm)
    short = replace(made, assumptions=replace(made.assumptions, panel_allowance_mm=50.0, end_allowance_mm=50.0))
    assert "size.drop_ends" not in codes(analyse(short, LIBRARY))


def test_a_section_that_nobody_sells_has_the_resistance_of_its_copper() -> None:
    """5 mm2, pulled from an old drum: 4 mm2 has 4.71 ohm/km (ISO 6722-1), five quarters of the copper 3.77."""
    analysis = analyse(changed(line(6_000.0, current_a=8.0), "circuits", "C", section_mm2=5.0), LIBRARY)
    hot_ohm_per_m = 4.71e-3 * 4 / 5 * 294.5 / 254.5
    assert analysis.sized["C-1F"].r_ohm_per_m == pytest.approx(hot_ohm_per_m)
    assert analysis.sized["C-1F"].drop_v == pytest.approx(8.0 * 6.0 * hot_ohm_per_m)


def test_drop_along_a_daisy_chain_by_hand() -> None:
    """Two lamps on one circuit, 3 A at 2 m and 5 A another 4 m on, 2.5 mm2 (7.6 ohm/km, ISO 6722), copper at 60 °C:
    8 A over the first 2 m and 5 A over the next 4 m, there and back. The near lamp loses the first part only.
    """
    made = plan(
        {"a": (100.0, 100.0), "b": (1_100.0, 100.0), "c": (2_100.0, 100.0)},
        (channel("c1", "a", "b", measured_mm=2_000.0), channel("c2", "b", "c", measured_mm=4_000.0)),
        "a", "b", current_a=3.0,
    )  # fmt: skip
    made = replace(made, devices=tuple(replace(d, fall_mm=0.0) for d in made.devices))
    near = made.devices[1]
    far = replace(near, id="far", name="Far", node="c", electrical=Electrical(current_a=5.0))
    chain = Stop(id="2", device="far", after="1")
    rows = tuple(replace(c, section_mm2=2.5, stops=(*c.stops, chain)) for c in made.circuits)
    analysis = analyse(replace(made, devices=(*made.devices, far), circuits=rows), LIBRARY)
    ohm = 7.6e-3 * 294.5 / 254.5
    drops = {stop: volts for stop, volts, _, _ in analysis.circuit_sizes["C"].drops}
    assert drops["1"] == pytest.approx(2 * 8 * 2.0 * ohm)
    assert drops["2"] == pytest.approx(2 * (8 * 2.0 + 5 * 4.0) * ohm)
    assert analysis.sized["C-2F"].drop_v == pytest.approx(5 * 4.0 * ohm)


def test_rules_can_be_mixed_and_each_shows_its_source() -> None:
    """One limit from elsewhere (7 % for other consumers, svb-media, read): the sheet and the reason name it."""
    mine = Limit(rule="drop.other", value=7.0, unit="%", source="svb-media wire page", known="read")
    made = line(30_000.0, current_a=8.0)
    mixed = replace(made, profile=replace(made.profile, changes=(mine,)))
    analysis = analyse(mixed, LIBRARY)
    assert "7 % of 12 V, svb-media wire page" in analysis.sized["C-1F"].reason
    assert "10 % of 12 V" in analyse(made, LIBRARY).sized["C-1F"].reason


def test_the_devices_own_lowest_voltage_beats_a_laxer_limit() -> None:
    """10 % of 12 V are 1.2 V, but a device that works down to 11.5 V may lose 0.5 V only."""
    lax = analyse(line(6_000.0, current_a=6.0), LIBRARY)
    strict = analyse(line(6_000.0, current_a=6.0, lowest_v=11.5), LIBRARY)
    assert lax.circuit_sizes["C"].drops[0][2] == pytest.approx(1.2)
    assert strict.circuit_sizes["C"].drops[0][2] == pytest.approx(0.5)
    assert strict.circuit_sizes["C"].drops[0][1] <= 0.5
    assert strict.sized["C-1F"].section_mm2 > lax.sized["C-1F"].section_mm2
    assert "works down to 11.5 V" in strict.sized["C-1F"].reason


def test_a_peak_that_starves_the_device_makes_the_wire_thicker() -> None:
    """Starting current 20 A, works down to 11 V: at most 1 V over 6 m there and back at 20 A is 4.2 mohm a metre."""
    calm = analyse(line(6_000.0, current_a=5.0, lowest_v=11.0), LIBRARY).sized["C-1F"]
    hard = analyse(line(6_000.0, current_a=5.0, peak_a=20.0, lowest_v=11.0, largest_fuse_a=10.0), LIBRARY)
    assert hard.sized["C-1F"].section_mm2 > calm.section_mm2
    assert 20.0 * 2 * 6.0 * hard.sized["C-1F"].r_ohm_per_m <= 1.0
    assert "at its peak" in hard.sized["C-1F"].reason


def test_a_limit_that_nothing_meets_names_the_load_and_the_best() -> None:
    found = [f for f in analyse(line(90_000.0, current_a=20.0), LIBRARY).findings if f.code == "size.drop"]
    assert len(found) == 1
    assert "to Load" in found[0].message
    assert "even the largest sections" in found[0].message
    assert found[0].source == "10 % of 12 V, ABYC E-11"


# --- profiles ----------------------------------------------------------------------------------------------------


def test_terminals_and_fuse_table_of_the_recreational_vehicle() -> None:
    """NEC 551.10(E)(1), 2008: 18 AWG 6 A, 16 AWG 8 A, 14 AWG 15 A, 12 AWG 20 A, 10 AWG 30 A (values from memory)."""
    boat = next(k for k in LIBRARY.wire_kinds if k.id == "wire-boat")
    for fuse, gauge in ((5.0, "18"), (7.5, "16"), (15.0, "14"), (20.0, "12"), (30.0, "10")):
        made = line(500.0, current_a=2.0)
        made = replace(made, wire_kinds=(*made.wire_kinds, boat), profile=ProfileUse(id="rv-us", version="1"))
        protective = Protective(rating_a=fuse)
        made = changed(made, "circuits", "C", wire_kind=boat.id, protective=protective)
        sized = analyse(made, LIBRARY).sized["C-1F"]
        assert sized.gauge_awg == gauge
    assert sized.decided_by in ("fuse table", "fuse")


@pytest.mark.parametrize("profile", LIBRARY.profiles, ids=lambda p: p.id)
def test_every_profile_sizes_a_plan_and_says_its_empty_fields(profile) -> None:
    made = replace(line(3_000.0), profile=ProfileUse(id=profile.id, version=profile.version))
    analysis = analyse(made, LIBRARY)
    assert analysis.sized["C-1F"].section_mm2 > 0
    empty = [row for row in profile.limits if row.value is None]
    assert ("profile.empty" in codes(analysis)) == bool(empty)
    filled = tuple(replace(row, value=row.meanwhile, source="my own copy") for row in empty)
    own = replace(made, profile=ProfileUse(id=profile.id, version=profile.version, changes=filled))
    assert "profile.empty" not in codes(analyse(own, LIBRARY))


def test_the_exception_of_33_cfr_is_printed_where_it_is_used() -> None:
    """33 CFR 183.455(c): below 50 V a fuse of at most 150 % of the ampacity (read)."""
    profile = LIBRARY.profile("van-metric")
    share = next(row for row in profile.limits if row.rule == "fuse.ampacity_share")
    changes = (replace(share, value=1.5, source="33 CFR 183.455(c)", known="read"),)
    made = line(1_000.0, current_a=2.0)
    made = changed(made, "circuits", "C", section_mm2=1.0, protective=Protective(rating_a=25.0))
    assert "size.fuse" in codes(analyse(made, LIBRARY))
    own = replace(made, profile=ProfileUse(id=profile.id, version=profile.version, changes=changes))
    analysis = analyse(own, LIBRARY)
    assert "size.fuse" not in codes(analysis)
    (message,) = told(analysis, "fuse.exception")
    assert "1.5 times" in message
