"""What is wrong with the sentence and the numbers of a finding, as a reader would see it."""

import math
import re
from collections.abc import Mapping
from typing import Any

from core.model import Plan, records

#: Words that end in s and stand rightly after a one.
ONE_AND_S = frozenset(
    {"is", "has", "was", "comes", "crosses", "lies", "does", "needs", "goes", "carries", "bus", "gas"}
)
_ONE_MANY = re.compile(r"(?<![\d.,] )(?<![\w.,-])1 ([a-z]+s)\b")
_MANY_ONE = re.compile(
    r"(?<![\w.,-])(?:[2-9]|\d{2,}) (circuit|wire|fuse|place|piece|point|rib|conductor|channel|device|turn|bundle|seam|"
    r"fold|panel|screw|grommet|crossing|cable)\b(?!-)"
)
_RAW = re.compile(
    r"\bNone\b|\bnan\b|\binf\b|\bTrue\b|\bFalse\b|frozenset|<[a-z]|\[['\"]|\{|\}|\('|\d\.\d{5,}|\be[-+]\d\d\b|_mm\b|_deg\b"
)
#: Collections whose records are spoken of by the mark their id is: W12, not "Ceiling lights".
MARKED = ("circuits", "cables")


def named_ids(plan: Plan) -> dict[str, str]:
    """Ids that no reader should meet, because their record has a name: id to name."""
    found: dict[str, str] = {}
    for collection, record in records(plan):
        name = getattr(record, "name", "")
        if collection not in MARKED and name and re.fullmatch(r"[a-z]+\d+", record.id):
            found[record.id] = name
    return found


def subject_ids(plan: Plan) -> set[str]:
    """Ids a finding may be about: every record, corners of surfaces, the plan itself."""
    found = {record.id for _, record in records(plan)} | {plan.id}
    return found | {corner.id for surface in plan.surfaces for corner in surface.corners}


def problems(finding: Mapping[str, Any], known: set[str], names: Mapping[str, str]) -> list[str]:
    """Everything wrong with one finding of the check, in words; empty when it reads well."""
    text, found = finding["message"], []
    if not text or text != text.strip() or not text.endswith((".", "!", "?", "”")):
        found.append("is no sentence")
    if text[:1].islower():
        found.append("starts small")
    if raw := _RAW.search(text):
        found.append(f"shows {raw.group()!r}")
    if "  " in text or " ." in text or ".." in text or ", ," in text:
        found.append("has doubled or stray marks")
    if (one := _ONE_MANY.search(text)) and one.group(1) not in ONE_AND_S:
        found.append(f"says {one.group()!r}")
    if many := _MANY_ONE.search(text):
        found.append(f"says {many.group()!r}")
    words = re.findall(r"(?<![\w-])[a-z]+\d+(?![\w-])", text)
    found.extend(f"says {word} for {names[word]}" for word in words if word in names)
    found.extend(f"is about {one}, which there is not" for one in finding["subjects"] if one not in known)
    if not finding["subjects"]:
        found.append("is about nothing")
    value, limit = finding["value"], finding["limit"]
    if any(number is not None and not math.isfinite(number) for number in (value, limit)):
        found.append("has a number that is none")
    if (value is not None or limit is not None) and not finding["unit"]:
        found.append("has a number without a unit")
    if limit is not None and value is not None and finding["severity"] == "error" and not finding["source"]:
        found.append("has a limit without a source")
    return found
