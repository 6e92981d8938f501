"""The analysis of a plan, stage by stage.

`analyse` is a pure function of plan and library. `Analyser` gives the same answers and remembers every stage by the
identity of its inputs, so that a small edit redoes only what it touches. The order of the stages is acyclic: routes
go into sizes, sizes into diameters, and nothing goes back.
"""

import gc
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from typing import Any, TypeVar

from core.analysis import (
    bends,
    bundles,
    buying,
    covers,
    crossings,
    cutting,
    drip,
    fixing,
    loads,
    materials,
    meshes,
    network,
    obstacles,
    passages,
    pieces,
    places,
    routes,
    sizes,
    turns,
    wires,
    wrap,
)
from core.analysis.analysis import Analysis, Quality
from core.analysis.checks import find_all
from core.analysis.drag import patched
from core.analysis.results import ChannelPath, Clearance, Route, Wire
from core.analysis.rules import ambient_c, number
from core.analysis.size_inputs import SizeInputs, pulled_mm2
from core.errors import LoomwrightError
from core.files.library import Library
from core.model import (
    Assumptions,
    Box,
    Channel,
    ConduitKind,
    Device,
    InPenetration,
    KeepOutZone,
    MetalEdge,
    MovingPart,
    Node,
    PassThrough,
    Penetration,
    Plan,
    Profile,
    ProfileUse,
    Surface,
)

__all__ = ["Analyser", "Analysis", "UnknownProfile", "analyse", "profile_of"]

R = TypeVar("R")
#: Channels of a plan up to which a drag's estimate works out every stage but the routes.
ALL_REDONE_UP_TO = 1_000


class UnknownProfile(LoomwrightError):
    """The plan names a standards profile that the library does not have."""


def profile_of(use: ProfileUse, library: Library) -> Profile:
    """The profile of that id, of the version asked for if the library still has it, with the plan's changes over it.

    Raises UnknownProfile when the library has no version of it.
    """
    try:
        return library.profile_of(use)
    except KeyError:
        known = ", ".join(sorted({p.id for p in library.profiles}))
        raise UnknownProfile(f"the plan uses the standards profile {use.id!r}; this program knows {known}") from None


