"""Drives a tool with plain records, as the canvas does: proposals become previews, commits become the plan."""

from app.session import Session
from app.settings import Settings
from app.tools.base import BaseTool
from app.tools.desk import Desk
from app.tools.events import KeyEvent, Modifier, PointerEvent, PointerKind, ToolReply
from core.files.library import load_library
from core.model import Plan, Point
from core.pages.marks import AnyMark

NONE: frozenset[Modifier] = frozenset()


class NoSight:
    """A sheet on which nothing glows and a band finds what it is told to."""

    def __init__(self, found: tuple[str, ...] = ()) -> None:
        self.found = found
        self.touching: bool | None = None

    def glow(self, _record: str) -> tuple[AnyMark, ...]:
        return ()

    def within(self, _a: Point, _b: Point, touching: bool) -> tuple[str, ...]:
        self.touching = touching
        return self.found

    def middle_of(self, _record: str) -> Point | None:
        return (0.0, 0.0)


class Driver:
    """`mm_per_px` 5: a pixel is 5 mm of the sheet."""

    def __init__(self, plan: Plan, **settings: object) -> None:
        self.settings = Settings(**settings)
        self.session = Session(load_library(), plan)
        self.desk = Desk(self.session, lambda: self.settings)
        self.tool: BaseTool = BaseTool(self.desk)
        self.reply = ToolReply()
        self.mm_per_px = 5.0

    @property
    def plan(self) -> Plan:
        return self.session.plan

    def on(self, surface: str, local: Point) -> Point:
        return self.desk.to_sheet(surface, local)

    def event(self, kind: PointerKind, at: Point, held: frozenset[Modifier], items: tuple[str, ...]) -> PointerEvent:
        pixel = (at[0] / self.mm_per_px, -at[1] / self.mm_per_px)
        button = "left" if kind != "move" else "none"
        return PointerEvent(kind, at, pixel, button, held, items, self.mm_per_px)

    def obey(self, reply: ToolReply | None) -> ToolReply:
        assert reply is not None, "the event means nothing to the tool"
        self.reply = reply
        if reply.plan is not None and reply.commit is not None:
            self.session.commit(reply.commit, reply.plan, reply.key)
        else:
            self.session.preview(reply.plan)
        if reply.select is not None:
            self.session.select(reply.select)
        return reply

    def move(self, at: Point, held: frozenset[Modifier] = NONE, items: tuple[str, ...] = ()) -> ToolReply:
        return self.obey(self.tool.move(self.event("move", at, held, items)))

    def press(self, at: Point, held: frozenset[Modifier] = NONE, items: tuple[str, ...] = ()) -> ToolReply:
        return self.obey(self.tool.press(self.event("press", at, held, items)))

    def release(self, at: Point, held: frozenset[Modifier] = NONE, items: tuple[str, ...] = ()) -> ToolReply:
        return self.obey(self.tool.release(self.event("release", at, held, items)))

    def click(self, at: Point, held: frozenset[Modifier] = NONE, items: tuple[str, ...] = ()) -> ToolReply:
        self.move(at, held, items)
        reply = self.press(at, held, items)
        if reply.done:
            return reply
        after = self.release(at, held, items)
        return reply if reply.commit is not None else after

    def double(self, at: Point) -> ToolReply:
        return self.obey(self.tool.press(self.event("double", at, NONE, ())))

    def key(self, key: str, held: frozenset[Modifier] = NONE) -> ToolReply:
        return self.obey(self.tool.key(KeyEvent(key, modifiers=held)))

    def type_in(self, text: str) -> ToolReply:
        return self.obey(self.tool.typed(text))
