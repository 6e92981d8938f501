"""Kinds of wire, tape, conduit and fixing. A plan holds a copy of every kind it uses."""

from itertools import pairwise
from typing import Annotated, Literal

from msgspec import Meta

from core.model.channels import FixingKindName, SeparationGroup
from core.model.ids import Id, Name, TapeKindId
from core.model.record import Record

#: How a number is known: read in a source, from memory, or common practice without a source.
HowKnown = Literal["read", "memory", "common practice"]


class WireSize(Record, frozen=True, kw_only=True):
    """One size: section of one core, outside diameter (of the sheath for a cable), resistance at 20 C."""

    section_mm2: Annotated[float, Meta(gt=0)]
    gauge_awg: str | None = None
    od_mm: Annotated[float, Meta(gt=0)]
    r20_ohm_per_km: Annotated[float, Meta(gt=0)]
    mass_g_per_m: Annotated[float, Meta(ge=0)]
    price_per_m: Annotated[float, Meta(ge=0)] | None = None


class WireKind(Record, frozen=True, kw_only=True):
    """A wire (one core) or cable (several). Sizes go from small to large, resistances fall (`size_order_problem`)."""

    id: Id
    name: Name
    group: SeparationGroup = "dc_power"
    cores: Annotated[int, Meta(ge=1, le=64)] = 1
    core_colours: tuple[str, ...] = ()
    insulation_c: Annotated[float, Meta(ge=50, le=250)]
    voltage_v: float = 60.0
    sizes: Annotated[tuple[WireSize, ...], Meta(min_length=1)]
    spools_m: tuple[Annotated[float, Meta(gt=0)], ...] = (25.0, 50.0, 100.0)
    standard: Name = ""
    supplier: Name = ""
    source: str
    known: HowKnown


def size_order_problem(kind: WireKind) -> str:
    """Why the sizes of a kind cannot be chosen from, "" when they can."""
    for before, after in pairwise(kind.sizes):
        if after.section_mm2 <= before.section_mm2:
            return f"{after.section_mm2:g} mm² stands after {before.section_mm2:g} mm²"
        if after.r20_ohm_per_km >= before.r20_ohm_per_km:
            return f"{after.section_mm2:g} mm² has no less resistance than {before.section_mm2:g} mm²"
    return ""


class TapeKind(Record, frozen=True, kw_only=True):
    id: Id
    name: Name
    width_mm: Annotated[float, Meta(gt=0)]
    thickness_mm: Annotated[float, Meta(gt=0)]
    roll_mm: Annotated[float, Meta(gt=0)]
    temperature_c: float | None = None
    #: Whether its glue grabs: such tape drags when a wrapped bundle is pulled through a hole.
    tacky: bool = False
    #: For a roll, in the money of the plan.
    price: Annotated[float, Meta(ge=0)] | None = None
    supplier: Name = ""
    source: str
    known: HowKnown


class ConduitKind(Record, frozen=True, kw_only=True):
    id: Id
    name: Name
    bore_mm: Annotated[float, Meta(gt=0)]
    od_mm: Annotated[float, Meta(gt=0)] | None = None
    split: bool = False
    #: For a metre, in the money of the plan.
    price: Annotated[float, Meta(ge=0)] | None = None
    supplier: Name = ""
    source: str
    known: HowKnown


class GrommetKind(Record, frozen=True, kw_only=True):
    id: Id
    name: Name
    bore_mm: Annotated[float, Meta(gt=0)]
    hole_mm: Annotated[float, Meta(gt=0)]
    sheet_mm: Annotated[float, Meta(gt=0)]
    #: Pieces sold together.
    pack: Annotated[int, Meta(ge=1)] = 1
    #: For a piece, in the money of the plan.
    price: Annotated[float, Meta(ge=0)] | None = None
    supplier: Name = ""
    source: str
    known: HowKnown


class FixingKind(Record, frozen=True, kw_only=True):
    """A securing part and the largest bundle it holds."""

    id: Id
    name: Name
    kind: FixingKindName
    largest_bundle_mm: Annotated[float, Meta(gt=0)]
    hole_mm: float | None = None
    #: Of a cable tie.
    width_mm: Annotated[float, Meta(gt=0)] | None = None
    #: Pieces sold together.
    pack: Annotated[int, Meta(ge=1)] = 1
    #: For a piece, in the money of the plan.
    price: Annotated[float, Meta(ge=0)] | None = None
    supplier: Name = ""
    source: str
    known: HowKnown


class WrapStyle(Record, frozen=True, kw_only=True):
    """How a bundle is wrapped. `overlap` is the share of the tape width that covers the turn before (negative: gap)."""

    id: Id
    name: Name
    kind: Literal["spiral", "spot", "split_conduit", "sleeve", "none"] = "spiral"
    tape: TapeKindId | None = None
    overlap: Annotated[float, Meta(gt=-5, lt=1)] = 0.5
    #: Gap between turns measured along the bundle; wins over `overlap` where it is given.
    gap_mm: Annotated[float, Meta(ge=0)] | None = None
    #: Passes on top of each other, each over the one before.
    passes: Annotated[int, Meta(ge=1, le=4)] = 1
    #: Distance between spot wraps.
    pitch_mm: Annotated[float, Meta(gt=0)] = 150.0
