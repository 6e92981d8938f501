"""The sample plans: made anew they are the same, they open, and they say what a van builder would expect."""

import json
from collections import Counter
from math import dist
from pathlib import Path

import pytest
from shapely.geometry import Polygon
from shapely.geometry import box as shapely_box

from core.analysis.analysis import Analysis
from core.analysis.engine import Analyser, analyse
from core.cli import main
from core.edits.devices import move_device
from core.files.codec import decode, encode, read_plan
from core.files.library import load_library
from core.geometry.edges import outline_of
from core.geometry.entry import entry_point
from core.model import COLLECTIONS, Device, Plan
from sample_layouts import make_samples

FOLDER = Path(make_samples.__file__).parent
CAMPER, LONG = "weekend-camper.loomplan", "long-van.loomplan"
SAMPLES = (CAMPER, LONG)
#: Findings that are there to teach, by code and count; each code is told in the plan's note.
TAUGHT = {
    CAMPER: {
        "bend.tight": 1,
        "fuse.backup": 2,
        "size.drop_ends": 1,
        "securing.panel_screw": 1,
        "rub.seam": 1,
        "separation.data": 1,
        "route.provisional": 1,
        "cutting.provisional": 1,
    },
    LONG: {
        "rub.rib": 1,
        "fuse.backup": 3,
        "size.drop_ends": 5,
        "securing.panel_screw": 1,
        "rub.seam": 1,
        "separation.data": 1,
        "bend.node": 1,
        "device.clearance": 1,
        "route.provisional": 1,
        "cutting.provisional": 1,
        "caution.mains": 1,
    },
}
WAIVED = {CAMPER: {}, LONG: {"fuse.backup": 1}}
#: Least numbers of circuits, wires and kinds of record.
LEAST = {CAMPER: (12, 30, 20), LONG: (45, 120, 30)}
#: Sections in mm2 that builders use for such circuits: common practice, no source.
USUAL_MM2 = {
    CAMPER: {
        "House feed": (10.0, 35.0),
        "Charger, from the vehicle battery": (10.0, 25.0),
        "Fridge": (2.5, 6.0),
        "Water pump": (1.5, 4.0),
        "Ceiling lights, right": (1.0, 1.5),
        "Ceiling lights, left": (1.0, 1.5),
        "Roof fan": (1.0, 2.5),
        "Air heater": (1.5, 6.0),
        "12 V socket": (2.5, 6.0),
    },
    LONG: {
        "House feed": (50.0, 120.0),
        "Inverter, 12 V side": (50.0, 95.0),
        "Solar string 1": (4.0, 6.0),
        "Solar string 2": (4.0, 6.0),
        "Vehicle battery to alternator charger": (10.0, 35.0),
        "Fridge": (2.5, 6.0),
        "Water pump": (1.5, 4.0),
        "Ceiling lights, right": (1.0, 1.5),
        "Ceiling lights, left": (1.0, 1.5),
        "Air heater": (2.5, 6.0),
        "Induction hob": (1.5, 4.0),
        "Shore feed": (2.5, 6.0),
    },
}


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    return {name: read_plan(FOLDER / name) for name in SAMPLES}


@pytest.fixture(scope="module")
def analyses(plans: dict[str, Plan]) -> dict[str, Analysis]:
    """Packing quality changes diameters by a hair and nothing that is asked here."""
    library = load_library()
    return {name: analyse(plan, library, "quick") for name, plan in plans.items()}


def test_every_sample_in_the_folder_has_its_maker() -> None:
    assert sorted(path.name for path in FOLDER.glob("*.loomplan")) == sorted(make_samples.SAMPLES) == sorted(SAMPLES)


@pytest.mark.parametrize("name", SAMPLES)
def test_file_is_what_its_maker_makes(name: str) -> None:
    made = encode(make_samples.SAMPLES[name]())
    assert made == (FOLDER / name).read_bytes(), "python -m sample_layouts.make_samples makes it anew"


