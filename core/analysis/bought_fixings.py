"""Fixings to buy: mounts, clips and saddles with their screws, ties by the bundle they go round."""

from collections import Counter
from collections.abc import Iterable, Sequence

from core.analysis.buying import CONDUITS, Needs, Shelf, pieces
from core.analysis.results import Material, SecuringRow
from core.harness.fastening import tie_width_mm
from core.harness.securing import part_for
from core.model import Assumptions, Channel, FixingKind

FIXING_WORDS = {
    "tie_mount": "tie mount",
    "p_clip": "P-clip",
    "saddle": "saddle",
    "edge_clip": "edge clip",
    "fir_tree_clip": "fir-tree clip",
    "bonded_mount": "bonded mount",
    "clip": "clip",
    "cable_tie": "cable tie",
    "bracket": "bracket",
    "screw": "screw through the back of the trunking",
    "adhesive": "adhesive pad for the back of trunking",
}
#: Fixings that hold the bundle by a cable tie of its own.
TIED = frozenset({"tie_mount", "bonded_mount", "edge_clip", "fir_tree_clip", "cable_tie"})
#: Ties other than these are for the engine bay or for taking off again; they are not what is meant by a cable tie.
SPECIAL_TIES = ("stainless", "releasable")


def tie_for(bundle_mm: float, fixings: Iterable[FixingKind], heavy: bool = False) -> FixingKind | None:
    """The plain cable tie that goes round a bundle: of the usual width for it, the shortest that reaches; else the next
    wider one, else a narrower one. None when all are too short. A tie without a width is taken as wide enough."""
    wanted = tie_width_mm(bundle_mm, heavy)
    fitting = [
        f
        for f in fixings
        if f.kind == "cable_tie"
        and f.largest_bundle_mm >= bundle_mm
        and not any(word in f.name for word in SPECIAL_TIES)
    ]

    def rank(f: FixingKind) -> tuple[bool, float, float]:
        width = f.width_mm if f.width_mm is not None else wanted
        return width < wanted, abs(width - wanted), f.largest_bundle_mm

    return min(fitting, key=rank, default=None)


def _fitting(row: SecuringRow, needs: Needs, shelf: Shelf) -> str:
    """The catalogue's part for a fixing placed by hand, by its kind and bundle; else its word with the bundle."""
    bundle = needs.bundles.get(row.channel)
    holds_mm = row.holds_mm or (bundle.diameter_laid_mm if bundle is not None else 0.0)
    part = part_for(holds_mm, (f for f in shelf.fixings if f.kind == row.kind))
    word = FIXING_WORDS.get(row.kind, row.kind)
    return part.name if part is not None else f"{word} for a bundle of {holds_mm:.0f} mm"


def fixings(
    channels: Sequence[Channel], needs: Needs, shelf: Shelf, pitch_mm: float, a: Assumptions
) -> Iterable[Material]:
    by_name = {f.name: f for f in shelf.fixings}
    parts: Counter[str] = Counter()
    screws: Counter[str] = Counter()
    ties: Counter[str] = Counter()

    part_of: dict[tuple[float, bool], FixingKind | None] = {}  # one bundle is tied in many places

    def tie(bundle_mm: float, count: int, heavy: bool = False) -> None:
        if (bundle_mm, heavy) not in part_of:
            part_of[bundle_mm, heavy] = tie_for(bundle_mm, shelf.fixings, heavy)
        part = part_of[bundle_mm, heavy]
        ties[part.name if part is not None else f"cable tie for a bundle of {bundle_mm:.0f} mm"] += count

    for row in needs.securing:
        name = FIXING_WORDS["adhesive"] if row.kind == "adhesive" else row.part or _fitting(row, needs, shelf)
        if row.kind != "screw":
            parts[name] += 1
        if row.threaded:
            screws[f"rivet nut M{row.bolt_mm:g}"] += 1
            screws[f"screw M{row.bolt_mm:g} with washer, for a rivet nut"] += 1
        elif row.screw_mm is not None:
            screws[f"screw, {row.bolt_mm:g} mm, {row.screw_mm:g} mm long at the most"] += 1
        if row.kind in TIED and row.holds_mm > 0:
            tie(row.holds_mm, 1, row.heavy)
    covered = {row.channel for row in needs.wrap}
    for channel in channels:
        bundle = needs.bundles.get(channel.id)
        if bundle is None or channel.id in covered or channel.kind in (*CONDUITS, "trunking") or len(bundle.items) < 2:
            continue
        tie(bundle.diameter_laid_mm, int(bundle.length_mm / pitch_mm))
    for name, count in sorted(parts.items()):
        part = by_name.get(name)
        pack, price = (part.pack, part.price) if part is not None else (1, None)
        yield pieces(name, count, "securing points", a, pack, price)
    for name, count in sorted(ties.items()):
        part = by_name.get(name)
        pack, price = (part.pack, part.price) if part is not None else (1, None)
        if count:
            yield pieces(name, count, f"mounts, and bundles without wrap every {pitch_mm:.0f} mm", a, pack, price)
    for name, count in sorted(screws.items()):
        yield pieces(name, count, "mounts, clips, saddles and trunking", a)
