"""The wrap map's list: stretches of one wrap with their start and stop, and rolls per tape."""

from collections.abc import Mapping

import msgspec

from core.analysis.analysis import Analysis
from core.analysis.cutting import rolls_of
from core.analysis.results import WrapRow
from core.tables.names import Names, words
from core.tables.table import Cell, Column, Table
from core.text import counted, metres

TURNS = "Start and stop every stretch with two full turns; leave a breakout open until its branch is in."


class Stretch(msgspec.Struct, frozen=True, kw_only=True):
    """Channels one after the other that are wrapped alike, from node to node; `letter` is that of the wrap style."""

    number: int
    letter: str
    style: str
    channels: tuple[str, ...]
    start: str
    end: str
    length_mm: float
    tape_mm: float
    tape: str | None
    largest_mm: float
    notes: tuple[str, ...]


def stretches(analysis: Analysis) -> tuple[Stretch, ...]:
    """Chains of channels with the same wrap style; a chain ends where the style changes and at every breakout."""
    rows = {row.channel: row for row in analysis.wrap}
    letters = style_letters(analysis)
    at_node: dict[str, list[str]] = {}
    for channel in analysis.plan.channels:
        if channel.id in analysis.bundles:
            at_node.setdefault(channel.start, []).append(channel.id)
            at_node.setdefault(channel.end, []).append(channel.id)
    seen: set[str] = set()
    found: list[Stretch] = []
    for channel in analysis.plan.channels:
        if channel.id not in rows or channel.id in seen:
            continue
        chain, ends = _chain(analysis, channel.id, rows, at_node)
        seen.update(chain)
        found.append(_stretch(analysis, len(found) + 1, letters[rows[channel.id].style], chain, ends, rows))
    return tuple(found)


def style_letters(analysis: Analysis) -> dict[str, str]:
    """A letter for every wrap style in use, in the order of the plan's channels."""
    styles = dict.fromkeys(row.style for row in analysis.wrap)
    return {style: chr(ord("A") + index % 26) for index, style in enumerate(styles)}


def _chain(
    analysis: Analysis, first: str, rows: Mapping[str, WrapRow], at_node: Mapping[str, list[str]]
) -> tuple[list[str], tuple[str, str]]:
    """The channel and its neighbours to both sides as long as exactly two meet and are wrapped alike."""
    chain = [first]
    ends = []
    for append in (False, True):
        last = first
        node = analysis.channels[first].end if append else analysis.channels[first].start
        while True:
            meeting = at_node[node]
            other = [channel for channel in meeting if channel != last]
            if len(meeting) != 2 or len(other) != 1 or other[0] in chain or other[0] not in rows:
                break
            if rows[other[0]].style != rows[first].style or rows[other[0]].tape != rows[first].tape:
                break
            last = other[0]
            chain = [*chain, last] if append else [last, *chain]
            here = analysis.channels[last]
            node = here.end if here.start == node else here.start
        ends.append(node)
    return chain, (ends[0], ends[1])


def _stretch(
    analysis: Analysis, number: int, letter: str, chain: list[str], ends: tuple[str, str], rows: Mapping[str, WrapRow]
) -> Stretch:
    first = rows[chain[0]]
    styles = {style.id: style.name for style in analysis.plan.wrap_styles}
    return Stretch(
        number=number,
        letter=letter,
        style=styles.get(first.style, words(first.style)),
        channels=tuple(chain),
        start=ends[0],
        end=ends[1],
        length_mm=sum(analysis.bundles[channel].length_mm for channel in chain),
        tape_mm=sum(rows[channel].tape_mm for channel in chain),
        tape=first.tape,
        largest_mm=max(analysis.bundles[channel].diameter_laid_mm for channel in chain),
        notes=tuple(dict.fromkeys(rows[channel].note for channel in chain if rows[channel].note)),
    )


def wrap_stretches_table(analysis: Analysis) -> Table:
    """One row a stretch, and the rolls each tape takes."""
    names = Names(analysis.plan)
    tapes = {tape.id: tape for tape in analysis.plan.tape_kinds}
    rows: list[tuple[Cell, ...]] = []
    for row in stretches(analysis):
        tape = tapes.get(row.tape or "")
        where = ", ".join(dict.fromkeys(names.where(channel) for channel in row.channels))
        ends = " to ".join(dict.fromkeys((row.channels[0], row.channels[-1])))
        used_m = row.tape_mm / 1000 if row.tape_mm else None
        notes = "; ".join(row.notes) or None
        rows.append(
            (False, row.number, row.letter, row.style, where, ends, row.largest_mm, row.length_mm,
             tape.name if tape else None, used_m, notes)
        )  # fmt: skip
    used: dict[str, float] = {}
    for wrapped in analysis.wrap:
        if wrapped.tape is not None:
            used[wrapped.tape] = used.get(wrapped.tape, 0.0) + wrapped.tape_mm
    assumed = analysis.plan.assumptions
    count = {tape: rolls_of(tapes[tape], analysis.wrap, assumed) for tape in used if tape in tapes}
    rolls = [
        f"{tapes[tape].name}: {metres(length)} m, {counted(count[tape], 'roll')} with "
        f"{assumed.tape_reserve_percent:g} % reserve, no stretch from two rolls that fits on one."
        for tape, length in used.items()
        if tape in tapes and length > 0
    ]
    return Table(
        name="wrap-stretches",
        title="Wrap map: stretches",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="number", title="no.", kind="count", weight=0.4, important=True),
            Column(key="letter", title="wrap", weight=0.4, important=True),
            Column(key="style", title="how", weight=1.8),
            Column(key="where", title="where", weight=2.4),
            Column(key="channels", title="channels", weight=1.0),
            Column(key="largest_mm", title="Ø most", kind="diameter", weight=0.6),
            Column(key="length_mm", title="one-way", kind="mm", weight=0.7, important=True),
            Column(key="tape", title="tape", weight=2.2),
            Column(key="tape_m", title="tape", kind="m", weight=0.6, important=True),
            Column(key="note", title="note", weight=1.6),
        ),
        rows=tuple(rows),
        notes=(TURNS, *rolls),
    )
