"""Ampacity, fuses and voltage drop counted again, from the tables in resources/ read here and the plan itself.

Ampacity: table of the plan's profile for the insulation of the wire, times the ambient factor in its closed form
sqrt((T_ins - T_amb) / (T_ins - T_base)), times the grouping factor for the conductors that carry current side by side
over more than the profile's least length. Resistance: catalogue value at 20 C times (234.5 + T) / 254.5 (AC 43.13-1B).
"""

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

from core.model import Channel, Plan, WireKind, WireSize

RESOURCES = Path(__file__).resolve().parents[2] / "resources"
Row = dict[str, Any]
#: Kinds of channel that lie in a void of roof or wall, warm in the sun.
VOIDS = ("behind_panel", "void")
#: Roles that carry no current in use.
IDLE = ("protective_earth", "bond", "data", "antenna", "spare")
TABLES = {"iso10133": "ampacity_iso10133.csv"}


def rows(name: str) -> list[dict[str, str]]:
    """Rows of a table in resources/tables, comment lines left out."""
    with (RESOURCES / "tables" / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def limits(plan: Plan) -> tuple[dict[str, float], str, str]:
    """Numbers of the plan's profile by rule, the owner's changes laid over, and the tables of ampacity and grouping."""
    with (RESOURCES / "profiles" / f"{plan.profile.id}.toml").open("rb") as file:
        table = tomllib.load(file)
    found = {row["rule"]: row.get("value", row.get("meanwhile")) for row in table["limits"]}
    found.update({row.rule: row.used for row in plan.profile.changes if row.used is not None})
    return found, table["ampacity_table"], table["grouping_table"]


class Sizes:
    """What the wires of a plan may carry where they lie, counted from rows of the wire list."""

    def __init__(self, plan: Plan, wires: list[Row], lengths_mm: dict[str, float]) -> None:
        self.plan, self.wires, self.lengths_mm = plan, wires, lengths_mm
        self.limits, ampacity, grouping = limits(plan)
        self.kinds: dict[str, WireKind] = {kind.id: kind for kind in plan.wire_kinds}
        self.channels = {channel.id: channel for channel in plan.channels}
        self._ampacity = rows(TABLES[ampacity])
        self._grouping = [
            (int(row["n_min"]), int(row["n_max"]), float(row["factor"]))
            for row in rows("bundle_factors.csv")
            if row["table"] == grouping
        ]
        self._loaded: dict[str, set[str]] = {}
        for wire in wires:
            if wire["role"] not in IDLE and wire["current_a"] > 0 and self._power(wire):
                for channel in wire["channels"]:
                    self._loaded.setdefault(channel, set()).add(wire["wire"])

    def _power(self, wire: Row) -> bool:
        circuit = next(one for one in self.plan.circuits if one.id == wire["circuit"])
        return circuit.group not in ("signal", "antenna")

    def size(self, wire: Row) -> WireSize:
        return next(size for size in self.kinds[wire["kind"]].sizes if size.section_mm2 == wire["section_mm2"])

    def ohm(self, wire: Row, section_mm2: float | None = None) -> float:
        """Resistance of one conductor over its route."""
        kind = self.kinds[wire["kind"]]
        section = section_mm2 or wire["section_mm2"]
        size = next(size for size in kind.sizes if size.section_mm2 == section)
        hot = (234.5 + self.plan.assumptions.conductor_c) / 254.5
        return float(size.r20_ohm_per_km * 1e-6 * wire["route_mm"] * hot / (wire["parallel"] or 1))

    def column(self, kind: WireKind) -> tuple[float, str]:
        """The hottest column of the table that is no hotter than the insulation: its temperature and its name."""
        names = [name for name in self._ampacity[0] if name.startswith("A_")]
        columns = {float(name[2:-1].split("_")[0]): name for name in names}
        hottest = max(limit for limit in columns if limit <= kind.insulation_c)
        return hottest, columns[hottest]

    def base_a(self, kind: WireKind, section_mm2: float) -> float:
        """The table's amperes for a section, or for the next smaller one it has; 0 below its first row."""
        _, name = self.column(kind)
        return max([float(row[name]) for row in self._ampacity if float(row["area_mm2"]) <= section_mm2], default=0.0)

    def ambient_c(self, channel: Channel) -> float:
        if channel.ambient_c is not None:
            return channel.ambient_c
        if channel.kind == "engine_bay":
            return self.limits["ambient.engine_c"]
        return self.plan.assumptions.void_ambient_c if channel.kind in VOIDS else self.plan.assumptions.ambient_c

    def ambient_factor(self, kind: WireKind, ambient_c: float) -> float:
        base, limit = self.limits["ambient.base_c"], self.column(kind)[0]
        return min(1.0, math.sqrt((limit - ambient_c) / (limit - base)))

    def together(self, wire: Row) -> list[int]:
        """For each channel of a wire, how many loaded conductors lie along it (itself counted) in some stretch over it
        that is longer than the least shared length."""
        path: list[str] = wire["channels"]
        least = self.limits["grouping.min_shared_mm"]
        most = [1] * len(path)
        for first in range(len(path)):
            inside: set[str] | None = None
            long_mm = 0.0
            for last in range(first, len(path)):
                here = self._loaded.get(path[last], set())
                inside = set(here) if inside is None else inside & here
                long_mm += self.lengths_mm[path[last]]
                if long_mm > least:
                    for index in range(first, last + 1):
                        most[index] = max(most[index], len(inside | {wire["wire"]}))
        return most

    def grouping_factor(self, count: int) -> float:
        return next(factor for low, high, factor in self._grouping if low <= count <= high)

    def ampacity_a(self, wire: Row) -> float:
        """What a conductor may carry on the worst stretch of its way."""
        kind = self.kinds[wire["kind"]]
        base = self.base_a(kind, wire["section_mm2"])
        worst = self.ambient_factor(kind, self.plan.assumptions.ambient_c)
        for name, count in zip(wire["channels"], self.together(wire), strict=True):
            channel = self.channels[name]
            worst = min(worst, self.ambient_factor(kind, self.ambient_c(channel)) * self.grouping_factor(count))
        return base * worst * float(wire["parallel"] or 1)


def standard_ratings(family: str) -> list[float]:
    return sorted(float(row["amps"]) for row in rows("fuse_ratings.csv") if row["family"] == family)
