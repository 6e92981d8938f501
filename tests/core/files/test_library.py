"""The shipped library holds together and agrees with the published tables; the user's additions are read leniently."""

import csv
import math
from pathlib import Path

import msgspec
import pytest

from core.analysis.rules import REQUIRED
from core.electrical.ampacity import BY_LOADING, ampacity_table, grouping_table
from core.electrical.protection import families
from core.errors import FileProblem
from core.files import decode, encode, library, load_library, placed
from core.files.library import Library
from core.files.references import problems
from core.model import FORMAT, Corner, Limit, Plan, Profile, ProfileUse, Surface, WireKind, WireSize
from core.resources import resource

LIBRARY = load_library()
KINDS = ("wire_kinds", "tape_kinds", "conduit_kinds", "grommet_kinds", "fixing_kinds", "wrap_styles")


def kind(name: str) -> WireKind:
    return next(k for k in LIBRARY.wire_kinds if k.id == name)


def size(name: str, section_mm2: float) -> WireSize:
    return next(row for row in kind(name).sizes if row.section_mm2 == section_mm2)


def rows(name: str) -> list[dict[str, str]]:
    lines = resource(f"tables/{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


# --- the shipped files -------------------------------------------------------------------------------------------


def test_a_plan_may_hold_a_copy_of_everything_and_be_read_again() -> None:
    corners = tuple(Corner(id=f"c{i}", at_mm=at) for i, at in enumerate(((0.0, 0.0), (9000.0, 0.0), (0.0, 9000.0))))
    devices = tuple(placed(t, f"d{i}", "s", (100.0 * i, 5.0)) for i, t in enumerate(LIBRARY.devices))
    plan = Plan(
        format=FORMAT,
        id="p",
        name="all",
        profile=ProfileUse(id="van-metric", version="1"),
        surfaces=(Surface(id="s", name="floor", role="floor", corners=corners),),
        devices=devices,
        **{name: getattr(LIBRARY, name) for name in KINDS},
    )
    assert problems(plan) == ()
    assert decode(encode(plan)) == plan


@pytest.mark.parametrize("found", LIBRARY.wire_kinds, ids=lambda k: k.id)
def test_sizes_of_a_wire_grow_in_everything_and_its_mass_is_computed_as_said(found: WireKind) -> None:
    """Mass: copper 8.96 g/cm3, the rest of the cross-section PVC of 1.40 g/cm3 (the header of the file says so)."""
    for before, after in zip(found.sizes, found.sizes[1:], strict=False):
        assert before.section_mm2 < after.section_mm2
        assert before.od_mm < after.od_mm
        assert before.r20_ohm_per_km > after.r20_ohm_per_km
    for row in found.sizes:
        metal_mm2 = found.cores * row.section_mm2
        rest_mm2 = math.pi / 4 * row.od_mm**2 - metal_mm2 / 0.78
        assert rest_mm2 > 0
        filled = 1.0 if found.cores == 1 else 0.85
        assert row.mass_g_per_m == pytest.approx(8.96 * metal_mm2 + 1.40 * filled * rest_mm2, abs=0.06)
    assert len(found.core_colours) in (0, found.cores)
    assert found.source.strip()


@pytest.mark.parametrize("found", LIBRARY.wire_kinds, ids=lambda k: k.id)
def test_resistance_is_that_of_copper(found: WireKind) -> None:
    """IACS annealed copper has 17.241 ohm.mm2/km at 20 C (read, tnlab.org). The greatest resistances of IEC 60228
    class 5 lie above it for lay and tolerance: 39.0 ohm/km at 0.5 mm2 is 13 %, tinned 5.09 at 4 mm2 18 % more."""
    for row in found.sizes:
        assert 0.99 < row.r20_ohm_per_km * row.section_mm2 / 17.241 < 1.19


def test_thin_wall_wire_is_that_of_the_vehicle_table() -> None:
    """resources/tables/iso6722_od.csv: resistance from memory, diameters read in a maker's sheet."""
    table = {float(row["area_mm2"]): row for row in rows("iso6722_od")}
    for row in (*kind("wire-thin-wall").sizes, *kind("wire-battery").sizes):
        published = table[row.section_mm2]
        assert row.r20_ohm_per_km == float(published["r20_max_mohm_per_m"])
        assert row.od_mm == float(published["vendor_od_max_mm"] or published["od_max_mm"])


def test_boat_cable_has_the_area_of_its_gauge_and_the_resistance_of_nec_table_8() -> None:
    """ASTM B258 areas; NEC Chapter 9 Table 8, coated, at 75 C (read), e.g. 14 AWG 3.26 ohm/kft."""
    table = {row["awg"]: row for row in rows("awg")}
    for row in kind("wire-boat").sizes:
        published = table[str(row.gauge_awg)]
        assert row.section_mm2 == pytest.approx(float(published["area_mm2"]), abs=0.0006)
        at_75_c = float(published["nec_r75_coated_stranded_ohm_per_kft"]) / 0.3048
        assert row.r20_ohm_per_km == pytest.approx(at_75_c * 254.5 / 309.5, rel=0.005)
        assert row.od_mm > float(published["nec_stranded_od_in"]) * 25.4 + 1.5


def test_primary_wire_has_less_copper_than_boat_cable_of_the_same_gauge() -> None:
    """SAE conductors have 0.88 to 0.97 of the AWG area (read in two tables: 18 AWG 1,537 cmil, 12 AWG 5,833 cmil)."""
    boat = {row.gauge_awg: row.section_mm2 for row in kind("wire-boat").sizes}
    for row in kind("wire-primary-awg").sizes:
        assert 0.87 < row.section_mm2 / boat[row.gauge_awg] < 0.97
    assert size("wire-primary-awg", 0.779).gauge_awg == "18"


def test_mains_flex_has_the_resistance_of_iec_60228_class_5() -> None:
    """IEC 60228: 13.3 ohm/km at 1.5 mm2, 7.98 at 2.5 mm2 (read x3)."""
    for name in ("wire-mains-flex", "wire-mains-rubber"):
        assert (size(name, 1.5).r20_ohm_per_km, size(name, 2.5).r20_ohm_per_km) == (13.3, 7.98)
        assert kind(name).group == "mains"
        assert kind(name).core_colours == ("brown", "blue", "green-yellow")


def test_wrap_styles_have_their_tape_and_every_separation_group_has_a_wire() -> None:
    tapes = {tape.id for tape in LIBRARY.tape_kinds}
    assert {style.tape for style in LIBRARY.wrap_styles} - {None} <= tapes
    assert {k.group for k in LIBRARY.wire_kinds} == {"mains", "dc_power", "signal", "antenna"}


def test_holes_are_wider_than_bores_and_conduits_wider_outside() -> None:
    assert all(g.hole_mm > g.bore_mm for g in LIBRARY.grommet_kinds)
    assert all(c.od_mm is None or c.od_mm > c.bore_mm for c in LIBRARY.conduit_kinds)
    assert any(c.split for c in LIBRARY.conduit_kinds)


def test_no_id_of_the_catalogue_is_used_twice_and_each_says_its_kind() -> None:
    """A plan holds copies beside its own records, so a kind called "battery" would clash with a device of that name."""
    ids = [record.id for name in KINDS for record in getattr(LIBRARY, name)]
    assert len(ids) == len(set(ids))
    for name in KINDS:
        assert all(record.id.startswith(name.split("_")[0] + "-") for record in getattr(LIBRARY, name))


# --- profiles ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", LIBRARY.profiles, ids=lambda p: p.id)
def test_a_profile_has_every_rule_with_a_source_and_tables_that_exist(profile: Profile) -> None:
    rules = [row.rule for row in profile.limits]
    assert len(rules) == len(set(rules))
    assert set(REQUIRED) <= set(rules)
    assert all(row.source and row.unit for row in profile.limits)
    ampacity_table(profile.ampacity_table)
    if profile.grouping_table != BY_LOADING:
        grouping_table(profile.grouping_table)
    for row in profile.limits:
        # a number without a source says so in both fields
        assert (row.source == "common practice") == (row.known == "common practice")


def test_the_profiles_have_the_same_rules_in_the_same_units() -> None:
    first, *others = ([(row.rule, row.unit) for row in profile.limits] for profile in LIBRARY.profiles)
    assert all(other == first for other in others)


@pytest.mark.parametrize(
    ("profile", "rule", "value", "known", "source"),
    [
        # ISO 10133:2012 7.3 and 7.4 (read, mealir.com)
        ("van-metric", "securing.span_mm", 450, "read", "ISO 10133:2012 7.3"),
        ("van-metric", "securing.battery_span_mm", 300, "read", "ISO 10133:2012 7.4"),
        # 3 % critical, 10 % other: ABYC (read x3), ISO 10133 4.8 the same 3 % group (read)
        ("van-metric", "drop.critical", 3, "read", "ISO 10133 4.8"),
        ("boat-us", "drop.other", 10, "read", "ABYC E-11"),
        # 33 CFR 183.455(b): 7 in, 40 in (read); ABYC 72 in (read x3)
        ("boat-us", "fuse.distance_mm", 7 * 25.4, "read", "33 CFR 183.455(b)"),
        ("boat-us", "fuse.distance_sheathed_mm", 40 * 25.4, "read", "33 CFR 183.455(b)"),
        ("boat-us", "fuse.distance_battery_mm", 72 * 25.4, "read", "ABYC E-11"),
        # 18 in of the supply connection (read, codebookcity.com)
        ("rv-us", "fuse.distance_mm", 18 * 25.4, "read", "NEC 551.10(E)"),
        # 18 in: from memory
        ("boat-us", "securing.span_mm", 18 * 25.4, "memory", "ABYC E-11"),
        # NEC Chapter 9 Table 1 (read in four sources)
        ("van-metric", "fill.conduit_1", 53, "read", "NEC Chapter 9 Table 1"),
        ("van-metric", "fill.conduit_2", 31, "read", "NEC Chapter 9 Table 1"),
        ("van-metric", "fill.conduit_3", 40, "read", "NEC Chapter 9 Table 1"),
        # AC 43.13-1B 11-115: 3/8 in; 11-96w: 6 in; 11-158b: 12 in (read)
        ("van-metric", "edge.clearance_mm", 25.4 * 3 / 8, "read", "FAA AC 43.13-1B 11-115"),
        ("van-metric", "zone.fuel_mm", 6 * 25.4, "read", "FAA AC 43.13-1B 11-96w"),
        ("van-metric", "tie.max_pitch_mm", 12 * 25.4, "read", "FAA AC 43.13-1B 11-158b"),
        # NEC 552.10: every 4 ft; 552.10(C)(3): 13 mm (read, solar365)
        ("van-metric", "label.interval_mm", 48 * 25.4, "read", "NEC 552.10"),
        ("van-metric", "separation.mains_mm", 13, "read", "NEC 552.10(C)(3)"),
        # NASA-STD-8739.4 7.3.21: 6 (read); FAA bundle 10: memory
        ("van-metric", "bend.wire_multiple", 6, "read", "NASA-STD-8739.4 7.3.21"),
        ("van-metric", "bend.bundle_multiple", 10, "memory", "FAA AC 43.13-1B chapter 11"),
    ],
)
def test_limits_are_those_of_their_sources(profile: str, rule: str, value: float, known: str, source: str) -> None:
    found = next(row for row in LIBRARY.profile(profile).limits if row.rule == rule)
    assert found.value == pytest.approx(value, rel=1e-12)
    assert (found.known, found.source) == (known, source)


def test_the_smallest_boat_wire_allowed_is_16_awg() -> None:
    """33 CFR 183.425: No. 16 run singly (read)."""
    least = next(row.value for row in LIBRARY.profile("boat-us").limits if row.rule == "wire.min_section_mm2")
    assert min(row.section_mm2 for row in kind("wire-boat").sizes if row.section_mm2 >= least) == 1.309


def test_an_owners_changes_lie_over_the_profile() -> None:
    mine = Limit(rule="drop.other", value=5, unit="%", source="my own", known="common practice")
    made = LIBRARY.profile_of(ProfileUse(id="van-metric", version="1", changes=(mine,)))
    assert next(row for row in made.limits if row.rule == "drop.other") == mine
    assert len(made.limits) == len(LIBRARY.profile("van-metric").limits)


def test_a_plan_gets_its_own_version_of_a_profile_else_the_newest() -> None:
    """An old plan gives the same answers as long as the library still has its version."""
    first = LIBRARY.profile("van-metric")
    later = [msgspec.structs.replace(first, version=version) for version in ("2", "3")]
    held = msgspec.structs.replace(LIBRARY, profiles=(later[0], first, later[1]))
    versions = {asked: held.profile_of(ProfileUse(id="van-metric", version=asked)).version for asked in "129"}
    assert versions == {"1": "1", "2": "2", "9": "3"}


def test_an_unknown_profile_is_told_with_those_there_are() -> None:
    with pytest.raises(KeyError, match="no profile 'x'; there are van-metric, boat-us, rv-us"):
        LIBRARY.profile("x")


# --- devices -----------------------------------------------------------------------------------------------------


def test_there_are_enough_devices_and_each_has_ports_advice_and_a_mark_as_typical() -> None:
    assert len(LIBRARY.devices) >= 30
    for template in LIBRARY.devices:
        assert template.ports, template.id
        assert template.advice.endswith("."), template.id
        assert template.words, template.id
        assert template.electrical.typical, template.id
    assert len({template.id for template in LIBRARY.devices}) == len(LIBRARY.devices)


def test_every_device_says_how_its_conductors_end_and_by_which_wire() -> None:
    """The kinds issue 6 names, each with terminals and kinds of wire; room and heat where they matter."""
    named = {kind.id: kind for kind in LIBRARY.wire_kinds}
    for template in LIBRARY.devices:
        assert all(port.terminal for port in template.ports), template.id
        assert template.wire_kinds, template.id
        assert set(template.wire_kinds) <= set(named), template.id
        assert template.depth_mm > 0, template.id
        if template.electrical.system in ("ac230", "ac120"):
            assert any(named[kind].group == "mains" for kind in template.wire_kinds), template.id
        if template.kind in ("fridge", "inverter", "charger"):
            assert template.clearance_mm > 0, template.id
            assert template.electrical.heat_w > 0, template.id
    assert {template.kind for template in LIBRARY.devices} >= {
        "light", "fan", "pump", "heater", "fridge", "socket", "usb", "charger", "converter", "inverter", "battery",
        "solar", "shunt", "switch", "fuse_block", "panelboard", "bus_bar", "sensor", "antenna", "speaker", "alarm",
        "shore_inlet", "mains_outlet",
    }  # fmt: skip


def test_ways_name_families_of_fuses_that_exist_and_can_hold_their_largest() -> None:
    for template in LIBRARY.devices:
        for way in template.ways:
            assert way.largest_a <= max(families()[way.fuse_family].ratings_a), template.id


def test_every_mains_device_defers_to_licensed_people_or_says_what_it_is() -> None:
    for template in LIBRARY.devices:
        if template.electrical.system in ("ac230", "ac120") and template.kind != "rcd":
            assert "licensed person" in template.advice, template.id


def test_a_device_with_mains_at_its_ports_has_a_protective_earth() -> None:
    for template in LIBRARY.devices:
        roles = {port.role for port in template.ports}
        if "line" in roles and template.kind != "rcd":
            assert {"neutral", "protective_earth"} <= roles, template.id


# --- the user's additions ----------------------------------------------------------------------------------------


def added(tmp_path: Path, text: str, name: str = "mine.toml") -> Library:
    (tmp_path / name).write_text(text, encoding="utf-8")
    return load_library(tmp_path)


TAPE = """\
[[tape_kinds]]
id = "tape-mine"
name = "my tape"
width_mm = %s
thickness_mm = 0.2
roll_mm = 10000
source = "label"
known = "read"
"""


def test_an_addition_is_read_and_the_rest_stays(tmp_path: Path) -> None:
    found = added(tmp_path, TAPE % "15")
    assert found.problems == ()
    assert found.tape_kinds[-1].width_mm == 15
    assert found.tape_kinds[:-1] == LIBRARY.tape_kinds


def test_an_addition_with_a_shipped_id_replaces_it_in_its_place(tmp_path: Path) -> None:
    shipped = LIBRARY.tape_kinds[0]
    found = added(tmp_path, (TAPE % "18").replace("tape-mine", shipped.id))
    assert found.tape_kinds[0].name == "my tape"
    assert found.tape_kinds[1:] == LIBRARY.tape_kinds[1:]


def test_a_profile_of_ones_own_is_one_file(tmp_path: Path) -> None:
    text = resource("profiles/van-metric.toml").read_text(encoding="utf-8").replace('"van-metric"', '"mine"')
    found = added(tmp_path, text)
    assert found.problems == ()
    assert found.profile("mine").limits == LIBRARY.profile("van-metric").limits


def test_a_faulty_record_is_left_out_and_told_with_file_line_and_path_while_the_others_stay(tmp_path: Path) -> None:
    found = added(tmp_path, TAPE % "15" + "\n" + (TAPE % '"wide"').replace("tape-mine", "tape-two"))
    assert [tape.id for tape in found.tape_kinds][-1] == "tape-mine"
    assert str(found.problems[0]) == (
        "mine.toml, record at line 10, tape_kinds[1].width_mm: there is the text 'wide' (expected a number)"
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[[tape_kinds]\n", "mine.toml, line 1, column 13: this is no TOML"),
        (
            'tapes = [{id = "x"}]',
            "mine.toml: 'tapes' is no list of the library (expected one of wire_kinds, tape_kinds",
        ),
        ("tape_kinds = 5", "mine.toml: 'tape_kinds' is no list of the library"),
        ("tape_kinds = [5]", "tape_kinds[0]: there is the number 5 (expected a record)"),
        ((TAPE % "nan"), "width_mm: there is a number beyond all measure (expected a number > 0.0)"),
        ((TAPE % "2") + "temperature_c = inf", "tape_kinds[0].temperature_c: the number is not finite"),
        ((TAPE % "-2"), "width_mm: there is the number -2 (expected a number > 0.0)"),
        ((TAPE % "2") + "colour = 1", "the field 'colour' is not known"),
        ("x = " + "[" * 5000, "mine.toml"),
    ],
)
def test_a_faulty_file_is_told_and_does_no_harm(tmp_path: Path, text: str, told: str) -> None:
    found = added(tmp_path, text)
    assert told in str(found.problems[0])
    assert found.tape_kinds == LIBRARY.tape_kinds


def test_files_that_are_no_text_or_too_large_are_told_and_others_are_read(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_bytes(b"\xff\xfe")
    with (tmp_path / "b.toml").open("wb") as file:
        file.truncate(200 * 1024 * 1024)
    (tmp_path / "c.toml").mkdir()
    found = added(tmp_path, TAPE % "15", "d.toml")
    assert [str(problem) for problem in found.problems] == [
        "a.toml, byte 1: the file is no UTF-8 text (expected UTF-8)",
        "b.toml: the file is too large (expected at most 4 MB)",
    ]
    assert found.tape_kinds[-1].id == "tape-mine"


def test_a_folder_that_is_not_there_adds_nothing(tmp_path: Path) -> None:
    assert load_library(tmp_path / "none") == LIBRARY


def test_a_damaged_shipped_file_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = tmp_path / "wire_kinds.toml"
    broken.write_text('[[wire_kinds]]\nid = "x"\n', encoding="utf-8")
    monkeypatch.setattr(library, "resource", lambda name: broken if name == "wire_kinds.toml" else resource(name))
    # read anew; the library that every test shares stays the one it is
    monkeypatch.setattr(library, "_shipped", library._shipped.__wrapped__)
    with pytest.raises(FileProblem, match=r"wire_kinds.toml, record at line 1, wire_kinds\[0\]: the field 'name'"):
        load_library()


def test_a_library_is_a_value() -> None:
    assert load_library() is load_library()
    with pytest.raises(AttributeError):
        LIBRARY.tape_kinds = ()  # type: ignore[misc]
    assert msgspec.structs.replace(LIBRARY, problems=()) == LIBRARY
