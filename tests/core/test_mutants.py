"""The hand-picked faults of `tests.soak.mutants` still have their places, so the long trial tries what it says."""

import ast
from pathlib import Path

import pytest

import core
from tests.soak.mutants import MUTANTS, Mutant, spoilt


def test_there_are_many_of_both_packages() -> None:
    assert sum(mutant.module.startswith("electrical/") for mutant in MUTANTS) >= 30
    assert sum(mutant.module.startswith("harness/") for mutant in MUTANTS) >= 25


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: f"{mutant.module}: {mutant.old[:40]!r}")
def test_a_mutant_has_its_place_and_is_a_program(mutant: Mutant) -> None:
    text = (Path(core.__file__).parent / mutant.module).read_text(encoding="utf-8")
    changed = spoilt(mutant, text)
    assert changed != text
    assert ast.dump(ast.parse(changed)) != ast.dump(ast.parse(text))