@pytest.mark.parametrize("name", SAMPLES)
def test_file_survives_opening_and_saving_to_the_byte(name: str) -> None:
    data = (FOLDER / name).read_bytes()
    assert encode(decode(data, name)) == data


@pytest.mark.parametrize("name", SAMPLES)
def test_sample_is_as_large_as_its_van(name: str, plans: dict[str, Plan], analyses: dict[str, Analysis]) -> None:
    circuits, wires, kinds = LEAST[name]
    assert len(plans[name].circuits) >= circuits
    assert len(analyses[name].wires) >= wires
    assert sum(bool(getattr(plans[name], each)) for each in COLLECTIONS) >= kinds


def test_groups_of_the_samples(plans: dict[str, Plan]) -> None:
    assert {circuit.group for circuit in plans[CAMPER].circuits} == {"dc_power", "signal"}
    assert {circuit.group for circuit in plans[LONG].circuits} == {"dc_power", "signal", "mains", "antenna"}


@pytest.mark.parametrize("name", SAMPLES)
def test_only_findings_that_teach(name: str, plans: dict[str, Plan], analyses: dict[str, Analysis]) -> None:
    findings = analyses[name].findings
    told = [f"{f.code}: {f.message}" for f in findings]
    assert not [f for f in findings if f.severity == "error"], told
    assert Counter(f.code for f in findings if not f.waived) == TAUGHT[name], told
    assert Counter(f.code for f in findings if f.waived) == WAIVED[name], told
    for code in (*TAUGHT[name], *WAIVED[name]):
        assert code in plans[name].note


@pytest.mark.parametrize("name", SAMPLES)
def test_every_wire_has_a_way_that_a_tape_would_measure(name: str, analyses: dict[str, Analysis]) -> None:
    """No way along surfaces is shorter than the straight line through the air between the two wire entries."""
    analysis = analyses[name]
    layout = analysis.sheet.layout

    def at(device: Device) -> tuple[float, float, float]:
        return layout.pose(device.surface).to_vehicle(entry_point(device))

    sides = {s.id: layout.pose(s.id).to_vehicle(c.at_mm) for s in analysis.plan.surfaces for c in s.corners}
    longest = 2 * max(dist(a, b) for a in sides.values() for b in sides.values())
    pieces = {wire: piece for piece in analysis.pieces for wire in piece.wires}
    for wire in analysis.wires.values():
        route_mm = analysis.routes[wire.id].route_mm
        assert route_mm is not None, wire.id
        ends = [analysis.devices[end.device] for end in (wire.from_, wire.to)]
        # A fall typed from the tape goes through the air, from a place on the device that is nearer to its neighbour.
        loose = sum(max(end.width_mm, end.height_mm) for end in ends if end.fall_mm is not None)
        assert dist(at(ends[0]), at(ends[1])) <= route_mm + loose + 1e-6, wire.id
        assert route_mm <= longest, wire.id
        assert route_mm < pieces[wire.id].cut_mm <= route_mm * 1.25 + 1_500.0, wire.id


@pytest.mark.parametrize("name", SAMPLES)
def test_sections_are_those_that_builders_use(name: str, plans: dict[str, Plan], analyses: dict[str, Analysis]) -> None:
    analysis = analyses[name]
    by_name = {circuit.name: circuit.id for circuit in plans[name].circuits}
    for circuit, (least, most) in USUAL_MM2[name].items():
        sections = {analysis.sized[w.id].section_mm2 for w in analysis.wires.values() if w.circuit == by_name[circuit]}
        assert sections, circuit
        assert least <= min(sections), circuit
        assert max(sections) <= most, circuit


