"""What tools that change drawn things share: the selection, or first a click on what is meant, and previews that say
why they cannot be."""

from collections.abc import Callable

from app.tools.base import BaseTool
from app.tools.events import PointerEvent, ToolReply
from app.tools.moving import LINED, OUTLINED, POINTED, collection_of
from core.edits.change import find_any, title
from core.errors import EditRefused
from core.model import Plan
from core.pages.marks import AnyMark

#: What has a place on the sheet.
DRAWN = OUTLINED | LINED | POINTED | {"nodes", "channels", "surfaces", "dimensions"}


class OnSelectionTool(BaseTool):
    """`accepts` are the collections it works on."""

    accepts: frozenset[str] = DRAWN
    #: What is done, for sentences: "moved", "copied".
    done_word = "changed"

    def chosen(self) -> tuple[str, ...]:
        """What of the selection the tool works on."""
        return tuple(each for each in self.desk.session.selection if self._fits(each))

    def _fits(self, record_id: str) -> bool:
        collection = collection_of(self.desk.plan, record_id)
        return collection in self.accepts

    def asking(self) -> ToolReply:
        """While nothing is selected that could be changed."""
        return ToolReply(word=f"click what is to be {self.done_word}")

    def pick(self, event: PointerEvent) -> ToolReply:
        """Select what lies under the pointer. Raises EditRefused where that is nothing."""
        found = next((each for each in event.item_ids if self._fits(each)), None)
        if found is None:
            raise EditRefused(f"Nothing here can be {self.done_word}: click a thing that is drawn.")
        return ToolReply(select=(found,), word=title(*find_any(self.desk.plan, found)))

    def proposed(self, edit: Callable[[], Plan], marks: tuple[AnyMark, ...], word: str, prompt: str) -> ToolReply:
        """The plan as it would be; where it cannot be, the reason in place of the word."""
        try:
            return ToolReply(plan=edit(), overlay=marks, word=word, prompt=prompt)
        except EditRefused as refusal:
            return ToolReply(overlay=marks, word=str(refusal), prompt=prompt)
