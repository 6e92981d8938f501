"""What is written down while the harness is built: pulled wires, tests, photos, and panels that are closed."""

from msgspec.structs import replace

from core.edits.body import draw_panel
from core.edits.finishing import (
    attach_photo,
    close_panel,
    forget_pulled,
    open_panel,
    pulled_entry,
    record_pulled,
    record_test,
    set_photo,
    tick_close_out,
)
from core.edits.records import delete
from core.edits.supplies import set_pack, set_supplier
from core.files.codec import decode, encode
from core.model import Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell
from tests.helpers.wired import wired

PICTURE = b"\x89PNG\r\n\x1a\n"


def _paneled() -> tuple[Plan, str, str]:
    plan = shell()
    wall = plan.surfaces[1].id
    plan, panel = draw_panel(plan, wall, ((100.0, 100.0), (600.0, 100.0), (600.0, 500.0), (100.0, 500.0)), "Board")
    return plan, panel, wall


def test_a_wire_has_one_entry_and_recording_again_replaces_what_was_said() -> None:
    plan = wired()
    once, first = record_pulled(plan, "W1-1F", ("c1",), length_mm=2_410.0, on="2026-11-20", note="tight bend")
    sound(plan, once, "as_pulled")
    twice, second = record_pulled(once, "W1-1F", length_mm=2_500.0, section_mm2=4.0)
    assert first == second
    assert len(twice.as_pulled) == 1
    entry = pulled_entry(twice, "W1-1F")
    assert entry is not None
    assert (entry.length_mm, entry.section_mm2, entry.note, entry.channels) == (2_500.0, 4.0, "", ("c1",))
    assert forget_pulled(twice, "W1-1F").as_pulled == ()
    assert decode(encode(once)) == once


def test_what_cannot_have_been_pulled_is_refused_with_the_number() -> None:
    plan = wired()
    refused(record_pulled, plan, "W1-1F", length_mm=-5.0, says="-5")
    refused(record_pulled, plan, "W1-1F", on="yesterday", says="no day")
    refused(record_pulled, plan, "W1-1F", ("nowhere",), says="no channel")
    refused(forget_pulled, plan, "W1-1F", says="Nothing is written down")


def test_results_of_tests_are_kept_all() -> None:
    plan = wired()
    circuit, device = plan.circuits[0].id, plan.devices[1].id
    plan, _ = record_test(plan, circuit, "continuity", False, device=device, value=9.0, unit="mΩ", on="2026-11-20")
    plan, _ = record_test(plan, circuit, "continuity", True, on="2026-11-21")
    assert [row.passed for row in plan.test_results] == [False, True]
    refused(record_test, plan, "none", "continuity", True, says="circuit")


def test_a_photo_is_pinned_to_a_place_and_its_picture_kept_once() -> None:
    plan, panel, wall = _paneled()
    after, first = attach_photo(
        plan, PICTURE, "image/png", panel=panel, surface=wall, at_mm=(250.0, 300.0), caption="A"
    )
    after, second = attach_photo(after, PICTURE, "image/png")
    assert len(after.images) == 1
    assert find(after, "photos", first).at_mm == (250.0, 300.0)
    moved = set_photo(after, second, surface=wall, at_mm=(10.0, 20.0), caption="B")
    assert find(moved, "photos", second).surface == wall
    # With its last photo the picture goes; with its wall a photo loses its place, not itself.
    gone, _ = delete(after, (first, second))
    assert gone.images == ()
    without, _ = delete(after, (panel,))
    assert find(without, "photos", first).panel is None
    refused(attach_photo, plan, b"x" * (3 * 2**20), "image/png", says="MB")
    refused(attach_photo, plan, PICTURE, "image/gif", says="gif")


def test_a_panel_is_closed_only_when_nothing_is_missing_or_with_a_typed_reason() -> None:
    plan, panel, _ = _paneled()
    for words in ("Pump tested: missing", "type the reason"):
        refused(close_panel, plan, panel, "2026-11-25", missing=("Pump tested: missing",), says=words)
    forced = close_panel(plan, panel, "2026-11-25", "Who", ("Pump tested: missing",), " pump comes later ")
    close = find(forced, "panels", panel).close_out
    assert (close.override_reason, close.overridden) == ("pump comes later", ("Pump tested: missing",))
    refused(tick_close_out, forced, panel, labels_done=True, says="closed on 2026-11-25")
    assert find(open_panel(forced, panel), "panels", panel).close_out is None
    good = close_panel(tick_close_out(plan, panel, labels_done=True), panel, "2026-11-25", reason="not needed")
    assert find(good, "panels", panel).close_out.override_reason == ""
    assert find(good, "panels", panel).close_out.labels_done
    customer = replace(plan, build_for="customer")
    refused(close_panel, customer, panel, "2026-11-25", "", ("x",), "because", says="name")


def test_suppliers_are_set_kept_and_taken_away() -> None:
    plan = shell()
    named = set_supplier(plan, ("fuse 5 A, blade", "label"), "Marine store")
    named = set_supplier(named, ("label",), "Office store", "4711")
    assert [(row.item, row.supplier, row.order_number) for row in named.supplies] == [
        ("fuse 5 A, blade", "Marine store", ""),
        ("label", "Office store", "4711"),
    ]
    kept = set_supplier(named, ("label",), "Marine store")
    assert kept.supplies[1].order_number == "4711"
    assert set_supplier(kept, ("label", "fuse 5 A, blade"), "", "").supplies == ()
    assert decode(encode(kept)) == kept


def test_packs_and_prices_are_typed_kept_and_taken_away() -> None:
    plan = shell()
    packed = set_pack(plan, "label", 100, 0.05)
    assert (packed.supplies[0].pack, packed.supplies[0].price) == (100, 0.05)
    assert decode(encode(packed)) == packed
    named = set_supplier(packed, ("label",), "Office store")
    assert set_supplier(named, ("label",), "").supplies[0].pack == 100  # what is typed of it stays
    assert set_pack(packed, "label", None, None).supplies == ()
    assert set_pack(plan, "label", None, None) is plan
    refused(set_pack, plan, "label", 0, None, says="one or more")
    refused(set_pack, plan, "label", None, -1.0, says="0 or more")
    refused(set_pack, plan, " ", 5, None, says="which item")
