"""What it costs to relieve a bore that is too full: a wider one, or circuits led another way, both with their price.

The detour forbids the bore to one circuit after the other, the largest in it first, feed and return together, and
routes and sizes those again; a bore that would get too full by it is forbidden as well. What is forbidden only grows,
and there are at most so many rounds. Nothing of it changes the plan: somebody has to choose.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi, sqrt

from core.analysis import sizes
from core.analysis.analysis import Analysis
from core.analysis.bundles import bore_area_mm2, bore_of, fill_rule
from core.analysis.results import Bundle, BundleItem, Route, SizedWire
from core.analysis.routes import find_routes
from core.analysis.rules import number
from core.analysis.size_inputs import inputs_of
from core.harness.bundle import tight_diameter_mm
from core.model import ConduitKind
from core.text import counted

MOST_ROUNDS = 8


@dataclass(frozen=True)
class Detour:
    """Circuits led round a bore, the largest in it first, and what that costs. `enough`: the bore holds what stays;
    `why` says in words what speaks against it, "" for nothing. `routes` are the new ways of their wires."""

    circuits: tuple[str, ...]
    routes: Mapping[str, Route]
    more_mm: float = 0.0
    more_kg: float = 0.0
    #: In the money of the plan; None where a wire has no price.
    more_price: float | None = None
    #: Sections that change on the longer way: (circuit, before, after).
    grown: tuple[tuple[str, float, float], ...] = ()
    enough: bool = False
    why: str = ""


@dataclass(frozen=True)
class Widening:
    """The bore that holds everything, and the conduit of the plan with it, if there is one."""

    bore_mm: float
    length_mm: float
    conduit: ConduitKind | None
    price: float | None


def is_overfull(analysis: Analysis, bundle: Bundle) -> bool:
    """Whether a bundle takes more of its bore than the rules allow, or does not go in at all."""
    return not _fits(analysis, bundle.channel, bundle.items)


def _fits(analysis: Analysis, channel_id: str, items: tuple[BundleItem, ...]) -> bool:
    channel = analysis.channels[channel_id]
    bore = bore_of(channel, {c.id: c for c in analysis.plan.conduit_kinds})
    if bore is None or not items:
        return True
    fill = 100 * sum(pi / 4 * item.od_mm**2 for item in items) / bore_area_mm2(bore)
    least = min(bore.width_mm, bore.height_mm or bore.width_mm)
    bundle = analysis.bundles.get(channel_id)
    same = bundle is not None and bundle.items == items
    tight = bundle.diameter_tight_mm if same and bundle is not None else tight_diameter_mm([i.od_mm for i in items])
    return fill <= number(analysis.profile, fill_rule(channel, len(items))) and tight <= least


def _circuit(analysis: Analysis, item: BundleItem) -> str:
    """Whose it is; a conduit in the bundle is nobody's and stays."""
    return "" if item.conduit else analysis.wires[item.wires[0]].circuit


def widening(analysis: Analysis, bundle: Bundle) -> Widening:
    """The least round bore for all that lies there."""
    share = (bundle.fill_limit_percent or 100.0) / 100
    need = max(sqrt(sum(i.od_mm**2 for i in bundle.items) / share), bundle.diameter_tight_mm)
    channel = analysis.channels[bundle.channel]
    split = channel.kind == "split_conduit"
    fitting = [c for c in analysis.plan.conduit_kinds if c.split == split and c.bore_mm >= need]
    conduit = min(fitting, key=lambda c: c.bore_mm, default=None)
    price = conduit.price * bundle.length_mm / 1000 if conduit is not None and conduit.price is not None else None
    return Widening(need, bundle.length_mm, conduit, price)


def detour(analysis: Analysis, bundle: Bundle) -> Detour:
    """The detour round one bore that is too full."""
    areas: dict[str, float] = {}
    for item in bundle.items:
        areas[_circuit(analysis, item)] = areas.get(_circuit(analysis, item), 0.0) + item.od_mm**2
    ranked = sorted((c for c in areas if c), key=lambda c: (-areas[c], c))
    moved: list[str] = []
    routes: dict[str, Route] = {}
    why = ""
    for circuit in ranked[:MOST_ROUNDS]:
        ways, problem = _ways_round(analysis, circuit, bundle.channel, routes)
        if problem:
            why = why or problem
            continue
        moved.append(circuit)
        routes |= ways
        left = tuple(item for item in bundle.items if _circuit(analysis, item) not in moved)
        if _fits(analysis, bundle.channel, left):
            return _priced(analysis, tuple(moved), routes, enough=True)
    if not moved:
        return Detour((), {}, why=why or "there is no other way")
    return _priced(analysis, tuple(moved), routes, enough=False)


