"""Crossings: how bad, and what protects."""

import math
from dataclasses import dataclass

import pytest

from core.harness.crossing import (
    acute_deg,
    edge_trim_length_mm,
    gland_for,
    grommet_for,
    hole_needed_mm,
    plug_passes,
    severity,
    split_conduit_for,
)
from tests.core.harness.tables import rows

ORDER = ("note", "warning", "error")
KINDS = (
    "metal_edge",
    "hole",
    "opening",
    "rib",
    "panel_edge",
    "box_wall",
    "wheel_arch",
    "wet",
    "hot",
    "seam",
    "unheard",
)


@dataclass(frozen=True)
class GrommetRow:
    bore_mm: float
    hole_mm: float
    sheet_mm: float


@dataclass(frozen=True)
class ConduitRow:
    name: str
    bore_mm: float
    split: bool = True


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("angle", [5.0, 45.0, 90.0])
@pytest.mark.parametrize("moving", [False, True])
def test_protection_never_makes_it_worse_and_movement_never_better(kind: str, angle: float, moving: bool) -> None:
    bare, cured = severity(kind, angle, False, moving), severity(kind, angle, True, moving)
    assert ORDER.index(cured) <= ORDER.index(bare)
    assert ORDER.index(severity(kind, angle, False, True)) >= ORDER.index(severity(kind, angle, False, False))
    assert ORDER.index(severity(kind, 5.0, False, moving)) >= ORDER.index(severity(kind, 90.0, False, moving))


def test_cases_everybody_agrees_on() -> None:
    # ISO 10133:2012 7.5 and 33 CFR 183.445(a) (read): protect where a conductor passes sharp edges and structure.
    assert severity("metal_edge", 90.0, protected=False, moving=False) == "error"
    assert severity("hole", 90.0, protected=True, moving=False) == "note"
    assert severity("rib", 90.0, protected=False, moving=False) == "warning"
    assert severity("rib", 10.0, protected=False, moving=False) == "error"
    assert severity("seam", 90.0, protected=False, moving=False) == "note"
    assert severity("metal_edge", 90.0, protected=True, moving=True) == "warning"
    for kind in ("airbag", "gas", "fuel"):
        assert severity(kind, 90.0, protected=True, moving=False) == "error"


def test_an_angle_is_one_of_lines_not_of_directions() -> None:
    assert [acute_deg(a) for a in (0.0, 30.0, 150.0, 180.0, -30.0, 210.0, 90.0)] == [
        0.0,
        30.0,
        30.0,
        0.0,
        30.0,
        30.0,
        90.0,
    ]


def test_holes() -> None:
    # AC 43.13-1B 11-249: a quarter larger than the bundle (read).
    assert hole_needed_mm(20.0) == pytest.approx(25.0)
    assert plug_passes(18.0, 18.0)
    assert not plug_passes(18.1, 18.0)


def test_the_grommet_takes_bundle_and_sheet() -> None:
    table = [GrommetRow(10, 14, 1.5), GrommetRow(9.5, 15.9, 1.6), GrommetRow(13, 16, 1.5), GrommetRow(13, 18, 3.0)]
    assert grommet_for(9.4, 1.0, table) == GrommetRow(9.5, 15.9, 1.6)
    assert grommet_for(9.6, 1.0, table) == GrommetRow(10, 14, 1.5)
    assert grommet_for(10.0, 2.0, table) == GrommetRow(13, 18, 3.0)
    assert grommet_for(12.0, 1.2, table) == GrommetRow(13, 16, 1.5)
    assert grommet_for(14.0, 1.0, table) is None
    assert grommet_for(9.0, 6.0, table) is None


def test_a_gland_seals_on_no_thinner_cable_than_it_clamps() -> None:
    # DIN 40430 threads with the cables they clamp: PG7 3 to 6.5 mm, PG29 18 to 25 mm (a published table, read).
    assert gland_for(2.9) is None
    assert gland_for(25.1) is None
    for cable_mm, name in ((3.0, "PG7"), (6.5, "PG7"), (6.6, "PG9"), (13.0, "PG16"), (25.0, "PG29")):
        found = gland_for(cable_mm)
        assert found is not None
        assert found.name == name


def test_edge_trim_grows_with_a_shallow_angle() -> None:
    assert edge_trim_length_mm(12.0, 90.0) == pytest.approx(62.0)
    assert edge_trim_length_mm(12.0, 30.0, margin_mm=10.0) == pytest.approx(44.0)
    assert edge_trim_length_mm(12.0, 150.0, margin_mm=10.0) == pytest.approx(44.0)
    assert math.isfinite(edge_trim_length_mm(12.0, 0.0))


def test_split_conduit_against_the_handbook() -> None:
    # Handbook of a maker of convoluted conduit, table II (read): largest bundles at 50 and 60 % fill, which the maker
    # takes for the least bore of each size, so they are up to 4 % below bore x sqrt(fill).
    table = [r for r in rows("loom_sizes.csv") if r["series"].startswith("convoluted")]
    conduits = [ConduitRow(r["nominal"], float(r["id_mm"])) for r in table]
    for percent in (50, 60):
        for row in table:
            printed = row[f"bundle_mm_{percent}pct"]
            if printed:
                assert float(row["id_mm"]) * math.sqrt(percent / 100.0) == pytest.approx(float(printed), rel=0.045)
                chosen = split_conduit_for(float(printed), conduits, percent)
                assert chosen is not None
                assert chosen.name == row["nominal"]
    # 70 %: size 12 takes 7.75 mm (.305 in), size 24 takes 15.4 mm (.607 in).
    for name, bundle in (("size 12", 7.75), ("size 24", 15.4)):
        found = split_conduit_for(bundle, conduits)
        assert found is not None
        assert found.name == name
    assert split_conduit_for(40.0, conduits) is None
    assert split_conduit_for(5.0, [ConduitRow("closed", 20.0, split=False)]) is None
