"""Cross-references of a plan: every problem is listed, each with its JSON path."""

from typing import Any

import msgspec
import pytest
from hypothesis import given

from core.errors import FileProblem
from core.files import decode
from core.files.layout import laid_out, plain
from core.files.references import problems, references
from core.files.scan import path_steps
from core.model import FORMAT, Plan
from core.model.plan import COLLECTIONS
from tests.helpers.plans import plans, random_plan

CORNERS = [{"id": f"c{i}", "at_mm": at} for i, at in enumerate(([0, 0], [3000, 0], [3000, 1700], [0, 1700]))]


def surface(name: str, parent: str | None = None, **more: Any) -> dict[str, Any]:
    made: dict[str, Any] = {"id": name, "name": name, "corners": CORNERS} | more
    if parent is not None:
        edge = {"line": "edge", "edge": "c0"}
        made["fold"] = {"line": edge, "parent": parent, "parent_line": edge, "fold_deg": 90}
    return made


def device(name: str, **more: Any) -> dict[str, Any]:
    return {"id": name, "name": name, "surface": "floor", "at_mm": [10, 10]} | more


def plan(**more: Any) -> Plan:
    raw = {"format": FORMAT, "id": "p", "name": "van", "profile": {"id": "v", "version": "1"}} | more
    return msgspec.convert({"surfaces": [surface("floor")]} | raw, Plan)


def told(made: Plan) -> list[tuple[str, str]]:
    return [(problem.path, problem.message) for problem in problems(made)]


@given(plans())
def test_a_sound_plan_has_no_problem(made: Plan) -> None:
    assert problems(made) == ()


@pytest.mark.parametrize("seed", range(5))
def test_every_reference_that_is_broken_is_told_with_its_path(seed: int) -> None:
    """Breaks each reference of a random plan in turn: exactly that one path is told for it."""
    made = random_plan(seed, 3, variants=False)
    document = plain(msgspec.to_builtins(made))
    found = list(references(made))
    assert len(found) > 25
    for reference in found:
        broken = decode_raw(replaced(document, reference.path, "no-such-id"))
        message = f"there is no 'no-such-id' in {' or '.join(reference.collections).replace('_', ' ')}"
        assert (reference.path, message) in told(broken)


def decode_raw(document: Any) -> Plan:
    return msgspec.convert(document, Plan)


def replaced(document: Any, path: str, value: Any) -> Any:
    """A copy of a JSON document with one value replaced."""
    copy = msgspec.json.decode(msgspec.json.encode(document))
    *steps, last = path_steps(path)
    here = copy
    for step in steps:
        here = here[step]
    here[last] = value
    return copy


def test_each_kind_of_reference_of_the_model_is_found() -> None:
    """Every collection that the ids of the model name is pointed at by some reference of the random plans."""
    made = [random_plan(seed, 3) for seed in range(8)]
    seen = {name for one in made for reference in references(one) for name in reference.collections}
    assert seen >= {
        "surfaces",
        "boxes",
        "ribs",
        "panels",
        "images",
        "penetrations",
        "moving_joints",
        "nodes",
        "channels",
        "devices",
        "circuits",
        "wire_kinds",
        "tape_kinds",
        "conduit_kinds",
        "wrap_styles",
    }
    assert seen <= set(COLLECTIONS)


def test_an_id_used_twice_is_told_with_both_places_across_collections() -> None:
    made = plan(devices=[device("d1"), device("d1"), device("floor")])
    assert told(made) == [
        ("$.devices[1].id", "the id 'd1' is used already by $.devices[0].id"),
        ("$.devices[2].id", "the id 'floor' is used already by $.surfaces[0].id"),
    ]


def test_a_reference_into_another_collection_says_where_the_id_is() -> None:
    made = plan(devices=[device("lamp"), device("fan", node="lamp")])
    assert told(made) == [("$.devices[1].node", "there is no 'lamp' in nodes; 'lamp' is in devices")]


