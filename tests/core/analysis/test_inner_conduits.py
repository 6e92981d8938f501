"""Conduits in a bundle: a round thing of its own, full or empty, bought, and with room for later wires."""

import math

import pytest
from msgspec.structs import replace

from core.analysis.bundles import conduit_od_mm
from core.analysis.engine import analyse
from core.edits.inner import lay_inner_conduit, take_inner_conduits_out
from core.edits.records import delete
from core.errors import EditRefused
from core.files import codec
from core.files.references import problems
from core.geometry.packing import pack
from core.model import ConduitKind, Plan
from core.studies.remedies import remedies
from tests.helpers.grid import LIBRARY, channel, plan

CONDUIT = next(c for c in LIBRARY.conduit_kinds if c.id == "conduit-closed-10")  # bore 9.8 mm, outside 13 mm


def two() -> Plan:
    """Two circuits in one channel."""
    of = plan({"a": (50.0, 500.0), "b": (3_950.0, 500.0)}, (channel("c", "a", "b"),), "a", "b")
    other = replace(of.circuits[0], id="D", name="Fan", section_mm2=2.5)
    return replace(of, circuits=(replace(of.circuits[0], section_mm2=1.0), other))


def test_an_empty_conduit_is_packed_with_the_wires_and_bought() -> None:
    of = lay_inner_conduit(two(), ["c"], CONDUIT, draw_string=True)
    assert problems(of) == ()
    assert codec.decode(codec.encode(of)) == of
    before, after = analyse(two(), LIBRARY).bundles["c"], analyse(of, LIBRARY).bundles["c"]
    ods = [*(i.od_mm for i in before.items), 13.0]
    assert sorted(i.od_mm for i in after.items) == sorted(ods)
    assert after.diameter_tight_mm == pytest.approx(pack(ods, "refined").diameter_mm)
    assert after.wires == before.wires
    bought = {row.item: row.quantity for row in analyse(of, LIBRARY).materials}
    assert bought[CONDUIT.name] == 4.1  # 3.9 m and 5 % waste
    assert bought["draw string"] == math.ceil(4.9 * 1.05 * 10) / 10


def test_the_wires_of_its_circuits_lie_in_it() -> None:
    of = lay_inner_conduit(two(), ["c"], CONDUIT, ["D"])
    bundle = analyse(of, LIBRARY).bundles["c"]
    (inner,) = [i for i in bundle.items if i.conduit]
    assert {analyse(of, LIBRARY).wires[w].circuit for w in inner.wires} == {"D"}
    assert len(bundle.items) == 3  # two loose wires and the conduit
    assert len(bundle.wires) == 4
    assert bundle.mass_g_per_m == pytest.approx(analyse(two(), LIBRARY).bundles["c"].mass_g_per_m)
    # cut, sized and routed as before
    pieces = [(p.piece, p.cut_mm, p.section_mm2) for p in analyse(of, LIBRARY).pieces]
    assert pieces == [(p.piece, p.cut_mm, p.section_mm2) for p in analyse(two(), LIBRARY).pieces]


def test_one_that_is_too_full_says_so_and_what_is_wide_enough() -> None:
    """NEC Chapter 9 Table 1: two conductors fill 31 % at the most."""
    thin = ConduitKind(id="conduit-closed-5", name="Thin", bore_mm=5.0, source="x", known="memory")
    of = lay_inner_conduit(two(), ["c"], thin, ["D"])
    analysis = analyse(of, LIBRARY)
    (finding,) = [f for f in analysis.findings if f.code == "bore.inner"]
    od = next(i for i in analysis.bundles["c"].items if i.conduit).inside_mm
    assert finding.value == pytest.approx(100 * sum(d * d for d in od) / 25.0)
    assert finding.limit == 31.0
    (remedy,) = remedies(finding, analysis, LIBRARY)
    after = analyse(remedy.apply(of), LIBRARY)
    assert not [f for f in after.findings if f.code == "bore.inner"]
    assert conduit_od_mm(thin) == 9.0


def test_edits_of_inner_conduits() -> None:
    of = lay_inner_conduit(two(), ["c"], CONDUIT, ["D"])
    with pytest.raises(EditRefused, match="Fan"):
        lay_inner_conduit(of, ["c"], CONDUIT, ["D"])
    with pytest.raises(EditRefused, match="used by"):
        delete(of, [CONDUIT.id])
    without, _ = delete(of, ["D"])
    assert without.channels[0].inner[0].circuits == ()
    assert take_inner_conduits_out(of, ["c"]).channels == two().channels
    with pytest.raises(EditRefused, match="no conduit"):
        take_inner_conduits_out(two(), ["c"])