@contextmanager
def nothing_collected() -> Iterator[None]:
    """Keep Python from looking for garbage: what an analysis makes is kept, and to look through it again and again
    costs a tenth of the time. May be entered in several threads; in the end all is as it was."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _ambients(
    channels: tuple[Channel, ...], surfaces: tuple[Surface, ...], profile: Profile, assumptions: Assumptions
) -> dict[str, float]:
    by_id = {s.id: s for s in surfaces}
    usual, void = assumptions.ambient_c, assumptions.void_ambient_c
    return {c.id: ambient_c(c, by_id.get(c.surface or ""), profile, usual, void) for c in channels}


def _lengths(paths: Mapping[str, ChannelPath]) -> dict[str, float]:
    return {channel: path.length_mm for channel, path in paths.items()}


def _node_holes(nodes: tuple[Node, ...], penetrations: tuple[Penetration, ...]) -> dict[str, Penetration]:
    holes = {hole.id: hole for hole in penetrations}
    return {
        node.id: holes[node.place.penetration]
        for node in nodes
        if isinstance(node.place, InPenetration) and node.place.penetration in holes
    }


def _conduit_diameters(kinds: tuple[ConduitKind, ...]) -> dict[str, float]:
    return {kind.id: kind.od_mm for kind in kinds if kind.od_mm is not None}


def _endings(found: Mapping[str, Wire], ways: Mapping[str, Route]) -> frozenset[tuple[str, str]]:
    """(node, channel) wherever a wire leaves its last channel for a device."""
    return frozenset(
        (end.node, step.channel)
        for wire in found.values()
        if ways[wire.id].steps
        for end, step in ((wire.from_, ways[wire.id].steps[0]), (wire.to, ways[wire.id].steps[-1]))
        if end.node is not None
    )


def _drip_loops(
    found: Mapping[str, Wire],
    ways: Mapping[str, Route],
    channels: tuple[Channel, ...],
    surfaces: tuple[Surface, ...],
    devices: tuple[Device, ...],
    pass_throughs: tuple[PassThrough, ...],
    twice: frozenset[str],
) -> dict[str, int]:
    return drip.drip_loops(found, ways, {c.id: c for c in channels}, surfaces, devices, pass_throughs, twice)


def _wire_circuits(found: Mapping[str, Wire]) -> dict[str, str]:
    return {wire.id: wire.circuit for wire in found.values()}


def _find_clearances(
    channels: tuple[Channel, ...],
    surfaces: tuple[Surface, ...],
    boxes: tuple[Box, ...],
    edges: tuple[MetalEdge, ...],
    zones: tuple[KeepOutZone, ...],
    parts: tuple[MovingPart, ...],
    *others: Any,
) -> tuple[Clearance, ...]:
    """Stage `clearances`, which loads numpy where there is something to keep away from."""
    if not zones and not parts and not edges:
        return ()
    from core.analysis.clearances import find_clearances

    return find_clearances(channels, surfaces, boxes, edges, zones, parts, *others)


def _held_routes(
    held: Mapping[str, Route], found: Mapping[str, Wire], lengths: Mapping[str, float], falls: Mapping[str, places.Fall]
) -> dict[str, Route]:
    """The routes of `held` with their lengths measured anew."""
    return {wire_id: routes.measured_anew(route, found[wire_id], lengths, falls) for wire_id, route in held.items()}


class Analyser:
    """Analyses plans and remembers stages. One for each session; not to be shared between threads."""

    def __init__(self, library: Library) -> None:
        self.library = library
        self._memory: dict[str, tuple[tuple[Any, ...], Any]] = {}

    def _stage(self, name: str, work: Callable[..., R], *inputs: Any) -> R:
        """The result of a stage: what is remembered when every input is the very same object, else worked out."""
        known = self._memory.get(name)
        if (
            known is not None
            and len(known[0]) == len(inputs)
            and all(a is b for a, b in zip(known[0], inputs, strict=True))
        ):
            result: R = known[1]
            return result
        result = work(*inputs)
        self._memory[name] = (inputs, result)
        return result

    def analyse(self, plan: Plan, quality: Quality = "refined") -> Analysis:
        """All stages. Raises UnknownProfile; everything else that is wrong with the plan is a finding."""
        known = self._memory.get("whole")
        if known is not None and known[0][0] is plan and known[0][1] == quality:
            whole: Analysis = known[1]
            return whole
        with nothing_collected():
            analysis = self._run(plan, quality, None)
            whole = replace(analysis, findings=find_all(analysis))
        self._memory["whole"] = ((plan, quality), whole)
        return whole

    def estimate(self, plan: Plan, held: Analysis) -> Analysis:
        """A drag's answer: routes, membership and findings of `held` stay; lengths, sizes and diameters are redone.

        In a large plan sizes and diameters stay too (core.analysis.drag). Falls back to full routes when devices,
        channels, nodes or circuits are not the same ones any more.
        """
        if len(plan.channels) > ALL_REDONE_UP_TO and (estimate := patched(plan, held)) is not None:
            return estimate
        same = all(
            [r.id for r in getattr(plan, name)] == [r.id for r in getattr(held.plan, name)]
            for name in ("nodes", "channels", "circuits", "devices")
        )
        analysis = self._run(plan, "quick", held if same else None)
        return replace(analysis, findings=held.findings, provisional=True)

    @staticmethod
    def follow(plan: Plan, held: Analysis) -> Analysis | None:
        """The quickest answer while something is dragged: lengths and drops of what it touches, the rest as held.

        A few milliseconds whatever the plan; remembers nothing, so it may be asked while another thread estimates.
        None where more than places of nodes, devices and via points differs.
        """
        return patched(plan, held)

    def _run(self, plan: Plan, quality: Quality, held: Analysis | None) -> Analysis:
        library = self.library
        profile = self._stage("profile", profile_of, plan.profile, library)
        grommets = plan.grommet_kinds or library.grommet_kinds
        conduits = plan.conduit_kinds or library.conduit_kinds
        fixings = plan.fixing_kinds or library.fixing_kinds
        parts = self._stage("covers", covers.Parts, grommets, conduits)
        drag = "" if held is None else "drag "
        sheet = self._stage("sheet", places.make_sheet, plan.surfaces, plan.seams)
        spots = self._stage("nodes", places.node_spots, sheet, plan.nodes, plan.penetrations)
        paths = self._stage("paths", places.channel_paths, sheet, spots, plan.channels)
        falls = self._stage("falls", places.falls, sheet, spots, plan.devices)
        lengths = self._stage("lengths", _lengths, paths)
        ambients = self._stage("ambients", _ambients, plan.channels, plan.surfaces, profile, plan.assumptions)
        through = self._stage("node holes", _node_holes, plan.nodes, plan.penetrations)
        found = self._stage(
            "wires", wires.derive, plan.circuits, plan.devices, plan.cables, plan.wire_kinds, plan.assumptions
        )
        if held is None:
            net = self._stage(
                "network", network.make_network, sheet, spots, through, plan.channels, paths, plan.ribs,
                plan.moving_joints, ambients,
            )  # fmt: skip
            ways = self._stage(
                "routes", routes.find_routes, net, found, plan.devices, falls, plan.as_pulled, plan.channels
            )
        else:
            net = held.network
            ways = self._stage("drag routes", _held_routes, held.routes, found, lengths, falls)
        tree = self._stage("loads", loads.circuit_loads, plan.circuits, plan.devices)
        pulled = self._stage("pulled", pulled_mm2, plan.as_pulled)
        currents, meshed = self._stage(
            f"{drag}meshes", meshes.solve_meshes, plan.circuits, plan.devices, plan.wire_kinds, found, ways, tree,
            plan.assumptions, pulled,
        )  # fmt: skip
        given = self._stage(
            f"{drag}size inputs", SizeInputs, plan.circuits, plan.devices, plan.wire_kinds, plan.channels, found, ways,
            currents, lengths, ambients, profile, plan.assumptions, pulled,
        )  # fmt: skip
        sized = self._stage(f"{drag}sizes", sizes.compute, given)
        packed = self._stage(
            f"{drag}bundles", bundles.make_bundles, plan.channels, plan.conduit_kinds, paths, found, ways, sized.sized,
            profile, plan.assumptions, quality,
        )  # fmt: skip
        obstacle_rows = self._stage(
            "obstacles", obstacles.by_surface, plan.surfaces, plan.ribs, plan.metal_edges, plan.openings, plan.boxes,
            plan.panels, plan.zones, plan.moving_parts,
        )  # fmt: skip
        turned = self._stage(f"{drag}turns", turns.find_turns, plan.channels, paths, ways, sheet)
        endings = self._stage(f"{drag}endings", _endings, found, ways)
        owners = self._stage("wire circuits", _wire_circuits, found)
        taped = self._stage(
            f"{drag}wrap", wrap.find_wrap, plan.channels, packed, plan.wrap_styles, plan.tape_kinds, conduits,
            plan.assumptions,
        )  # fmt: skip
        ods = self._stage("conduit diameters", _conduit_diameters, plan.conduit_kinds)
        securing, gaps = self._stage(
            f"{drag}fixing", fixing.find_fixing, plan.channels, plan.surfaces, plan.openings, plan.zones,
            plan.moving_parts, plan.ribs, plan.circuits, plan.devices, plan.securing_points, plan.pass_throughs,
            fixings, ods, sheet, falls, paths, packed, taped, turned, owners, endings, obstacle_rows, profile,
        )  # fmt: skip
        rubs = self._stage(
            f"{drag}crossings", crossings.find_crossings, plan.channels, plan.nodes, plan.surfaces, plan.penetrations,
            plan.pass_throughs, plan.moving_joints, sheet, spots, paths, packed, taped, obstacle_rows, parts,
        )  # fmt: skip
        near = self._stage(
            f"{drag}clearances", _find_clearances, plan.channels, plan.surfaces, plan.boxes,
            plan.metal_edges, plan.zones, plan.moving_parts, plan.devices, sheet, paths, packed, profile,
        )  # fmt: skip
        bent = self._stage(f"{drag}bends", bends.find_bends, plan.channels, paths, packed, found, turned, profile)
        outside = self._stage(f"{drag}outside", bends.outside_mm, plan.channels, paths, packed)
        twice = self._stage("named twice", passages.named_twice, plan.pass_throughs, plan.channels, plan.nodes, paths)
        loops = self._stage(
            f"{drag}drip loops", _drip_loops, found, ways, plan.channels, plan.surfaces, plan.devices,
            plan.pass_throughs, twice,
        )  # fmt: skip
        cut = self._stage(
            f"{drag}pieces", pieces.cut_pieces, found, ways, sized.sized, plan.devices, plan.assumptions, outside, loops
        )
        rows, spool_plans = self._stage(
            f"{drag}cutting", cutting.cut_rows, cut, plan.wire_kinds, plan.spools, plan.assumptions
        )
        needs = self._stage(
            f"{drag}needs", buying.Needs, found, ways, sized.sized, cut, rows, spool_plans, taped, securing, rubs,
            paths, packed, sized.circuits,
        )  # fmt: skip
        shelf = self._stage("shelf", buying.Shelf, plan.wire_kinds, plan.tape_kinds, conduits, grommets, fixings)
        placed = self._stage("placed covers", buying.Placed, plan.pass_throughs, plan.penetrations, twice)
        buy = self._stage(
            f"{drag}materials", materials.materials, needs, shelf, placed, plan.channels, plan.circuits, plan.devices,
            plan.assumptions, number(profile, "tie.pitch_mm"), plan.supplies,
        )  # fmt: skip
        sums = self._stage(f"{drag}totals", cutting.totals, cut, taped, sized.sized, plan.tape_kinds, plan.assumptions)
        return Analysis(
            plan=plan, profile=profile, sheet=sheet, node_spots=spots, paths=paths, falls=falls, ambients=ambients,
            network=net, wires=found, routes=ways, loads=currents, sized=sized.sized, circuit_sizes=sized.circuits,
            faults=sized.faults, bundles=packed, securing=securing, securing_gaps=gaps, crossings=rubs, bends=bent,
            wrap=taped, pieces=cut, cutting=rows, materials=buy, totals=sums, findings=(), quality=quality,
            meshes=meshed, clearances=near, spool_plans=spool_plans, twice=twice,
        )  # fmt: skip


def analyse(plan: Plan, library: Library, quality: Quality = "refined") -> Analysis:
    """Everything about a plan, from scratch. Raises UnknownProfile."""
    return Analyser(library).analyse(plan, quality)