def test_a_cycle_of_folds_is_told_with_its_chain_once() -> None:
    made = plan(surfaces=[surface("floor"), surface("a", "c"), surface("b", "a"), surface("c", "b"), surface("d", "a")])
    assert told(made) == [("$.surfaces[1].fold.parent", "the folds run in a circle: a → c → b → a")]


def test_two_cycles_and_a_surface_folded_at_itself_are_all_told() -> None:
    made = plan(surfaces=[surface("floor"), surface("a", "b"), surface("b", "a"), surface("c", "c")])
    assert [message for _, message in told(made)] == [
        "the folds run in a circle: a → b → a",
        "the folds run in a circle: c → c",
    ]


def test_a_chain_of_folds_of_any_length_is_no_cycle_and_needs_no_recursion() -> None:
    walls = [surface("floor"), *(surface(f"s{i}", f"s{i - 1}" if i else "floor") for i in range(3000))]
    assert told(plan(surfaces=walls)) == []
    walls[1] = surface("s0", "s2999")
    message = told(plan(surfaces=walls))[0][1]
    assert message.startswith("the folds run in a circle: s0 → s2999 → s2998")
    assert message.endswith("→ …")


def test_several_roots_open_and_are_left_to_the_findings() -> None:
    assert told(plan(surfaces=[surface("floor"), surface("other")])) == []


@pytest.mark.parametrize(
    ("more", "path", "message"),
    [
        (
            {"surfaces": [surface("floor", corners=[*CORNERS, CORNERS[0]])]},
            "$.surfaces[0].corners[4].id",
            "the id 'c0' of the surface floor is used already by $.surfaces[0].corners[0].id",
        ),
        ({"surfaces": [surface("floor", corners=CORNERS[:2])]}, "$.surfaces[0].corners", "there are 2 corners"),
        ({"surfaces": [surface("floor", holes=[[[0, 0], [1, 1]]])]}, "$.surfaces[0].holes[0]", "there are 2 corners"),
        (
            {"ribs": [{"id": "r", "surface": "floor", "line_mm": [[0, 0]], "width_mm": 40}]},
            "$.ribs[0].line_mm",
            "there are 1 points",
        ),
        (
            {"panels": [{"id": "n", "name": "n", "surface": "floor", "outline": []}]},
            "$.panels[0].outline",
            "there are 0 corners",
        ),
        (
            {"nodes": [{"id": "n", "place": {"place": "line", "surface": "floor", "edge": "c9", "at_mm": 5}}]},
            "$.nodes[0].place.edge",
            "the surface floor has no corner 'c9'",
        ),
        (
            {
                "seams": [
                    {
                        "id": "m",
                        "a": "floor",
                        "a_line": {"line": "edge", "edge": "c1"},
                        "b": "floor",
                        "b_line": {"line": "edge", "edge": "x"},
                    }
                ]
            },
            "$.seams[0].b_line.edge",
            "the surface floor has no corner 'x'",
        ),
        (
            {"moving_joints": [{"id": "j", "name": "j", "part": "door", "open_mm": 300, "closed_mm": 250}]},
            "$.moving_joints[0].part",
            "there is no 'door' in moving parts",
        ),
        (
            {"devices": [device("d", ports=[{"id": "1", "role": "feed"}, {"id": "1", "role": "return"}])]},
            "$.devices[0].ports[1].id",
            "the id '1' of the device d is used already by $.devices[0].ports[0].id",
        ),
    ],
)
def test_what_types_cannot_say_is_told(more: dict[str, Any], path: str, message: str) -> None:
    assert told(plan(**more)) == [(path, message)]


BLOCK = device("block", kind="fuse_block", ways=[{"id": "1", "largest_a": 30}], ports=[{"id": "plus", "role": "feed"}])


