"""Select and move: a click selects, a drag moves what lies under the pointer, a drag from empty paper is a rubber band.

While dragging the plan is shown as it would be and its wires are estimated; releasing commits, Escape goes back.
By keys: Tab steps through what is drawn, arrows and typed distances move it, Return edits its facts.
"""

from dataclasses import dataclass, replace
from math import dist
from typing import Protocol

from app.tools import overlay
from app.tools.base import BaseTool
from app.tools.desk import ALIGN_PX, Desk
from app.tools.events import CursorShape, KeyEvent, PointerEvent, ToolReply
from app.tools.gap import gap_marks
from app.tools.moving import LINED, OUTLINED, POINTED, movable, moved, moved_via, named, via_near
from app.tools.pen import parts, read_signed
from app.tools.stepping import stepped
from core.edits.change import find_any, title
from core.edits.outlines import shape_of
from core.errors import EditRefused
from core.model import Plan, Point
from core.pages.marks import AnyMark

DRAG_PX = 4.0
#: One press of an arrow key; with Shift ten times as far.
NUDGE_MM = 10.0
#: What a typed number moves the selection by.
NUDGE_PROMPT = "right ⇥ up"
ARROWS: dict[str, Point] = {"Left": (-1.0, 0.0), "Right": (1.0, 0.0), "Up": (0.0, 1.0), "Down": (0.0, -1.0)}


class Sight(Protocol):
    """What can be seen on the sheet; the canvas answers."""

    def glow(self, record: str) -> tuple[AnyMark, ...]: ...

    def within(self, a: Point, b: Point, touching: bool) -> tuple[str, ...]: ...

    def middle_of(self, record: str) -> Point | None: ...


@dataclass(frozen=True)
class Press:
    """Where the button went down, and on what: records that move, a via point, or nothing."""

    at: Point
    pixel: Point
    plan: Plan
    hit: str
    moving: tuple[str, ...] = ()
    via: tuple[str, int] | None = None
    #: The point of the thing that snaps to others; None where it has none.
    own: Point | None = None


