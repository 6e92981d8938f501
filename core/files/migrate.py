"""Older formats, brought up to the present one step at a time.

Raise `core.model.plan.FORMAT` together with a step here: ``STEPS[n]`` takes the JSON document of format n as plain
dicts and lists and returns one of format n + 1. It may change what it gets. A step is never changed after a release.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final

from core.errors import FileProblem
from core.model.plan import FORMAT

Document = dict[str, Any]
Step = Callable[[Document], Document]

STEPS: Final[dict[int, Step]] = {}


def upgrade(document: Document, number: int, steps: Mapping[int, Step] = STEPS, present: int = FORMAT) -> Document:
    """The document in the present format. Raises FileProblem for a newer format, or one that no step leaves.

    A step that fails on a damaged document ends in a FileProblem too.
    """
    if number > present:
        raise FileProblem(
            f"this plan was saved by a newer Loomwright, in format {number}",
            "$.format",
            f"format {present} or older; open it with the newer program",
        )
    while number < present:
        step = steps.get(number)
        if step is None:
            raise FileProblem(f"there never was a format {number}", "$.format", f"a number up to {present}")
        try:
            document = step(document)
        except (KeyError, IndexError, TypeError, ValueError, AttributeError) as error:
            raise FileProblem(
                f"a plan of format {number} cannot be brought up to format {number + 1}: it is damaged"
                f" ({type(error).__name__}: {error})",
                "$",
            ) from error
        number += 1
        document["format"] = number
    return document
