"""The load list goes out and comes back unchanged; what people paste is read; what is wrong is told with its place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.edits.load_rows import Imported, import_loads
from core.errors import FileProblem
from core.exports.load_list import load_list_bytes, read_load_list
from core.files.library import load_library
from core.files.references import problems
from core.model import Plan
from tests.helpers.vans import by_name, empty, shell
from tests.helpers.wired import wired

LIBRARY = load_library()
VAN = wired()


def imported(plan: Plan, text: str | bytes) -> Imported:
    read = read_load_list(text)
    assert read.problems == (), read.problems
    result = import_loads(plan, read.rows, LIBRARY)
    assert problems(result.plan) == ()
    return result


def test_out_and_in_changes_nothing() -> None:
    result = imported(VAN, load_list_bytes(VAN))
    assert result.problems == ()
    assert result.plan == VAN
    assert (result.devices, result.circuits) == ((), ())


NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=30
).filter(lambda text: text == text.strip())  # fmt: skip

DUTY = st.floats(0, 1).map(lambda share: round(share, 3))


@given(names=st.lists(NAMES, min_size=3, max_size=3), circuits=st.lists(NAMES, min_size=3, max_size=3),
       power=st.none() | st.floats(0.001, 5_000.0), duty=DUTY, note=NAMES)  # fmt: skip
def test_out_and_in_whatever_it_is_called(names, circuits, power, duty, note) -> None:
    """Names alike, names that are ids, formulas, quotes, separators: all come back."""
    devices = tuple(
        replace(d, name=name, note=note, electrical=replace(d.electrical, power_w=power, duty=duty))
        for d, name in zip(VAN.devices[1:], names, strict=True)
    )
    rows = tuple(replace(c, name=name) for c, name in zip(VAN.circuits, circuits, strict=True))
    plan = replace(VAN, devices=(VAN.devices[0], *devices), circuits=rows)
    read = read_load_list(load_list_bytes(plan))
    result = import_loads(plan, read.rows, LIBRARY)
    assert read.problems == result.problems == ()
    assert result.plan == plan


def test_cells_that_a_spreadsheet_would_run_are_guarded() -> None:
    row = replace(VAN.devices[2], name="=2+5", note="'@home")
    plan = replace(VAN, devices=(*VAN.devices[:2], row, VAN.devices[3]))
    text = load_list_bytes(plan).decode("utf-8-sig")
    assert ",'=2+5," in text
    assert ",''@home" in text
    assert imported(plan, text).plan == plan


PASTED = """Item\tQty\tWatts\tVolts\tFed from\tCircuit
Ceiling light\t4\t3,5\t12 V\tFuse block\tCeiling lights
Water pump\t\t72\t12\tFuse block\tWater
Roof vent\t1\t0.04 kW\t12V DC\tFuse block\t
"""


def test_a_paste_from_a_spreadsheet_becomes_devices_and_circuits() -> None:
    result = imported(VAN, PASTED)
    assert result.problems == ()
    names = [d.name for d in result.plan.devices if d.id in result.devices]
    assert names == [
        "Ceiling light",
        "Ceiling light 2",
        "Ceiling light 3",
        "Ceiling light 4",
        "Water pump",
        "Roof vent",
    ]
    lights = next(c for c in result.plan.circuits if c.name == "Ceiling lights")
    assert len(lights.stops) == 5
    fan = next(d for d in result.plan.devices if d.name == "Roof vent")
    assert (fan.kind, fan.electrical.power_w, fan.electrical.current_a) == ("fan", 40.0, None)
    assert {c.name for c in result.plan.circuits if c.id in result.circuits} == {"Ceiling lights", "Water", "Roof vent"}


def test_a_list_alone_makes_devices_on_the_floor() -> None:
    """From a list of wishes, before anything but the floor is measured: no two on one spot."""
    text = "Name;Power (kW)\nKettle;1,8\nFridge;0,06\nLamp;0,005\n"
    result = imported(shell(), text)
    assert [d.electrical.power_w for d in result.plan.devices] == pytest.approx([1_800.0, 60.0, 5.0])
    assert len({d.at_mm for d in result.plan.devices}) == 3
    (told,) = import_loads(empty(), read_load_list("Name\nLamp\n").rows, LIBRARY).problems
    assert "draw the floor first" in str(told)


def test_bad_cells_are_told_with_row_column_and_what_was_expected() -> None:
    text = (
        "Load,Power (W),System,Duty,Critical,Fuse\n"
        "Lamp,much,12 V,,yes,\nPump,60,13 V,200,maybe,1.5.2\n,5,,,,\nGood,5,,,,\n"
    )
    read = read_load_list(text)
    told = {(p.row, p.column) for p in read.problems}
    assert told == {(2, "Power"), (3, "System"), (3, "Duty"), (3, "Critical"), (3, "Fuse"), (4, "Load")}
    assert [row.name for row in read.rows] == ["Good"]
    first = str(read.problems[0])
    assert first.startswith("Row 2, Power: “much” cannot be used; expected a power such as 60 or 1.2 kW")


def test_rows_that_do_not_fit_the_plan_are_left_out_whole() -> None:
    text = (
        "Load,Surface,x,y,Source,Way,Circuit\n"
        "Lamp,Nowhere,1,1,,,\n"
        "Lamp,Floor,99999,1,,,\n"
        "Lamp,Floor,100,,,,\n"
        "Lamp,Floor,100,100,No such,,\n"
        "Lamp,Floor,100,100,Fuse block,99,\n"
        "Right,Floor,100,100,Fuse block,6,\n"
    )
    result = imported(VAN, text)
    assert [p.row for p in result.problems] == [2, 3, 4, 5, 6]
    assert [d.name for d in result.plan.devices if d.id in result.devices] == ["Right"]
    assert "no surface “Nowhere”" in str(result.problems[0])
    assert "no way 99" in str(result.problems[4])


def test_a_load_moves_to_another_circuit_and_an_empty_one_goes() -> None:
    result = imported(VAN, "Load,Circuit\nPump,Light\n")
    plan = result.plan
    assert len(plan.circuits) == len(VAN.circuits) - 1
    light = next(c for c in plan.circuits if c.name == "Light")
    assert [s.device for s in light.stops[1:]] == [by_name(plan, "devices", "Light"), by_name(plan, "devices", "Pump")]


def test_sizes_and_fuses_are_set_and_given_back_to_the_rules() -> None:
    plan = imported(VAN, "Load,Wire size,Fuse\nPump,4 mm²,15 A\n").plan
    pump = next(c for c in plan.circuits if c.name == "Pump")
    assert (pump.section_mm2, pump.protective.rating_a) == (4.0, 15.0)
    back = imported(plan, "Load,Wire size,Fuse\nPump,auto,-\n").plan
    assert back == VAN
    (told,) = import_loads(VAN, read_load_list("Load,Section\nPump,3.3\n").rows, LIBRARY).problems
    assert "is not made with 3.3 mm²" in str(told)


def test_names_that_several_have_want_the_id() -> None:
    twins = replace(VAN, devices=tuple(replace(d, name="Twin") if d.kind in ("light", "pump") else d
                                       for d in VAN.devices))  # fmt: skip
    (told,) = import_loads(twins, read_load_list("Load,Power\nTwin,5\n").rows, LIBRARY).problems
    assert "write the id" in str(told)


def test_unknown_columns_are_told_and_left_out() -> None:
    read = read_load_list("Load,Colour of the box,Amps [mA]\nLamp,blue,500\n")
    assert read.unknown == ("Colour of the box",)
    assert read.rows[0].current_a == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\n\n", "empty"),
        (b"a,b\n1,2\n", "no column holds the loads"),
        (b"Load\n\x00\x01", "no text"),
        (b'Load\n"open', "no CSV"),
        (b"Load," + b"x," * 80 + b"\n", "cells"),
        (b"Load\n" + b"y" * 3_000, "letters"),
        (b"Load\n" + b"z\n" * 6_000, "too many rows"),
        (b"Load\n" + b"x" * (5 * 1024 * 1024), "too large"),
    ],
)
def test_what_is_no_load_list_says_why(data: bytes, says: str) -> None:
    with pytest.raises(FileProblem, match=says):
        read_load_list(data)


def test_other_encodings_are_read() -> None:
    text = "Load;Power\nKühlbox;45\n"
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "cp1252"):
        assert read_load_list(text.encode(encoding)).rows[0].name == "Kühlbox"


@given(st.binary(max_size=300) | st.text(max_size=300).map(str.encode))
def test_any_bytes_end_in_a_list_or_a_sentence(data: bytes) -> None:
    try:
        read = read_load_list(b"Load,Power,x,y,Quantity\n" + data)
    except FileProblem:
        return
    result = import_loads(VAN, read.rows, LIBRARY)
    assert problems(result.plan) == ()
