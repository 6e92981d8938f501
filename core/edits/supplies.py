"""Who sells what: by item of the shopping list, by kind of the catalogue, and for all the rest."""

from collections.abc import Iterable
from math import inf

from core.edits.change import add, made, new_id, put_all, refuse, replaced
from core.model import Plan, Supply


def set_supplier(plan: Plan, items: Iterable[str], supplier: str, order_number: str | None = None) -> Plan:
    """Set supplier of items of the shopping list, by their words there; "" takes the entries away.

    `order_number` None keeps what was said of each.
    """
    supplier = supplier.strip()
    for item in dict.fromkeys(items):
        if not item.strip():
            refuse("Which item?")
        before = next((supply for supply in plan.supplies if supply.item == item), None)
        number = order_number.strip() if order_number is not None else before.order_number if before else ""
        priced = before is not None and (before.pack is not None or before.price is not None)
        if not supplier and not number and not priced:
            plan = put_all(plan, "supplies", (row for row in plan.supplies if row.item != item))
        elif before is not None:
            after = replaced(before, supplier=supplier, order_number=number)
            plan = put_all(plan, "supplies", (after if row is before else row for row in plan.supplies))
        else:
            made_row = made(Supply, id=new_id(plan, "supplies"), item=item, supplier=supplier, order_number=number)
            plan = add(plan, "supplies", made_row)
    return plan


def set_pack(plan: Plan, item: str, pack: int | None, price: float | None) -> Plan:
    """Set how an item of the shopping list is sold: how much of its unit in a pack, and the price of one unit; None is
    as its kind says."""
    if not item.strip():
        refuse("Say which item.")
    if pack is not None and pack < 1:
        refuse("A pack holds one or more.")
    if price is not None and not 0.0 <= price < inf:
        refuse("A price is 0 or more.")
    before = next((supply for supply in plan.supplies if supply.item == item), None)
    if before is None:
        if pack is None and price is None:
            return plan
        fresh = made(Supply, id=new_id(plan, "supplies"), item=item, supplier="", pack=pack, price=price)
        return add(plan, "supplies", fresh)
    after = replaced(before, pack=pack, price=price)
    if not (after.supplier or after.order_number) and pack is None and price is None:
        return put_all(plan, "supplies", (row for row in plan.supplies if row.item != item))
    return put_all(plan, "supplies", (after if row is before else row for row in plan.supplies))
