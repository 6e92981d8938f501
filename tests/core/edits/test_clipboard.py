"""Copy and paste between plans."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.edits.body import draw_box, draw_rib, raise_faces
from core.edits.clipboard import copy_out, is_ours, paste
from core.edits.devices import place_device
from core.errors import EditRefused
from core.files.library import load_library
from core.geometry.foldout import lay_out
from core.geometry.plane import distance_mm
from core.model import Plan, find
from tests.core.edits.checks import refused, sound
from tests.helpers.vans import shell

LIBRARY = load_library()


def furnished() -> tuple[Plan, tuple[str, ...]]:
    plan = shell()
    plan, box = draw_box(plan, "s3", ((500, 300), (1_100, 300), (1_100, 700), (500, 700)), 450, "Cupboard")
    plan, _ = raise_faces(plan, box)
    plan, rib = draw_rib(plan, "s3", ((1_200, 300), (1_200, 700)), 60, "Rib")
    plan, device = place_device(plan, LIBRARY.devices[0], "s3", (800, 500), "Light")
    return plan, (box, rib, device)


def test_what_was_copied_lies_the_same_way_in_another_plan() -> None:
    plan, ids = furnished()
    other = shell()
    after, (box, rib, device) = paste(other, copy_out(plan, ids), "s1", (1_500, 800))
    sound(other, after, "boxes", "ribs", "devices")
    assert find(after, "boxes", box).name == "Cupboard"
    assert find(after, "boxes", box).faces == ()
    # On the sheet: as before, about the middle of the selection.
    one, two = lay_out(plan.surfaces), lay_out(after.surfaces)
    old = [*one.place("s3").line_to_sheet(find(plan, "boxes", ids[0]).outline)]
    old += one.place("s3").line_to_sheet(find(plan, "ribs", ids[1]).line_mm)
    now = [*two.place("s1").line_to_sheet(find(after, "boxes", box).outline)]
    now += two.place("s1").line_to_sheet(find(after, "ribs", rib).line_mm)
    shifts = {(round(q[0] - p[0], 3), round(q[1] - p[1], 3)) for p, q in zip(old, now, strict=True)}
    assert len(shifts) == 1
    light = find(after, "devices", device)
    assert light.node is None
    assert distance_mm(light.at_mm, find(after, "boxes", box).outline[0]) == pytest.approx(360.5551, abs=1e-3)
    twice, _ = paste(after, copy_out(plan, ids), "s1", (1_500, 1_200))
    assert [each.name for each in twice.boxes] == ["Cupboard", "Cupboard 2"]


def test_what_does_not_fit_or_is_no_copy_is_refused() -> None:
    plan, ids = furnished()
    data = copy_out(plan, ids)
    refused(paste, plan, data, "s1", (10, 10), says="does not lie on Floor")
    refused(copy_out, plan, ("s1",), says="cannot be copied")
    refused(copy_out, plan, (), says="Nothing is selected")
    for bad in (b"", b"{}", b"hello", data[:-9], b'{"format":1,"pieces":[]}', b"[" * 100_000):
        refused(paste, plan, bad, "s1", (1_500, 800), says="clipboard holds nothing")
        assert not is_ours(bad)
    assert is_ours(data)
    clip = json.loads(data)
    clip["pieces"][0]["record"]["faces"] = ["s1"]
    refused(paste, plan, json.dumps(clip).encode(), "s1", (1_500, 800), says="hang on others")
    clip["pieces"][0]["collection"] = "circuits"
    refused(paste, plan, json.dumps(clip).encode(), "s1", (1_500, 800), says="cannot be pasted")


@given(st.binary(max_size=300))
def test_any_bytes_end_in_a_sentence(data: bytes) -> None:
    with pytest.raises(EditRefused, match="clipboard"):
        paste(shell(), data, "s1", (0, 0))
