"""Stage `bundles`: the wires of every channel, packed into the smallest round, with fill and weight."""

from collections.abc import Mapping, Sequence
from math import pi
from statistics import fmean
from typing import NamedTuple

from core.analysis.results import Bundle, BundleItem, ChannelPath, Route, SizedWire, Wire
from core.analysis.rules import number
from core.geometry.packing import Quality, pack_all
from core.harness.bundle import laid_diameter_mm, lay_factor_measured, tight_diameter_mm
from core.model import Assumptions, Bore, Channel, ConduitKind, Profile
from core.model.channels import Lay

#: Wall of conduit on both sides where the catalogue does not say its outside (mm; our choice).
CONDUIT_WALL_MM = 4.0


def bore_of(channel: Channel, conduits: Mapping[str, ConduitKind]) -> Bore | None:
    """The inside of a channel: its own bore, or that of its conduit kind."""
    if channel.bore is not None:
        return channel.bore
    conduit = conduits.get(channel.conduit or "")
    return Bore(width_mm=conduit.bore_mm) if conduit is not None else None


def bore_area_mm2(bore: Bore) -> float:
    """Inside cross-section of a round or rectangular bore."""
    return pi / 4 * bore.width_mm**2 if bore.height_mm is None else bore.width_mm * bore.height_mm


def fill_rule(channel: Channel, count: int) -> str:
    """The code of the profile's fill limit: corrugated split tube has its own, all else goes by how many lie in it."""
    return "fill.convoluted" if channel.kind == "split_conduit" else f"fill.conduit_{min(count, 3)}"


def on_channels(wires: Mapping[str, Wire], routes: Mapping[str, Route]) -> dict[str, list[str]]:
    """Wire ids by channel, in the order of the wires."""
    members: dict[str, list[str]] = {}
    for wire_id in wires:
        for step in routes[wire_id].steps:
            row = members.setdefault(step.channel, [])
            if not row or row[-1] != wire_id:  # its steps come one after the other
                row.append(wire_id)
    return members


class _Thing(NamedTuple):
    """A round thing: its wires, outside diameter (mm), colour, grams per metre; a conduit with what lies in it."""

    label: str
    wires: tuple[str, ...]
    od_mm: float
    colour: str
    mass_g_per_m: float
    conduit: str = ""
    inside_mm: tuple[float, ...] = ()


def _items(
    channel: Channel,
    members: list[str],
    wires: Mapping[str, Wire],
    sized: Mapping[str, SizedWire],
    conduits: Mapping[str, ConduitKind],
    singles: Mapping[str, tuple[_Thing, ...]],
) -> list[_Thing]:
    """Every round thing in a channel: wires, cables, and conduits with the wires of their circuits in them."""
    things, taken = [], set[str]()
    for count, inner in enumerate(channel.inner, start=1):
        kind = conduits.get(inner.conduit)
        if kind is None:
            continue
        own = [w for w in members if wires[w].circuit in inner.circuits and w not in taken]
        taken.update(own)
        within = _loose(own, wires, sized, singles)
        things.append(
            _Thing(
                label=f"{kind.name}, {count}" if len(channel.inner) > 1 else kind.name,
                wires=tuple(w for thing in within for w in thing.wires),
                od_mm=max(conduit_od_mm(kind), tight_diameter_mm([t.od_mm for t in within]) if within else 0.0),
                colour="BK",
                mass_g_per_m=sum(thing.mass_g_per_m for thing in within),
                conduit=kind.id,
                inside_mm=tuple(thing.od_mm for thing in within),
            )
        )
    return [*_loose([w for w in members if w not in taken], wires, sized, singles), *things]


def conduit_od_mm(kind: ConduitKind) -> float:
    """Outside of a conduit; where its maker's is not given, its bore and a wall on both sides."""
    return kind.od_mm if kind.od_mm is not None else kind.bore_mm + CONDUIT_WALL_MM


def _singles(wires: Mapping[str, Wire], sized: Mapping[str, SizedWire]) -> dict[str, tuple[_Thing, ...]]:
    """The round things of every wire that is no core of a cable; they are the same in every channel it passes."""
    things = {}
    for wire_id, wire in wires.items():
        if wire.cable is None or wire.cores <= 1:
            size = sized[wire_id]
            labels = [wire_id] if wire.parallel == 1 else [f"{wire_id}.{n + 1}" for n in range(wire.parallel)]
            things[wire_id] = tuple(
                _Thing(label, (wire_id,), size.od_mm, size.colour, size.mass_g_per_m) for label in labels
            )
    return things


