"""What holds for every edit: the plan it was given stays as it was, and what it gives is sound."""

from collections.abc import Callable
from typing import Any

import pytest

from core.errors import EditRefused
from core.files import codec
from core.files.references import problems
from core.model import COLLECTIONS, Plan


def sound(before: Plan, after: Plan, *changed: str) -> Plan:
    """`after`, once it is seen to be readable and to share with `before` every collection but the `changed` ones."""
    assert problems(after) == ()
    for name in COLLECTIONS:
        if name not in changed:
            assert getattr(after, name) is getattr(before, name), f"{name} is another tuple"
    for name in changed:
        old = {record.id: record for record in getattr(before, name)}
        for record in getattr(after, name):
            was = old.get(record.id)
            assert was is record or was != record, f"{record.id} was made again without a change"
    assert codec.decode(codec.encode(after)) == after
    return after


def refused(edit: Callable[..., Any], *args: Any, says: str, **more: Any) -> None:
    """The edit refuses with a sentence that holds `says`."""
    with pytest.raises(EditRefused) as caught:
        edit(*args, **more)
    sentence = str(caught.value)
    assert says in sentence, sentence
    assert sentence[0].isupper() or sentence[0] == "“", sentence
    assert sentence.endswith("."), sentence
