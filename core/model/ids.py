"""Identifiers. Every record of a plan has an id that is unique in the whole plan.

A reference is declared by its type: the name of the plan's collections it may point into is kept in
``Meta.extra["ref"]``, so that one function can check every reference of a plan (`core.files.references`).
"""

from collections.abc import Container
from typing import Annotated

from msgspec import Meta

Id = Annotated[str, Meta(min_length=1, max_length=64)]
Name = Annotated[str, Meta(max_length=200)]
Note = Annotated[str, Meta(max_length=20_000)]

SurfaceId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("surfaces",)})]
#: What a dimension can be attached to: records with corners.
DrawnId = Annotated[
    str,
    Meta(
        min_length=1,
        max_length=64,
        extra={"ref": ("surfaces", "boxes", "ribs", "openings", "metal_edges", "zones", "panels", "moving_parts")},
    ),
]
BoxId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("boxes",)})]
RibId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("ribs",)})]
PanelId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("panels",)})]
ImageId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("images",)})]
PhotoId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("photos",)})]
PenetrationId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("penetrations",)})]
MovingPartId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("moving_parts",)})]
MovingJointId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("moving_joints",)})]
NodeId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("nodes",)})]
ChannelId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("channels",)})]
DeviceId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("devices",)})]
CircuitId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("circuits",)})]
CableId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("cables",)})]
WireKindId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("wire_kinds",)})]
TapeKindId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("tape_kinds",)})]
ConduitKindId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("conduit_kinds",)})]
WrapStyleId = Annotated[str, Meta(min_length=1, max_length=64, extra={"ref": ("wrap_styles",)})]


def fresh_id(prefix: str, taken: Container[str]) -> str:
    """The first of prefix1, prefix2 ... that is not taken. Raises nothing; ends because `taken` is finite."""
    number = 1
    while f"{prefix}{number}" in taken:
        number += 1
    return f"{prefix}{number}"
