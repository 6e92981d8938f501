"""Keep variant, swap variant in: copies of a plan inside its file, under a name."""

from core.edits.change import add, free_name, get, made, new_id, put, refuse, replaced
from core.model import Plan, Variant

#: A file holds no more copies of itself than this.
MOST_VARIANTS = 12
#: What belongs to the vehicle and its owner whatever is planned: it stays when another variant comes in.
STAYS = ("name", "customer", "build_for", "vehicle", "spools", "revisions")


def keep_variant(plan: Plan, name: str, of: Plan | None = None) -> tuple[Plan, str]:
    """Keep variant: a copy of the plan (or of another plan derived from it) inside it, under a name of its own."""
    if not name.strip():
        refuse("A variant needs a name.")
    if len(plan.variants) >= MOST_VARIANTS:
        refuse(f"A plan keeps {MOST_VARIANTS} variants at most; delete one first.")
    kept = replaced(of if of is not None else plan, variants=())
    fresh = new_id(plan, "variants")
    named = free_name(name.strip(), (variant.name for variant in plan.variants))
    return add(plan, "variants", made(Variant, id=fresh, name=named, plan=kept)), fresh


def swap_variant(plan: Plan, variant_id: str, keep_as: str | None = None) -> Plan:
    """Swap variant in: it becomes the plan, and what was the plan becomes the variant, under `keep_as`.

    What belongs to the vehicle (stock, customer, revisions) stays. Refuses where wires were pulled that the variant
    does not know of: pulled wires never move.
    """
    variant: Variant = get(plan, "variants", variant_id)
    known = {record.id: record for record in variant.plan.as_pulled}
    unknown = [record for record in plan.as_pulled if known.get(record.id) != record]
    locked = {channel.id for channel in plan.channels if channel.wires != "planned"}
    free = {channel.id for channel in variant.plan.channels if channel.wires == "planned"}
    if unknown or locked & free or locked - {channel.id for channel in variant.plan.channels}:
        refuse(f"Wires were pulled after “{variant.name}” was kept, so it cannot take the plan's place.")
    if keep_as is not None and not keep_as.strip():
        refuse("A variant needs a name.")
    others = [each.name for each in plan.variants if each.id != variant_id]
    named = free_name(keep_as.strip() if keep_as else f"Before {variant.name}", others)
    old = replaced(variant, name=named, plan=replaced(plan, variants=()))
    stays = {field: getattr(plan, field) for field in STAYS}
    return replaced(variant.plan, **stays, variants=put(plan, "variants", old).variants)