@pytest.mark.parametrize(
    ("stops", "path", "message"),
    [
        ([{"id": "a", "device": "gone", "role": "source"}], "[0].device", "there is no 'gone' in devices"),
        ([{"id": "a", "device": "block"}], "[0].role", "the first stop of the circuit k is a load"),
        ([{"id": "a", "device": "block", "role": "source", "after": "a"}], "[0].after", "the first stop follows 'a'"),
        (
            [{"id": "a", "device": "block", "role": "source"}, {"id": "b", "device": "block", "after": "x"}],
            "[1].after",
            "the stop 'x' is not there",
        ),
        (
            [{"id": "a", "device": "block", "role": "source"}, {"id": "b", "device": "block", "after": "b"}],
            "[1].after",
            "the stop 'b' is the stop itself",
        ),
        (
            [
                {"id": "a", "device": "block", "role": "source"},
                {"id": "b", "device": "block", "after": "c"},
                {"id": "c", "device": "block", "after": "b"},
            ],
            "[1].after",
            "the stop 'c' comes later",
        ),
        (
            [{"id": "a", "device": "block", "role": "source"}, {"id": "a", "device": "block"}],
            "[1].id",
            "the id 'a' of the circuit k is used already by $.circuits[0].stops[0].id",
        ),
        ([{"id": "a", "device": "block", "role": "source", "way": "7"}], "[0].way", "the device block has no way '7'"),
        (
            [{"id": "a", "device": "block", "role": "source", "port": "x"}],
            "[0].port",
            "the device block has no port 'x'",
        ),
        (
            [{"id": "a", "device": "block", "role": "source", "waypoints": ["n"]}],
            "[0].waypoints[0]",
            "there is no 'n' in nodes",
        ),
    ],
)
def test_a_broken_circuit_is_told(stops: list[dict[str, Any]], path: str, message: str) -> None:
    made = plan(devices=[BLOCK], circuits=[{"id": "k", "name": "k", "stops": stops}])
    assert told(made) == [(f"$.circuits[0].stops{path}", message)]


def test_a_variant_is_checked_with_the_path_of_its_plan() -> None:
    inner = msgspec.to_builtins(plan(devices=[device("d", node="gone")]))
    made = plan(variants=[{"id": "v", "name": "v", "plan": inner}])
    assert told(made) == [("$.variants[0].plan.devices[0].node", "there is no 'gone' in nodes")]


def test_a_variant_holds_no_variants() -> None:
    inner = msgspec.to_builtins(plan())
    middle = msgspec.to_builtins(plan(variants=[{"id": "v", "name": "v", "plan": inner}]))
    made = plan(variants=[{"id": "v", "name": "v", "plan": middle}])
    assert told(made) == [("$.variants[0].plan.variants", "the variant v holds variants")]


def test_a_file_lists_every_problem_with_path_and_line() -> None:
    """A circuit to a missing device, a cycle of folds and an id used twice, in one file."""
    made = plan(
        surfaces=[surface("floor"), surface("a", "b"), surface("b", "a")],
        devices=[BLOCK, device("block")],
        circuits=[{"id": "k", "name": "k", "stops": [{"id": "s", "device": "pump", "role": "source"}]}],
    )
    text = laid_out(plain(msgspec.to_builtins(made)))
    with pytest.raises(FileProblem) as caught:
        decode(text.encode(), "van.loomplan")
    problem = caught.value
    second = line_of(text, '"block", "name": "block", "surface"')
    assert str(problem) == (
        f"van.loomplan, {second}, $.devices[1].id: "
        "the id 'block' is used already by $.devices[0].id (expected an id of its own)"
    )
    assert [other.location.split(", ")[-1] for other in problem.others] == [
        "$.circuits[0].stops[0].device",
        "$.surfaces[1].fold.parent",
    ]


def line_of(text: str, needle: str) -> str:
    """Line and column of the last place at which a text stands."""
    at = text.rindex(needle)
    return f"line {text.count(chr(10), 0, at) + 1}, column {at - text.rfind(chr(10), 0, at)}"
