"""Layers by kind: what of the sheet is shown, and what is locked so that the pointer goes through it.

How one looks at the sheet is no part of the plan: papers draw everything, and another window shows what it likes.
"""

from dataclasses import dataclass, replace

#: Layers of lettering; they go with the kind of what they name.
LETTERING = frozenset({"names", "captions", "device_names", "pills"})


@dataclass(frozen=True)
class Kind:
    """A kind of things with the layers of the drawing they lie in. The ground can be locked, not hidden."""

    id: str
    words: str
    layers: tuple[str, ...]
    can_hide: bool = True


KINDS: tuple[Kind, ...] = (
    Kind("surfaces", "Surfaces", ("ground", "outlines", "folds"), can_hide=False),
    Kind("pictures", "Underlays", ("pictures",)),
    Kind("ribs", "Ribs and pillars", ("ribs",)),
    Kind("openings", "Openings", ("openings",)),
    Kind("boxes", "Cabinets and arches", ("boxes",)),
    Kind("zones", "Keep-out zones", ("zones",)),
    Kind("panels", "Panels", ("panels",)),
    Kind("metal_edges", "Metal edges", ("metal_edges",)),
    Kind("dimensions", "Dimensions", ("dimensions",)),
    Kind("channels", "Channels and bundles", ("channels", "bundles")),
    Kind("falls", "Wires to devices", ("falls",)),
    Kind("nodes", "Nodes", ("nodes",)),
    Kind("crossings", "Crossings of edges", ("crossings",)),
    Kind("devices", "Devices", ("devices",)),
    Kind("lettering", "Names and labels", tuple(sorted(LETTERING))),
    Kind("findings", "Numbers of findings", ("findings",)),
)
#: What a stage of the work is not about: it is drawn faint, and can be picked all the same. Papers show all.
_WAYS = frozenset({"channels", "falls", "nodes", "crossings"})
FAINT: dict[str, frozenset[str]] = {
    "survey": _WAYS | {"devices"},
    "fit-out": _WAYS | {"devices", "dimensions"},
    "devices": _WAYS | {"dimensions", "metal_edges"},
    "channels": frozenset({"dimensions", "falls", "panels"}),
    "circuits": frozenset({"ribs", "openings", "zones", "panels", "metal_edges", "dimensions", "crossings", "nodes"}),
    "checks": frozenset({"dimensions", "panels"}),
    "papers": frozenset(),
}
FAINT_OPACITY = 0.4
KIND_OF: dict[str, str] = {layer: kind.id for kind in KINDS for layer in kind.layers}


@dataclass(frozen=True)
class Layers:
    """Ids of the kinds that are hidden, and of those that are locked; the stage of the work says what is faint."""

    hidden: frozenset[str] = frozenset()
    locked: frozenset[str] = frozenset()
    stage: str = ""

    def shows(self, layer: str, body: str) -> bool:
        """Whether what is drawn in a layer is seen; `body` is the layer that the thing itself lies in."""
        return KIND_OF.get(layer) not in self.hidden and KIND_OF.get(body) not in self.hidden

    def opacity(self, layer: str, body: str) -> float:
        """How strongly it is drawn, from 0 to 1."""
        faint = FAINT.get(self.stage, frozenset())
        return FAINT_OPACITY if {KIND_OF.get(layer), KIND_OF.get(body)} & faint else 1.0

    def picks(self, layer: str, body: str) -> bool:
        """Whether the pointer finds it: it is shown, and neither it nor its thing is locked."""
        return self.shows(layer, body) and not {KIND_OF.get(layer), KIND_OF.get(body)} & self.locked

    def shown(self, kind: str, on: bool) -> "Layers":
        return replace(self, hidden=self.hidden - {kind} if on else self.hidden | {kind})

    def lock(self, kind: str, on: bool) -> "Layers":
        return replace(self, locked=self.locked | {kind} if on else self.locked - {kind})