@pytest.mark.parametrize("name", SAMPLES)
def test_fridge_drop_by_hand(name: str, plans: dict[str, Plan], analyses: dict[str, Analysis]) -> None:
    """Ohm's law with the greatest resistances of ISO 6722-1 (from memory: 2.5 mm2 7.6, 4 mm2 4.71, 6 mm2 3.14 ohm/km
    at 20 C) and copper's 0.00393 per kelvin (IEC 60228 table of temperature factors) up to 60 C."""
    analysis = analyses[name]
    (circuit,) = (circuit.id for circuit in plans[name].circuits if circuit.name == "Fridge")
    for wire in (wire for wire in analysis.wires.values() if wire.circuit == circuit):
        sized, route_mm = analysis.sized[wire.id], analysis.routes[wire.id].route_mm
        assert route_mm is not None
        ohm_per_km = {2.5: 7.6, 4.0: 4.71, 6.0: 3.14}[sized.section_mm2]
        by_hand = 5.0 * ohm_per_km * (1 + 0.00393 * 40) * route_mm / 1e6
        assert sized.drop_v == pytest.approx(by_hand, rel=0.005)


@pytest.mark.parametrize("name", SAMPLES)
def test_devices_lie_on_their_surface_and_not_on_each_other(name: str, plans: dict[str, Plan]) -> None:
    outlines = {surface.id: Polygon(outline_of(surface)) for surface in plans[name].surfaces}
    placed: dict[str, list[tuple[str, Polygon]]] = {}
    for device in plans[name].devices:
        x, y = device.at_mm
        quarter = round(device.turn_deg / 90) % 2
        wide, high = (device.height_mm, device.width_mm) if quarter else (device.width_mm, device.height_mm)
        footprint = shapely_box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
        assert outlines[device.surface].buffer(1.0).contains(footprint), device.name
        for other, there in placed.setdefault(device.surface, []):
            assert footprint.intersection(there).area < 1.0, f"{device.name} lies on {other}"
        placed[device.surface].append((device.name, footprint))


def test_moving_a_device_changes_its_wires_and_moving_it_back_gives_the_same_answers(plans: dict[str, Plan]) -> None:
    plan = plans[CAMPER]
    analyser = Analyser(load_library())
    before = analyser.analyse(plan, "quick")
    fridge = next(device for device in plan.devices if device.name == "Fridge")
    circuit = next(circuit.id for circuit in plan.circuits if circuit.name == "Fridge")
    there = (fridge.at_mm[0] - 40.0, fridge.at_mm[1])
    moved = analyser.analyse(move_device(plan, fridge.id, fridge.surface, there), "quick")
    for wire in before.wires.values():
        same = moved.routes[wire.id].route_mm == before.routes[wire.id].route_mm
        assert same != (wire.circuit == circuit), wire.id
    again = analyser.analyse(plan, "quick")
    assert {w: r.route_mm for w, r in again.routes.items()} == {w: r.route_mm for w, r in before.routes.items()}
    assert again.findings == before.findings


#: DESIGN section 6: other programs read these names.
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


def test_tables_of_the_camper_have_the_keys_of_the_contract(capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["tables", str(FOLDER / CAMPER), "--json"]) == 0
    document = json.loads(capsysbinary.readouterr().out)
    assert set(document) == {*KEYS, "totals", "sizing"}
    assert [sheet["wire"] for sheet in document["sizing"]] == [row["wire"] for row in document["wires"]]
    for table, keys in KEYS.items():
        assert document[table], table
        for row in document[table]:
            assert set(row) == set(keys.split()), table
    assert set(document["totals"]) == {"route_mm", "allowance_mm", "cut_mm", "tape_mm", "rolls", "mass_kg"}
    cut_mm = sum(row["cut_mm"] for row in document["cutting"])
    assert document["totals"]["cut_mm"] == pytest.approx(cut_mm, abs=1.0)


def test_check_of_the_camper_ends_well(capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["check", str(FOLDER / CAMPER), "--json"]) == 0
    document = json.loads(capsysbinary.readouterr().out)
    assert document["counts"]["error"] == 0
    assert {finding["code"] for finding in document["findings"]} == set(TAUGHT[CAMPER])
