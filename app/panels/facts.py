"""Right of the sheet: what the selected thing is, what it costs, and everything about it that can be changed."""

from typing import Any

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.panels.costs import Costs, WireLine, costs
from app.panels.cross_section import CrossSection
from app.panels.fields import FORMS, PLAN_FORM
from app.panels.form import RecordForm
from app.panels.sizing import SizingSection
from app.panels.values import has
from app.theme import Theme, swatch_colour
from app.tools.desk import Desk
from app.tools.moving import collection_of
from core.model import Plan, find
from core.tables.names import ROLE_WORDS
from core.tables.table import swatch

#: Wires listed one by one; of more only the number is told.
MOST_WIRES = 12
#: While something is dragged the facts follow as often as this.
IN_DRAG_MS = 100


class FactsPanel(QScrollArea):
    """A view on the session's selection."""

    #: A wire in a list was chosen.
    wire_chosen = Signal(str)

    def __init__(self, desk: Desk, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._theme = theme
        self._form: RecordForm | None = None
        self._shape: tuple[Any, ...] = ()
        self._collection = ""
        self.setAccessibleName("Facts of the selection")
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        body = QWidget(self)
        self._layout = QVBoxLayout(body)
        self._layout.setContentsMargins(14, 10, 14, 14)
        self._layout.setSpacing(8)
        self._kind = QLabel(body)
        self._kind.setObjectName("factsKind")
        self._name = QLabel(body)
        self._name.setObjectName("factsName")
        self._name.setWordWrap(True)
        self._name.setTextFormat(Qt.TextFormat.PlainText)
        self._costs = CostCard(theme, body)
        self._costs.wire_chosen.connect(self.wire_chosen)
        self.sizing = SizingSection(desk.session, theme, body)
        self.sizing.if_opener.clicked.connect(self._reveal_soon)
        self._words = QLabel(body)
        self._words.setObjectName("factsWords")
        self._words.setWordWrap(True)
        self._layout.addWidget(self._kind)
        self._layout.addWidget(self._name)
        self._layout.addWidget(self._costs)
        self._layout.addWidget(self._words)
        self._layout.addWidget(self.sizing)
        self._layout.addStretch(1)
        self.setWidget(body)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(IN_DRAG_MS)
        self._later.timeout.connect(self.refresh)
        session = desk.session
        session.selection_changed.connect(self.refresh)
        session.plan_changed.connect(self._plan_changed)
        session.analysis_changed.connect(self._analysis_changed)
        self.refresh()

    @property
    def form(self) -> RecordForm | None:
        return self._form

    @property
    def costs(self) -> "CostCard":
        return self._costs

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._costs.set_theme(theme)
        self.sizing.set_theme(theme)
        self.refresh()

    def focus_first(self) -> None:
        """Give the keyboard to the first field."""
        if self._form is not None and self._form.rows:
            self._form.rows[0].editor.setFocus(Qt.FocusReason.ShortcutFocusReason)
        elif self.sizing.isVisible():
            self.sizing.focus_first()

    def _reveal_soon(self) -> None:
        QTimer.singleShot(0, self._reveal)

    def _reveal(self) -> None:
        """What was opened at the lower end comes into sight."""
        self.ensureWidgetVisible(self.sizing.if_words)

    def refresh(self) -> None:
        """Show the selection anew; fields somebody types in stay."""
        session = self._desk.session
        chosen = session.selection
        self._words.hide()
        if len(chosen) > 1:
            self._show_many(session.shown, chosen)
            return
        record_id = chosen[0] if chosen else ""
        self._collection = (collection_of(session.shown, record_id) or "") if record_id else ""
        if record_id and not self._collection:
            self._show_wire(record_id)
            return
        record = find(session.shown, self._collection, record_id) if record_id else session.shown
        form = FORMS.get(self._collection) if record_id else PLAN_FORM
        word = form.word if form is not None else self._collection.replace("_", " ").capitalize().removesuffix("s")
        self._head(word, getattr(record, "name", "") or (f"{word} {record_id}" if record_id else "New plan"))
        self._show_costs()
        if form is None:
            self._drop_form()
            return
        usable = tuple(has(record, field.path) for _, fields in form.sections for field in fields)
        shape = (self._collection, record_id, self._desk.unit, usable)
        if self._form is None or shape != self._shape:
            self._drop_form()
            self._form = RecordForm(self._desk, form, record_id, record, self.widget())
            self._shape = shape
            self._layout.insertWidget(4, self._form)
        else:
            self._form.show_record(record)

    def _show_many(self, plan: Plan, chosen: tuple[str, ...]) -> None:
        counted: dict[str, int] = {}
        for each in chosen:
            collection = collection_of(plan, each)
            word = FORMS[collection].word if collection in FORMS else "Wire" if collection is None else "Thing"
            counted[word] = counted.get(word, 0) + 1
        self._drop_form()
        self._head("Selection", f"{len(chosen)} things")
        told = "\n".join(f"{count} × {word.lower()}" for word, count in counted.items())
        self._words.setText(told)
        self._words.show()
        self._costs.hide()
        self.sizing.show_of("")

    def _show_wire(self, wire_id: str) -> None:
        analysis = self._desk.session.analysis
        self._drop_form()
        wire = analysis.wires.get(wire_id)
        if wire is None:
            self._head("", wire_id)
            self._costs.hide()
            self.sizing.show_of("")
            return
        self._head(f"Wire, {ROLE_WORDS[wire.role]}", wire_id)
        self._show_costs()

    def _head(self, kind: str, name: str) -> None:
        self._kind.setText(kind.upper())
        self._name.setText(name)

    def _show_costs(self) -> None:
        session = self._desk.session
        if self._is_waiting():
            return
        record_id = session.selection[0] if session.selection else ""
        self._costs.show_costs(costs(session.analysis, self._desk, record_id, self._collection))
        self.sizing.show_of(record_id if not self._collection or self._collection == "circuits" else "")

    def _drop_form(self) -> None:
        if self._form is not None:
            self._layout.removeWidget(self._form)
            self._form.hide()
            self._form.deleteLater()
            self._form = None
        self._shape = ()

    def _plan_changed(self, _old: object, _new: object) -> None:
        if not self._desk.session.previewing:
            self._later.stop()
            self.refresh()
        elif not self._later.isActive():
            # Nobody reads numbers sixty times a second, and a drag has better things to do.
            self._later.start()

    def _is_waiting(self) -> bool:
        """While something is dragged the costs follow with the estimate, not with every proposal."""
        session = self._desk.session
        return session.previewing and session.analysis.plan is not session.shown

    def _analysis_changed(self, _analysis: object) -> None:
        if len(self._desk.session.selection) <= 1 and not self._later.isActive():
            self._show_costs()


class CostCard(QFrame):
    """Lines of what and how much, the cross-section of a bundle, and the wires that are meant."""

    wire_chosen = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.setObjectName("costCard")
        self.shown = Costs()
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(12, 10, 12, 10)
        self._layout.setSpacing(6)
        self._body: QWidget | None = None
        self._picture = CrossSection(theme, self)
        self._layout.addWidget(self._picture, 0, Qt.AlignmentFlag.AlignHCenter)
        self._picture.hide()

    def set_theme(self, theme: Theme) -> None:
        self._theme = theme
        self._picture.set_theme(theme)
        self.show_costs(self.shown, anew=True)

    def value(self, label: str) -> str:
        """The value shown at a label. Raises KeyError."""
        for line in self.shown.lines:
            if line.label == label:
                return line.value
        raise KeyError(label)

    def show_costs(self, shown: Costs, *, anew: bool = False) -> None:
        if shown == self.shown and self._body is not None and not anew:
            return
        self.shown = shown
        if self._body is not None:
            self._layout.removeWidget(self._body)
            self._body.hide()
            self._body.deleteLater()
        self._body = self._made(shown)
        self._layout.insertWidget(0, self._body)
        self._picture.show_bundle(shown.bundle)
        self.setVisible(bool(shown.lines or shown.wires))

    def _made(self, shown: Costs) -> QWidget:
        body = QWidget(self)
        grid = QGridLayout(body)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(3)
        grid.setColumnStretch(1, 1)
        row = 0
        for line in shown.lines:
            label, value = QLabel(line.label, body), QLabel(line.value, body)
            label.setObjectName("costLabel")
            value.setObjectName("costValue")
            value.setTextFormat(Qt.TextFormat.PlainText)
            value.setWordWrap(True)
            value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
            value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            value.setAccessibleName(f"{line.label}: {line.value}")
            grid.addWidget(label, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(value, row, 1)
            row += 1
            if line.why:
                why = QLabel(line.why, body)
                why.setObjectName("costWhy")
                why.setIndent(0)
                why.setWordWrap(True)
                grid.addWidget(why, row, 0, 1, 2)
                row += 1
        if shown.provisional:
            told = QLabel("Provisional: some of the way is assumed, or something is being moved.", body)
            told.setObjectName("costWhy")
            told.setIndent(0)
            told.setWordWrap(True)
            grid.addWidget(told, row, 0, 1, 2)
            row += 1
        for wire in shown.wires[:MOST_WIRES]:
            grid.addWidget(self._wire(wire, body), row, 0, 1, 2)
            row += 1
        if len(shown.wires) > MOST_WIRES:
            more = QLabel(f"and {len(shown.wires) - MOST_WIRES} wires more", body)
            more.setObjectName("costWhy")
            grid.addWidget(more, row, 0, 1, 2)
        return body

    def _wire(self, wire: WireLine, parent: QWidget) -> QWidget:
        """A line that leads to a wire: swatch, words, section, one-way metres."""
        button = QPushButton(parent)
        button.setObjectName("wireLine")
        button.setFlat(True)
        button.setCursor(Qt.CursorShape.PointingHandCursor)
        button.setAccessibleName(f"Wire {wire.wire}: {wire.words}, {wire.section}, one-way {wire.one_way}")
        button.setToolTip(f"{wire.wire}: {wire.words}\n{wire.section}, one-way {wire.one_way}")
        button.setProperty("wire", wire.wire)
        button.clicked.connect(self._wire_clicked)
        row = QHBoxLayout(button)
        row.setContentsMargins(4, 3, 4, 3)
        row.setSpacing(7)
        dot = QLabel(button)
        dot.setFixedSize(11, 11)
        colour, edge = swatch_colour(swatch(wire.colour).colour).name(), self._theme.colour("muted").name()
        dot.setStyleSheet(f"background: {colour}; border: 1px solid {edge}; border-radius: 5px;")
        words = QLabel(wire.wire, button)
        words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        for label in (dot, words):
            label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        row.addWidget(dot)
        row.addWidget(words, 1)
        for text in (wire.section, wire.one_way):
            label = QLabel(text, button)
            label.setObjectName("costLabel")
            label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
            row.addWidget(label)
        button.setMinimumHeight(row.sizeHint().height())
        return button

    def _wire_clicked(self) -> None:
        self.wire_chosen.emit(str(self.sender().property("wire")))
