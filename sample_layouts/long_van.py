"""A long van with a high roof, fully fitted out: 12 V and mains, solar, a bank of two batteries, about 50 circuits.

Floor 4,300 x 1,780 mm, walls of 1,910 mm that lean in by 3 degrees. On the sheet the floor lies at (0, 0), the right
wall, the ceiling and the outer roof above it, the left wall below it; cab floor and electrical board lie apart.
"""

from core.analysis.engine import analyse
from core.edits.channels import add_securing_point
from core.edits.devices import set_node
from core.edits.records import set_assumptions, set_plan, waive
from core.model import Plan, Revision, StockSpool, TestResult
from sample_layouts import long_van_body, long_van_channels, long_van_circuits, long_van_devices
from sample_layouts.bench import Bench

NOTE = """\
A sample of our own: a long van with a high roof for living on the road. Sizes are of the kind a tape gives; powers are
typical, not those of any make. Mains, gas and airbags are shown so that wires keep away from them: their own work is
for licensed people under the local code.

Findings that are here to teach:
- rub.rib: the rear end of the left row of lights passes a bow without a grommet. Line the bow, or go below.
- fuse.backup: the small fuses rely on the class T fuse to open with them in a dead short. At the bars it is waived.
- size.drop_ends: five circuits are within their volts over the route, but not with every end left long. Cut the ends
  short when they are made off, or take one size more.
- securing.panel_screw: which screws may be used where the ceiling boards cover the crossing.
- separation.data: tank levels, heater control and loudspeakers lie with 12 V wires. Loudspeakers and levels bear it.
- bend.node: at the board and at the roof's edge bundles turn square between short channels; give them room there.
- device.clearance: the charge controller stands against the alternator charger, and both ask for air. Move one.
- rub.seam: look at every fold between sheets of steel before a bundle is laid over it.
- route.provisional, cutting.provisional: the way through the cab floor to the vehicle battery was not looked into yet.
- caution.mains: every plan with mains carries it.
"""


def make() -> Plan:
    b = Bench("Long van, full fit-out", "long-van")
    b.kinds(
        "wire-battery",
        "wire-solar",
        "wire-earth",
        "wire-data-pair",
        "wire-network",
        "wire-mains-flex",
        "wire-mains-rubber",
        "wrap-half-lap-cloth",
        "wrap-split-conduit",
        "wrap-spot-tape",
        "wrap-open-spiral",
    )
    b.plan = set_plan(
        b.plan,
        note=NOTE,
        build_for="customer",
        customer={"name": "Sample customer", "reference": "Long van 1"},
        vehicle={"description": "Long van, high roof, sliding door on the right", "driver_side": "left"},
    )
    b.plan = set_assumptions(b.plan, wrap="wrap-half-lap-cloth")
    s = long_van_body.draw(b)
    long_van_devices.place(b, s)
    long_van_channels.draw(b, s)
    _join(b)
    long_van_circuits.connect(b)
    long_van_devices.small_parts(b, s)
    b.protect(but=("Lights, left row, rear",))
    long_van_circuits.as_pulled(b)
    _papers(b)
    return b.plan


def _join(b: Bench) -> None:
    b.join("House battery 1", "House battery 2")
    fuses = ("Main fuse, class T", "Always-live fuse")
    for fuse in fuses:
        b.join_as(fuse, "House battery 1")
    b.join_as("Link fuse", "House battery 2")
    first = b.named("Mains left")[0]
    blocks = ("Fuse block, living", "Fuse block, appliances", "Fuse block, always live")
    b.join(*blocks, to="Board, fuse blocks")
    chargers = ("Alternator charger", "Charge controller")
    b.join(*chargers, to="Board, chargers")
    by_hand = {"House battery 1", "House battery 2", *fuses, *blocks, *chargers, "Chassis stud", "Link fuse"}
    b.plan = set_node(b.plan, b.devices["Chassis stud"], first.start)
    b.join(*(name for name in b.devices if name not in by_hand))


def _papers(b: Bench) -> None:
    bars = b.devices["Bus bars, positive and return"]
    backed = next(
        finding
        for finding in analyse(b.plan, b.library, "quick").findings
        if finding.code == "fuse.backup" and bars in finding.subjects
    )
    reason = "The maker of the strip fuses says that the class T fuse before them opens first."
    b.did(waive(b.plan, backed.code, backed.subjects, reason, by="The builder", on="2026-11-12"))
    by_hand = b.named("Trunk riser")[0]
    for at_mm in (250.0, 650.0):
        b.did(add_securing_point(b.plan, by_hand.id, at_mm, "p_clip"))
    fan = b.circuits["Front roof fan"]
    b.record(
        "test_results", TestResult, circuit=fan, kind="continuity", value=0.2, unit="ohm", passed=True, on="2026-11-14"
    )
    b.record("revisions", Revision, letter="A", on="2026-10-05", note="First plan")
    b.record("revisions", Revision, letter="B", on="2026-11-12", note="Second roof fan, gas alarm moved low")
    for kind, section, colour, metres in (
        ("wire-thin-wall", 1.0, "RD", 85.0),
        ("wire-thin-wall", 1.0, "BK", 90.0),
        ("wire-thin-wall", 2.5, "RD", 22.0),
        ("wire-thin-wall", 4.0, "BK", 30.0),
        ("wire-battery", 95.0, "RD", 4.5),
    ):
        b.record("spools", StockSpool, kind=kind, section_mm2=section, colour=colour, left_mm=metres * 1_000)