def _loose(
    members: Sequence[str],
    wires: Mapping[str, Wire],
    sized: Mapping[str, SizedWire],
    singles: Mapping[str, tuple[_Thing, ...]],
) -> list[_Thing]:
    """Wires and cables by themselves; a cable is one thing."""
    cables: dict[str, list[str]] = {}
    things: list[_Thing] = []
    for wire_id in members:
        single = singles.get(wire_id)
        if single is not None:
            things.extend(single)
        else:
            cables.setdefault(wires[wire_id].cable or "", []).append(wire_id)
    for cable, cores in cables.items():
        thickest = max((sized[w] for w in cores), key=lambda s: s.od_mm)
        things.append(_Thing(cable, tuple(cores), thickest.od_mm, "GY", thickest.mass_g_per_m))
    return things


def lay_factors(
    channels: Sequence[Channel], tight_mm: Mapping[str, float], assumptions: Assumptions
) -> dict[Lay, float]:
    """Factor of every lay: the mean of the bundles measured in it (`channels` of several wires), else the plan's."""
    usual: dict[Lay, float] = {
        "by_hand": assumptions.lay_factor,
        "combed": assumptions.combed_factor,
        "loose": assumptions.loose_factor,
    }
    measured: dict[Lay, list[float]] = {}
    for channel in channels:
        if channel.measured_diameter_mm is not None:
            factor = lay_factor_measured(tight_mm[channel.id], channel.measured_diameter_mm)
            measured.setdefault(channel.lay, []).append(factor)
    return {lay: fmean(measured[lay]) if lay in measured else factor for lay, factor in usual.items()}


def make_bundles(
    channels: tuple[Channel, ...],
    conduits: tuple[ConduitKind, ...],
    paths: Mapping[str, ChannelPath],
    wires: Mapping[str, Wire],
    routes: Mapping[str, Route],
    sized: Mapping[str, SizedWire],
    profile: Profile,
    assumptions: Assumptions,
    quality: Quality,
) -> dict[str, Bundle]:
    """Stage `bundles`: only channels that hold a wire. `quality` is that of packing, "quick" or "refined"."""
    conduit_by_id = {c.id: c for c in conduits}
    members = on_channels(wires, routes)
    bundles = {}
    filled = [channel for channel in channels if channel.id in members]
    singles = _singles(wires, sized)
    contents = [_items(channel, members[channel.id], wires, sized, conduit_by_id, singles) for channel in filled]
    packings = pack_all([[thing.od_mm for thing in things] for things in contents], quality)
    tight = {channel.id: packing.diameter_mm for channel, packing in zip(filled, packings, strict=True)}
    factors = lay_factors(
        [c for c, things in zip(filled, contents, strict=True) if len(things) > 1], tight, assumptions
    )
    for channel, things, packing in zip(filled, contents, packings, strict=True):
        lay = factors[channel.lay] if len(things) > 1 else 1.0
        if channel.measured_diameter_mm is not None:
            lay = lay_factor_measured(packing.diameter_mm, channel.measured_diameter_mm)
        bore = bore_of(channel, conduit_by_id)
        fill = limit = None
        if bore is not None:
            fill = 100 * sum(pi / 4 * thing.od_mm**2 for thing in things) / bore_area_mm2(bore)
            limit = number(profile, fill_rule(channel, len(things)))
        bundles[channel.id] = Bundle(
            channel=channel.id,
            length_mm=paths[channel.id].length_mm,
            wires=tuple(members[channel.id]),
            items=tuple(
                BundleItem(
                    label=thing.label,
                    wires=thing.wires,
                    od_mm=thing.od_mm,
                    colour=thing.colour,
                    centre_mm=centre,
                    conduit=thing.conduit,
                    inside_mm=thing.inside_mm,
                )
                for thing, centre in zip(things, packing.centres_mm, strict=True)
            ),
            diameter_tight_mm=packing.diameter_mm,
            diameter_laid_mm=laid_diameter_mm(packing.diameter_mm, lay),
            fill_percent=fill,
            fill_limit_percent=limit,
            mass_g_per_m=sum(thing.mass_g_per_m for thing in things),
        )
    return bundles
