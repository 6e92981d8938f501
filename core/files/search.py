"""Search of the device catalogue by what people say: UK and US words, plurals, half words, slips of the finger."""

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

from core.files.library import DeviceTemplate

#: Words that say the same; each set is one meaning. UK and US words and what is said in the trade.
ALIKE: tuple[frozenset[str], ...] = tuple(
    frozenset(words.split())
    for words in (
        "light lamp luminaire", "fridge refrigerator icebox", "aerial antenna", "earth ground", "tap faucet",
        "socket outlet receptacle plug", "mains shore hookup", "battery accumulator", "heater furnace stove",
        "boiler geyser", "extractor exhaust", "roof ceiling", "negative minus return", "positive plus",
        "fuse breaker", "solar photovoltaic pv", "caravan camper rv", "cooker hob cooktop", "tv television telly",
        "sensor sender gauge", "speaker loudspeaker", "switch rocker toggle", "grey gray", "motor engine",
        "charger recharger", "inverter converter", "monitor display screen", "torch flashlight", "awning canopy",
        "wifi internet router", "stereo radio", "reverse reversing backup", "camera cam", "trailer caravan",
    )
)  # fmt: skip
#: Said so often that they tell nothing apart.
IDLE_WORDS = frozenset({"the", "a", "an", "of", "for", "my", "with", "and", "volt", "v", "12v", "dc"})
MOST_LETTERS = 100
MOST_FOUND = 40


def search(templates: Iterable[DeviceTemplate], text: str) -> tuple[DeviceTemplate, ...]:
    """The templates that fit what was typed, the best first, else in the order given (that of the catalogue has the
    usual ones first); all of them for an empty text.

    Every word must be found in the name, the words or the kind of a template: whole, as a beginning, in another word
    of the same meaning, or with one slip of the finger (two in words of eight letters and more).
    """
    rows = tuple(templates)
    asked = words_of(text[:MOST_LETTERS])
    if not asked:
        return rows
    scored = [(score(row, asked), index, row) for index, row in enumerate(rows)]
    found = sorted((s, i) for s, i, _ in scored if s is not None)
    return tuple(rows[index] for _, index in found[:MOST_FOUND])


def score(template: DeviceTemplate, asked: tuple[str, ...]) -> float | None:
    """How far a template is from the words asked for, the least is best; None where one of them is not found in it."""
    name, more = _vocabulary(template)
    kind = frozenset(words_of(template.kind.replace("_", " ")))
    total = 0.0
    for word in asked:
        own, other = _distance(word, name), _distance(word, more)
        best = min((d for d in (own, None if other is None else other + 0.5) if d is not None), default=None)
        if best is None:
            return None
        total += best - (0.2 if _distance(word, kind) is not None else 0.0)
    head = words_of(template.name.partition(",")[0])
    unsaid = [word for word in name if all(_distance(word, frozenset({a})) is None for a in asked)]
    # What stands behind the comma tells kinds of one thing apart, and nobody asks for that first.
    return round(total + sum(0.1 for word in unsaid if word in head), 6)


@lru_cache(maxsize=2048)
def words_of(text: str) -> tuple[str, ...]:
    """Plain words in the singular: small letters, no accents; idle words left out unless nothing else was said."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    words = [singular(word) for word in re.findall(r"[a-z0-9]+", plain)]
    telling = tuple(word for word in words if word not in IDLE_WORDS)
    return telling or tuple(words)


def singular(word: str) -> str:
    """The singular of an English word, near enough for a search: lights, batteries, switches, buses."""
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("ches", "shes", "xes", "sses", "buses")):
        return word[:-2]
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


@lru_cache(maxsize=1024)
def _vocabulary(template: DeviceTemplate) -> tuple[frozenset[str], frozenset[str]]:
    name = frozenset(words_of(template.name))
    more = {word for each in template.words for word in words_of(each)}
    more |= set(words_of(template.kind.replace("_", " ")))
    joined = {"".join(words_of(each)) for each in (template.name, *template.words)}
    return name, frozenset(more | joined)


def _distance(word: str, there: frozenset[str]) -> float | None:
    """How far a word is from the nearest one there: 0 the same, up to 2 for a slip; None for none."""
    if word in there:
        return 0.0
    if len(word) >= 2 and any(each.startswith(word) for each in there):
        return 0.4
    if any(word in same and same & there for same in ALIKE):
        return 0.6
    if len(word) >= 4 and any(word in each for each in there if len(each) > len(word)):
        return 0.8
    slips = 0 if len(word) < 4 else 1 if len(word) < 8 else 2
    if slips and any(abs(len(word) - len(each)) <= slips and slip_count(word, each, slips) <= slips for each in there):
        return 1.5
    return None


def slip_count(a: str, b: str, most: int) -> int:
    """Letters to put in, leave out, change or swap with the next one to make b of a (optimal string alignment);
    more than `most` is told as `most` + 1."""
    before: list[int] = []
    last = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        row = [i]
        for j, y in enumerate(b, 1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (x != y))
            if before and i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
        before, last = last, row
    return min(last[-1], most + 1)
