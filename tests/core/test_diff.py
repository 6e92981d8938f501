"""What changed between two plans is found by identity."""

import msgspec

from core.diff import changed_fields, changed_records
from core.model import Device, Node, OnSurface, Plan, ProfileUse


def _device(name: str) -> Device:
    return Device(id=name, name=name, surface="s1", at_mm=(0.0, 0.0))


def _plan(**fields: object) -> Plan:
    return Plan(format=1, id="plan", name="Plan", profile=ProfileUse(id="p", version="1"), **fields)


def test_added_removed_and_changed_are_told_apart() -> None:
    a, b, c, d = (_device(name) for name in "abcd")
    moved = msgspec.structs.replace(b, at_mm=(5.0, 0.0))
    old = _plan(devices=(a, b, c))
    new = msgspec.structs.replace(old, devices=(a, moved, d))
    assert dict(changed_records(old, new)) == {"devices": (("d",), ("c",), ("b",))}


def test_untouched_collections_are_not_looked_at() -> None:
    nodes = tuple(Node(id=f"n{i}", place=OnSurface(surface="s1", at_mm=(0.0, 0.0))) for i in range(3))
    old = _plan(nodes=nodes, devices=(_device("a"),))
    new = msgspec.structs.replace(old, name="Other")
    assert changed_records(old, new) == {}
    assert changed_records(old, old) == {}
    assert changed_fields(old, new) == ("name",)


def test_against_nothing_everything_is_added() -> None:
    plan = _plan(devices=(_device("a"), _device("b")))
    assert dict(changed_records(None, plan)) == {"devices": (("a", "b"), (), ())}


def test_a_new_order_is_no_change_of_records() -> None:
    a, b = _device("a"), _device("b")
    assert changed_records(_plan(devices=(a, b)), _plan(devices=(b, a))) == {}
