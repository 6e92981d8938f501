"""What a panel needs before it may be closed: tested circuits, pulled wires, photos, a spare duct, labels."""

import msgspec

from core.analysis.analysis import Analysis
from core.geometry.entry import entry_point
from core.geometry.polygon import clip, point_in
from core.model import Circuit, CloseOut, Panel
from core.tables.table import Cell, Column, Table
from core.tables.testing import WRITE
from core.text import counted

#: What the plan cannot know and a person ticks: field of `CloseOut`, and its words.
BY_EYE = (
    ("labels_done", "labels at both ends and where wires pass the panel"),
    ("secured_done", "bundles fixed, edges protected, nothing can rub"),
)
OVERRIDE = (
    "Whoever closes a panel all the same types the reason into the plan; it is printed here and in the owner's book."
)


class Closing(msgspec.Struct, frozen=True, kw_only=True):
    """What is asked before a panel may be closed: (what, how it stands, whether it is done)."""

    panel: Panel
    asked: tuple[tuple[str, str, bool], ...]

    @property
    def may_close(self) -> bool:
        return not self.missing

    @property
    def missing(self) -> tuple[str, ...]:
        """What is not done yet, in words."""
        return tuple(f"{what}: {told}" for what, told, done in self.asked if not done)


def closing(analysis: Analysis, panel: Panel) -> Closing:
    """Circuits behind the panel tested, their wires pulled (in channels and at devices on the wall), photos attached, a
    spare duct, and what a person ticked."""
    plan = analysis.plan
    behind = [
        channel for channel, path in analysis.paths.items()
        if path.surface == panel.surface and len(path.local_mm) > 1 and clip(path.local_mm, panel.outline)
    ]  # fmt: skip
    wires = {wire for channel in behind if channel in analysis.bundles for wire in analysis.bundles[channel].wires}
    # Between a device on the wall and its channel the wires lie behind the board too.
    fallen = {
        device.id for device in plan.devices
        if device.surface == panel.surface and point_in(panel.outline, entry_point(device))
    }  # fmt: skip
    wires |= {wire.id for wire in analysis.wires.values() if {wire.from_.device, wire.to.device} & fallen}
    circuits = [row for row in plan.circuits if any(analysis.wires[w].circuit == row.id for w in wires)]
    asked = [_tested(analysis, circuit) for circuit in circuits]
    pulled = {row.wire for row in plan.as_pulled}
    planned = {channel.id for channel in plan.channels if channel.wires == "planned"}
    open_wires = [wire for wire in wires - pulled if _is_open(analysis, wire, planned)]
    told = f"{len(wires) - len(open_wires)} of {len(wires)} wires pulled" if wires else "no wire lies behind it"
    asked.append(("every wire behind it pulled", told, not open_wires))
    photos = sum(photo.panel == panel.id for photo in plan.photos)
    asked.append(("photos of the open wall with a tape measure in them", f"{photos} attached", photos > 0))
    ducts = [channel for channel in behind if analysis.channels[channel].spare_duct]
    strings = sum(analysis.channels[channel].draw_string for channel in ducts)
    asked.append(
        ("spare duct with a draw string", f"{counted(len(ducts), 'duct')}, {strings} with a string", strings > 0)
    )
    ticked = panel.close_out or CloseOut()
    for field, what in BY_EYE:
        done = bool(getattr(ticked, field))
        asked.append((what, "looked at" if done else "look, and tick it", done))
    return Closing(panel=panel, asked=tuple(asked))


def _is_open(analysis: Analysis, wire: str, planned: set[str]) -> bool:
    """Whether a wire that nobody has told of is still to be pulled; one without any channel always is."""
    route = analysis.routes.get(wire)
    channels = [step.channel for step in route.steps] if route is not None else []
    return not channels or any(channel in planned for channel in channels)


def _tested(analysis: Analysis, circuit: Circuit) -> tuple[str, str, bool]:
    """The circuit's tests: continuity and polarity, and insulation for mains; the last result of each kind counts."""
    wanted = ["continuity", "polarity", *(["insulation"] if circuit.group == "mains" else [])]
    last: dict[str, bool] = {row.kind: row.passed for row in analysis.plan.test_results if row.circuit == circuit.id}
    missing = [kind for kind in wanted if kind not in last]
    failed = [kind for kind in wanted if last.get(kind) is False]
    told = "; ".join(
        text for text in (f"missing: {', '.join(missing)}" if missing else "",
                          f"FAILED: {', '.join(failed)}" if failed else "") if text
    )  # fmt: skip
    return f"{circuit.name} tested", told or "passed", not missing and not failed


def close_out_sheet(analysis: Analysis) -> Table:
    """Every panel with what is still missing before it may be closed."""
    rows: list[tuple[Cell, ...]] = []
    headings: list[tuple[int, str]] = []
    for panel in analysis.plan.panels:
        state = closing(analysis, panel)
        close = panel.close_out
        if close is not None and close.closed_on:
            by = f" by {close.closed_by}" if close.closed_by else ""
            verdict = f"CLOSED on {close.closed_on}{by}"
            if close.override_reason:
                verdict += f" BEFORE IT WAS READY, because: {close.override_reason}"
        else:
            verdict = "may be closed" if state.may_close else "NOT READY to be closed"
        headings.append((len(rows), f"{panel.name}: {verdict}"))
        rows += [(done, what, told) for what, told, done in state.asked]
        if close is not None and close.closed_on:
            rows += [(None, "not done when it was closed", told) for told in close.overridden]
        rows.append((None, "Closed by / on", f"{WRITE}{WRITE}  /  {WRITE}"))
    return Table(
        name="close-out",
        title="Close-out",
        columns=(
            Column(key="done", title="done", kind="tick", weight=0.4),
            Column(key="what", title="before the panel goes up", weight=3.0, important=True),
            Column(key="state", title="how it stands", weight=3.0),
        ),
        rows=tuple(rows),
        headings=tuple(headings),
        notes=(OVERRIDE,),
    )