class SelectTool(BaseTool):
    def __init__(self, desk: Desk, sight: Sight) -> None:
        super().__init__(desk)
        self._sight = sight
        self._press: Press | None = None
        self._dragging = False
        self._proposed: Plan | None = None
        self._hovered = ""
        self._k = 1.0
        self._prompt_of: tuple[Plan, tuple[str, ...]] | None = None
        self._told_prompt = ""

    @property
    def cursor(self) -> CursorShape:
        return "arrow"

    @property
    def hint(self) -> str:
        return ""

    def show(self) -> ToolReply:
        gaps = gap_marks(self.desk, self._k)
        return ToolReply(overlay=(*self._vias(), *gaps, *self._glow()), prompt=self._prompt)

    @property
    def _prompt(self) -> str:
        # Asked with every move of the pointer, so it is looked up once for each selection.
        now = (self.desk.plan, self.desk.session.selection)
        if self._prompt_of is None or now[0] is not self._prompt_of[0] or now[1] != self._prompt_of[1]:
            self._prompt_of, self._told_prompt = now, NUDGE_PROMPT if self._moves(now[1]) else ""
        return self._told_prompt

    def _movable(self) -> tuple[str, ...]:
        plan = self.desk.plan
        return tuple(each for each in self.desk.session.selection if movable(plan, each))

    def press(self, event: PointerEvent) -> ToolReply:
        self._k = event.mm_per_pixel
        if event.button != "left":
            return self.show()
        if event.kind == "double" and event.item_ids:
            return ToolReply(select=event.item_ids[:1], edit=True)
        plan = self.desk.plan
        hit = event.item_ids[0] if event.item_ids else ""
        via = via_near(self.desk, self.desk.session.selection, event.sheet_mm, 7.0 * self._k)
        moving: tuple[str, ...] = ()
        chosen = self.desk.session.selection
        if via is None and hit and movable(plan, hit, chosen=hit in chosen):
            moving = tuple(each for each in chosen if movable(plan, each)) if hit in chosen else (hit,)
        own = self._own_point(hit, event.sheet_mm) if hit in moving else None
        self._press = Press(event.sheet_mm, event.pixel, plan, hit, moving, via, own)
        self._dragging, self._proposed = False, None
        return self.show()

    def move(self, event: PointerEvent) -> ToolReply:
        self._k = event.mm_per_pixel
        press = self._press
        if press is None:
            self._hovered = event.item_ids[0] if event.item_ids else ""
            return self.show()
        if not self._dragging:
            far = max(abs(event.pixel[0] - press.pixel[0]), abs(event.pixel[1] - press.pixel[1]))
            if far <= DRAG_PX:
                return self.show()
            self._dragging, self._hovered = True, ""
        if press.via is None and not press.moving:
            return ToolReply(overlay=(overlay.area(overlay.rectangle(press.at, event.sheet_mm)),))
        return self._drag(press, event)

    def _drag(self, press: Press, event: PointerEvent) -> ToolReply:
        by, word = self._step(press, event)
        try:
            if press.via is not None:
                self._proposed = moved_via(self.desk, press.plan, press.via, by)
            else:
                self._proposed = moved(self.desk, press.plan, press.moving, by)
        except EditRefused as refusal:
            # Over the edge it stays where it last could be.
            return ToolReply(plan=self._proposed, word=str(refusal))
        return ToolReply(plan=self._proposed, word=word)

    def _step(self, press: Press, event: PointerEvent) -> tuple[Point, str]:
        """How far it is dragged: to what its own point snaps to, else by whole steps."""
        x, y = event.sheet_mm[0] - press.at[0], event.sheet_mm[1] - press.at[1]
        if "shift" in event.modifiers:
            x, y = (x, 0.0) if abs(x) >= abs(y) else (0.0, y)
        elif press.own is not None:
            there = (press.own[0] + x, press.own[1] + y)
            # Near by only: what is dragged past other things must not stick to each.
            to, word = self.desk.snapped(replace(event, sheet_mm=there), but=press.moving, reach_px=ALIGN_PX)
            if word:
                by = (to[0] - press.own[0], to[1] - press.own[1])
                return by, f"{self.desk.show_mm(by[0])}  {self.desk.show_mm(by[1])}\n{word}"
        if "alt" not in event.modifiers:
            x, y = self.desk.stepped(x), self.desk.stepped(y)
        return (x, y), f"{self.desk.show_mm(x)}  {self.desk.show_mm(y)}"

    def _own_point(self, record_id: str, at: Point) -> Point | None:
        """The point by which a thing is dragged: the middle of a device, the corner nearest to the pointer."""
        collection, record = find_any(self.desk.plan, record_id)
        if collection in POINTED:
            return self.desk.to_sheet(record.surface, record.at_mm)
        shape = shape_of(self.desk.plan, record_id) if collection in OUTLINED | LINED else None
        if shape is None:
            return None
        corners = [self.desk.to_sheet(shape.surface, point) for point in shape.points]
        return min(corners, key=lambda corner: dist(corner, at))

    def release(self, event: PointerEvent) -> ToolReply:
        press, self._press = self._press, None
        if press is None or event.button not in ("left", "none"):
            return self.show()
        proposed, self._proposed = self._proposed, None
        if self._dragging:
            self._dragging = False
            if press.moving or press.via is not None:
                if proposed is None or proposed is press.plan:
                    return self.show()
                select = None if press.via is not None else press.moving
                return ToolReply(plan=proposed, commit=self._label(press), select=select)
            touching = event.sheet_mm[0] < press.at[0]
            return self._choose(self._sight.within(press.at, event.sheet_mm, touching), event)
        return self._choose((press.hit,) if press.hit else (), event)

    def _label(self, press: Press) -> str:
        if press.via is not None:
            return "Move via point"
        return f"Move {named(press.plan, press.moving)}"

    def _choose(self, found: tuple[str, ...], event: PointerEvent) -> ToolReply:
        """Plain: instead of what was selected. Shift: as well. Ctrl: each the other way round."""
        old = self.desk.session.selection
        if "ctrl" in event.modifiers:
            kept = tuple(each for each in old if each not in found)
            chosen = (*kept, *(each for each in found if each not in old))
        elif "shift" in event.modifiers:
            chosen = (*old, *found)
        else:
            chosen = found
        return ToolReply(overlay=self._glow(), select=chosen, prompt=NUDGE_PROMPT if self._moves(chosen) else "")

    def _moves(self, chosen: tuple[str, ...]) -> bool:
        return any(movable(self.desk.plan, each) for each in chosen)

    def key(self, event: KeyEvent) -> ToolReply | None:
        if event.key == "Escape":
            if self._press is not None:
                self._press, self._dragging, self._proposed = None, False, None
                return self.show()
            return ToolReply(select=())
        if event.key in ARROWS and "ctrl" not in event.modifiers:
            return self._nudge(event)
        if event.key in ("Tab", "Backtab"):
            return self._step_to(1 if event.key == "Tab" else -1)
        if event.key == "Return" and self.desk.session.selection:
            return ToolReply(edit=True, prompt=self._prompt)
        return None

    def typed(self, text: str) -> ToolReply:
        """Move the selection by a typed distance to the right and one up; negative ones go the other way."""
        if not self._movable():
            raise EditRefused("Select something that moves; then type how far.")
        told = parts(text)
        if not 1 <= len(told) <= 2:
            raise EditRefused("Type how far to the right, then Tab and how far up.")
        x, *up = (read_signed(self.desk, part) if part else 0.0 for part in told)
        return self._move_by(self._movable(), (x, up[0] if up else 0.0), None)

    def _step_to(self, by: int) -> ToolReply | None:
        """Select the next thing on the sheet; past the last one the key is for the window."""
        found = stepped(self.desk, self.desk.session.selection, by)
        if found is None:
            return None
        name = title(*find_any(self.desk.plan, found))
        return ToolReply(
            select=(found,),
            look_at=self._sight.middle_of(found),
            word=name,
            prompt=NUDGE_PROMPT if self._moves((found,)) else "",
        )

    def _nudge(self, event: KeyEvent) -> ToolReply | None:
        chosen = self._movable()
        if not chosen:
            return None
        size = NUDGE_MM * (10.0 if "shift" in event.modifiers else 0.1 if "alt" in event.modifiers else 1.0)
        x, y = ARROWS[event.key]
        return self._move_by(chosen, (x * size, y * size), f"nudge {' '.join(chosen)}")

    def _move_by(self, chosen: tuple[str, ...], by: Point, key: str | None) -> ToolReply:
        plan = self.desk.plan
        press = Press((0.0, 0.0), (0.0, 0.0), plan, "", chosen)
        after = moved(self.desk, plan, chosen, by)
        return ToolReply(plan=after, commit=self._label(press), key=key, prompt=self._prompt)

    def _glow(self) -> tuple[AnyMark, ...]:
        if not self._hovered or any(surface.id == self._hovered for surface in self.desk.plan.surfaces):
            return ()
        return self._sight.glow(self._hovered)

    def _vias(self) -> tuple[AnyMark, ...]:
        """Handles on the via points of selected channels."""
        chosen = set(self.desk.session.selection)
        return tuple(
            overlay.handle(self.desk.to_sheet(channel.surface, point), self._k)
            for channel in self.desk.plan.channels
            if channel.id in chosen and channel.surface is not None
            for point in channel.via_mm
        )