def _ways_round(
    analysis: Analysis, circuit: str, channel: str, before: Mapping[str, Route]
) -> tuple[dict[str, Route], str]:
    """New ways of a circuit that leave the channel out, and every bore that they would overfill; else what is in the
    way, in words."""
    own = {w.id: w for w in analysis.wires.values() if w.circuit == circuit}
    name = analysis.word(circuit)
    if any(analysis.routes[w].held for w in own):
        return {}, f"the wires of {name} are pulled already and stay"
    banned = {channel}
    full = ""
    for _ in range(MOST_ROUNDS):
        ban = dict.fromkeys(own, frozenset(banned))
        ways = find_routes(
            analysis.network, own, analysis.plan.devices, analysis.falls, (), analysis.plan.channels, ban
        )
        if any(way.route_mm is None for way in ways.values()):
            return {}, f"every other way for {name} leads through {full}" if full else f"{name} has no other way"
        over = [c for c in _used(ways) if not _fits(analysis, c, _with(analysis, c, {**before, **ways}))]
        over = [c for c in over if c not in banned]
        if not over:
            return ways, ""
        full = f"{analysis.word(over[0])}, which would be too full then"
        banned |= set(over)
    return {}, f"every other way for {name} leads through {full}"


def _used(routes: Mapping[str, Route]) -> list[str]:
    return list(dict.fromkeys(step.channel for route in routes.values() for step in route.steps))


def _with(analysis: Analysis, channel: str, routes: Mapping[str, Route]) -> tuple[BundleItem, ...]:
    """What would lie in a channel if wires took these ways."""
    here = analysis.bundles.get(channel)
    kept = [item for item in here.items if not any(w in routes for w in item.wires)] if here is not None else []
    coming: dict[str, BundleItem] = {}
    for wire, route in routes.items():
        if any(step.channel == channel for step in route.steps):
            coming |= {item.label: item for item in _items_of(analysis, wire)}
    return (*kept, *coming.values())


def _items_of(analysis: Analysis, wire: str) -> list[BundleItem]:
    """A wire as it lies in the first of its channels now: itself, its parallels, or the cable it is in."""
    bundles = (analysis.bundles.get(step.channel) for step in analysis.routes[wire].steps)
    first = next((bundle for bundle in bundles if bundle is not None), None)
    return [item for item in first.items if wire in item.wires] if first is not None else []


def _priced(analysis: Analysis, circuits: tuple[str, ...], routes: Mapping[str, Route], enough: bool) -> Detour:
    """The costs of the new ways: sized again, so that a wire that has to grow is counted as it will be."""
    after = sizes.compute(inputs_of(analysis)._replace(routes={**analysis.routes, **routes})).sized
    old, new = _costs(analysis, analysis.routes, analysis.sized), {**analysis.routes, **routes}
    now = _costs(analysis, new, after)
    grown = {
        (analysis.wires[w].circuit, analysis.sized[w].section_mm2, after[w].section_mm2)
        for w in analysis.wires
        if after[w].section_mm2 != analysis.sized[w].section_mm2
    }
    return Detour(
        circuits,
        routes,
        now[0] - old[0],
        (now[1] - old[1]) / 1000,
        None if now[2] is None or old[2] is None else now[2] - old[2],
        tuple(sorted(grown)),
        enough,
    )


def _costs(
    analysis: Analysis, routes: Mapping[str, Route], sized: Mapping[str, SizedWire]
) -> tuple[float, float, float | None]:
    """(mm, grams, money) of all wire; a cable counts once."""
    length, grams, price = 0.0, 0.0, 0.0
    priced, seen = True, set[str]()
    for wire in analysis.wires.values():
        whole = wire.cable if wire.cable is not None and wire.cores > 1 else wire.id
        route_mm = routes[wire.id].route_mm
        if whole in seen or route_mm is None:
            continue
        seen.add(whole)
        row = sized[wire.id]
        length += route_mm * wire.parallel
        grams += row.mass_g_per_m * route_mm * wire.parallel / 1000
        priced = priced and row.price_per_m is not None
        price += (row.price_per_m or 0.0) * route_mm * wire.parallel / 1000
    return length, grams, price if priced else None


def widening_words(wide: Widening) -> str:
    """A wider bore in words, with what it costs."""
    cost = f", {wide.price:.2f} in money" if wide.price is not None else ""
    named = f" ({wide.conduit.name})" if wide.conduit is not None else ""
    return f"a bore of {wide.bore_mm:.0f} mm{named} over {wide.length_mm / 1000:.2f} m{cost}"


def detour_words(analysis: Analysis, found: Detour) -> str:
    """A detour in words, with what it costs."""
    if not found.circuits:
        return f"no detour: {found.why}"
    names = " and ".join(analysis.word(c) for c in found.circuits[:3])
    if len(found.circuits) > 3:
        names = f"{analysis.word(found.circuits[0])} and {counted(len(found.circuits) - 1, 'more circuit')}"
    cost = f"{found.more_mm / 1000:+.2f} m of wire in all, {found.more_kg:+.2f} kg"
    if found.more_price is not None:
        cost += f", {found.more_price:+.2f} in money"
    for circuit, before, after in found.grown[:2]:
        cost += f", {analysis.word(circuit)} {before:g} to {after:g} mm²"
    last = "" if found.enough else "; what stays is still too much"
    return f"leading {names} another way: {cost}{last}"
