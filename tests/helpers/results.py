"""Analyses built by hand: results of a harness of any number of wires, without computing them."""

from dataclasses import replace

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.analysis.results import (
    Allowance,
    Bundle,
    BundleItem,
    CircuitLoad,
    CircuitSize,
    Crossing,
    CutPiece,
    CutRow,
    End,
    Finding,
    Material,
    Route,
    SecuringGap,
    SecuringRow,
    SizedWire,
    Step,
    Totals,
    Wire,
    WrapRow,
)
from core.files.library import load_library
from core.model import (
    Channel,
    Circuit,
    Corner,
    Device,
    Electrical,
    Node,
    OnSurface,
    Plan,
    ProfileUse,
    Protective,
    Revision,
    Stop,
    Surface,
    Vehicle,
    Way,
    WireKind,
    WireSize,
)

PLACES = ("Reading light left", "Roof fan", "Water pump", "Fridge, rear door side", "USB by the bed", "Step light")
COLOURS = ("RD", "BK", "OG", "GNYE", "BU", "WH", "YE")
SECTIONS = (0.75, 1.5, 2.5, 6.0, 16.0)


def plan(wires: int = 12, *, mains: bool = False) -> Plan:
    """A plan of one floor, one fuse block, and one device and one circuit for each pair of wires."""
    count = max(1, wires // 2)
    devices = tuple(
        Device(
            id=f"load{n}",
            name=f"{PLACES[n % len(PLACES)]} {n + 1}",
            kind="light",
            surface="floor",
            at_mm=(100.0 + 20 * n, 100.0),
            electrical=Electrical(power_w=20 + n),
        )
        for n in range(count)
    )
    block = Device(
        id="block",
        name="Fuse block",
        kind="fuse_block",
        surface="floor",
        at_mm=(50.0, 50.0),
        ways=tuple(Way(id=str(n + 1), largest_a=30) for n in range(count)),
    )
    circuits = tuple(
        Circuit(
            id=f"c{n}",
            name=f"{PLACES[n % len(PLACES)]} circuit {n + 1}",
            group="mains" if mains and n == 0 else "dc_power",
            stops=(
                Stop(id="s1", device="block", way=str(n + 1), role="source"),
                Stop(id="s2", device=f"load{n}", after="s1"),
            ),
            protective=Protective(family="blade"),
        )
        for n in range(count)
    )
    sizes = tuple(
        WireSize(section_mm2=s, od_mm=1 + s**0.5, r20_ohm_per_km=18 / s, mass_g_per_m=10 * s) for s in SECTIONS
    )
    kind = WireKind(id="thin", name="Thin-wall wire", insulation_c=105, sizes=sizes, source="made up", known="memory")
    corners = tuple(
        Corner(id=f"k{i}", at_mm=at) for i, at in enumerate(((0, 0), (3000, 0), (3000, 1700), (0, 1700)), start=1)
    )
    return Plan(
        format=1,
        id="p",
        name="Weekend camper",
        vehicle=Vehicle(description="Small delivery van, 2 500 mm load space"),
        profile=ProfileUse(id="van-metric", version="1"),
        revisions=(Revision(id="r1", letter="C"),),
        surfaces=(Surface(id="floor", name="Floor", role="floor", corners=corners),),
        nodes=(
            Node(id="n1", place=OnSurface(surface="floor", at_mm=(50.0, 50.0))),
            Node(id="n2", place=OnSurface(surface="floor", at_mm=(2500.0, 100.0))),
        ),
        channels=(Channel(id="ch1", name="Right wall trunk", start="n1", end="n2", surface="floor"),),
        devices=(block, *devices),
        circuits=circuits,
        wire_kinds=(kind,),
    )


def analysis(wires: int = 12, *, mains: bool = False, provisional: bool = False) -> Analysis:
    """Results for `plan(wires)`: one piece a wire, ten pieces a spool, the last wire without a route."""
    made = plan(wires, mains=mains)
    count = len(made.circuits) * 2
    wire_rows, routes, sized, pieces, cutting = {}, {}, {}, [], []
    for n in range(count):
        name, circuit = f"W{n + 1}", f"c{n // 2}"
        block, load = (
            End(device="block", port=None, way=str(n // 2 + 1), node="n1"),
            End(device=f"load{n // 2}", port=None, way=None, node="n2"),
        )
        feed, section = n % 2 == 0, SECTIONS[n // 10 % len(SECTIONS)]
        route_mm = None if n == count - 1 else 1200.0 + 37.5 * n
        wire_rows[name] = Wire(
            id=name,
            circuit=circuit,
            stop="s2",
            role="feed" if feed else "return",
            from_=block if feed else load,
            to=load if feed else block,
            kind="thin",
            cable=None,
            cores=1,
            group="dc_power",
            parallel=1,
            waypoints=(),
            lead=f"W{n // 2 * 2 + 1}",
        )
        steps = () if route_mm is None else (Step(channel="ch1", forward=feed),)
        routes[name] = Route(
            wire=name,
            steps=steps,
            from_fall_mm=100,
            to_fall_mm=150,
            route_mm=route_mm,
            provisional=provisional and n == 0,
            problem="" if route_mm else "no way",
        )
        sized[name] = SizedWire(
            wire=name,
            section_mm2=section,
            gauge_awg="14" if section == 2.5 else None,
            od_mm=1 + section**0.5,
            r_ohm_per_m=0.018 / section,
            mass_g_per_m=10 * section,
            price_per_m=None,
            colour=COLOURS[n % len(COLOURS)],
            current_a=2.5,
            peak_a=4.0,
            ampacity_a=16.66666,
            factors=(),
            grouped=2,
            drop_v=None if route_mm is None else 0.123456,
            drop_percent=None if route_mm is None else 2.0,
            decided_by="voltage drop",
            reason="drop",
            fuse_a=5.0,
        )
        if route_mm is not None:
            allowances = (
                Allowance(name="ends", length_mm=300),
                Allowance(name="service loop", length_mm=100),
                Allowance(name="tolerance", length_mm=route_mm * 0.03),
            )
            cut = route_mm + sum(a.length_mm for a in allowances)
            pieces.append(
                CutPiece(
                    piece=name,
                    wires=(name,),
                    kind="thin",
                    section_mm2=section,
                    colour=COLOURS[n % len(COLOURS)],
                    route_mm=route_mm,
                    allowances=allowances,
                    cut_mm=cut,
                    provisional=provisional and n == 0,
                )
            )
            cutting.append(CutRow(spool=f"S{n // 10 + 1}", piece=name, cut_mm=cut, waste_mm=730.0))
    routable = tuple(name for name, route in routes.items() if route.route_mm is not None)
    items = tuple(
        BundleItem(label=name, wires=(name,), od_mm=2.2, colour="RD", centre_mm=(0.0, 0.0)) for name in routable
    )
    route_mm, cut_mm = sum(p.route_mm for p in pieces), sum(p.cut_mm for p in pieces)
    empty = analyse(msgspec.structs.replace(made, devices=(), circuits=()), load_library())
    return replace(
        empty,
        plan=made,
        wires=wire_rows,
        routes=routes,
        loads={
            c.id: CircuitLoad(circuit=c.id, current_a=2.5, peak_a=4.0, base_v=12, legs=(("s2", 2.5, 4.0),), upstream=())
            for c in made.circuits
        },
        sized=sized,
        circuit_sizes={
            c.id: CircuitSize(
                circuit=c.id,
                fuse_a=5.0,
                drops=(("s2", 0.25, 0.36, 2400.0),),
                one_way_mm=1200.0,
                there_and_back_mm=2400.0,
            )
            for c in made.circuits
        },
        bundles={
            "ch1": Bundle(
                channel="ch1",
                length_mm=2450.5,
                wires=routable,
                items=items,
                diameter_tight_mm=11.84321,
                diameter_laid_mm=13.2,
                fill_percent=None,
                fill_limit_percent=None,
                mass_g_per_m=310,
            )
        },
        securing=(SecuringRow(channel="ch1", at_mm=250, kind="tie_mount", user=False),),
        securing_gaps=(SecuringGap(channel="ch1", from_mm=900, to_mm=1500, limit_mm=450),),
        crossings=(
            Crossing(
                channel="ch1",
                at_mm=600,
                with_="rib4",
                kind="rib",
                angle_deg=90,
                severity="warning",
                remedy="drill 20 mm, fit a grommet",
                size_mm=20,
                sheet_mm=(600, 60),
                protected=False,
            ),
        ),
        bends=(),
        wrap=(
            WrapRow(
                channel="ch1",
                style="half_lap",
                tape="cloth",
                tape_width_mm=19,
                overlap=0.5,
                layers=2,
                tape_mm=10432.1,
                note="",
            ),
        ),
        pieces=tuple(pieces),
        cutting=tuple(cutting),
        materials=(
            Material(item="Thin-wall wire 2.5 mm² red", quantity=25, unit="m", why="circuits 1 to 5, 21.4 m cut"),
            Material(item="Grommet 20 mm hole", quantity=1, unit="piece", why="rib 4"),
            Material(item="=HYPERLINK(1)", quantity=1, unit="@x", why="+1"),
        ),
        totals=Totals(
            route_mm=route_mm,
            allowance_mm=cut_mm - route_mm,
            cut_mm=cut_mm,
            tape_mm=10432.1,
            rolls=1,
            mass_kg=3.4567,
            price=None,
        ),
        findings=(
            Finding(
                code="rub.rib",
                severity="warning",
                subjects=("ch1", "rib4"),
                message="Right wall trunk crosses a rib without protection",
                remedy="drill 20 mm, fit a grommet",
            ),
            Finding(
                code="route.none",
                severity="error",
                subjects=(f"W{count}",),
                message=f"W{count} has no route",
                value=1.5,
                limit=2.0,
                unit="mm",
                source="made up",
            ),
            Finding(
                code="drop.high",
                severity="error",
                subjects=("c0",),
                message="Drop is high",
                waived="old fitting, measured 11.9 V",
            ),
        ),
    )
