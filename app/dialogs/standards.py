"""The standards profile of the plan: every limit with its number, where it comes from and how well it is known."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.choice import Choice
from app.session import Session
from core.edits.records import reset_limit
from core.edits.standards import choose_profile, limit_from, own_limit
from core.errors import EditRefused
from core.model import Limit, Plan, Profile
from core.tables.rules import KNOWN_WORDS, grouped, unit_words
from core.text import sentence

COLUMNS = ("Rule", "Limit", "Source", "Known")
RULE = Qt.ItemDataRole.UserRole


class StandardsDialog(QDialog):
    """A view on the session's plan: what is changed here is an edit like any other, and undo takes it back."""

    def __init__(self, parent: QWidget, session: Session) -> None:
        super().__init__(parent)
        self._session = session
        self.setWindowTitle("Standards and limits")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(900, 680)
        self.profiles = Choice(self)
        self.profiles.setAccessibleName("Standards profile")
        for profile in session.library.profiles:
            self.profiles.addItem(profile.name, profile.id)
        self.summary = _words(self, "factsWords")
        self.tree = QTreeWidget(self)
        self.tree.setAccessibleName("Limits")
        self.tree.setHeaderLabels(COLUMNS)
        self.tree.setRootIsDecorated(False)
        self.tree.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        header = self.tree.header()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        for column, width in ((1, 120), (3, 190)):
            header.resizeSection(column, width)
        header.setStretchLastSection(False)
        self.told = _words(self, "findingDetail")
        self.value = QLineEdit(self)
        self.value.setAccessibleName("Own limit")
        self.value.setFixedWidth(110)
        self.unit = QLabel(self)
        self.others = Choice(self)
        self.others.setAccessibleName("The same rule in other profiles")
        self.reset = QPushButton("As the profile says", self)
        self.problem = _words(self, "fieldProblem")
        close = QPushButton("Close", self)
        row = QHBoxLayout()
        row.setSpacing(8)
        for widget in (QLabel("Limit", self), self.value, self.unit, self.others, self.reset):
            row.addWidget(widget)
        row.addStretch(1)
        row.addWidget(close)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(8)
        layout.addWidget(self.profiles)
        layout.addWidget(self.summary)
        layout.addWidget(self.tree, 1)
        layout.addWidget(self.told)
        layout.addLayout(row)
        layout.addWidget(self.problem)
        for button in (self.reset, close):
            button.setAutoDefault(False)
        self.profiles.activated.connect(self._profile_chosen)
        self.tree.currentItemChanged.connect(self._show_current)
        self.value.returnPressed.connect(self._typed)
        self.others.activated.connect(self._other_chosen)
        self.reset.clicked.connect(self._reset)
        close.clicked.connect(self.accept)
        session.plan_changed.connect(self._refresh)
        self._refresh()

    # --- what is shown -----------------------------------------------------------------------------------------------

    def _refresh(self, *_: object) -> None:
        plan, library = self._session.plan, self._session.library
        kept = self._rule()
        profile = library.profile_of(plan.profile)
        self.profiles.setCurrentIndex(self.profiles.findData(profile.id))
        unread = sum(row.value is None for row in profile.limits)
        lacking = f" {unread} numbers were not read: fill them in from your own copy." if unread else ""
        self.summary.setText(f"{profile.summary}{lacking}")
        own = {row.rule for row in plan.profile.changes}
        self.tree.clear()
        for heading, rows in grouped(profile):
            group = QTreeWidgetItem(self.tree, [heading])
            group.setFlags(Qt.ItemFlag.ItemIsEnabled)
            group.setFirstColumnSpanned(True)
            font = group.font(0)
            font.setBold(True)
            group.setFont(0, font)
            for words, row in rows:
                item = QTreeWidgetItem(group, [words, _shown(row), row.source, _known(row, own)])
                item.setData(0, RULE, row.rule)
                item.setToolTip(2, row.source)
                if row.rule == kept:
                    self.tree.setCurrentItem(item)
        self.tree.expandAll()
        if self.tree.currentItem() is None:
            first = self.tree.topLevelItem(0)
            child = first.child(0) if first is not None else None
            if child is not None:
                self.tree.setCurrentItem(child)
        self._show_current()

    def _rule(self) -> str:
        item = self.tree.currentItem()
        return str(item.data(0, RULE) or "") if item is not None else ""

    def _show_current(self, *_: object) -> None:
        rule = self._rule()
        for widget in (self.value, self.others, self.reset):
            widget.setEnabled(bool(rule))
        self.problem.hide()
        if not rule:
            return
        plan, library = self._session.plan, self._session.library
        row = next(row for row in library.profile_of(plan.profile).limits if row.rule == rule)
        self.told.setText(f"{sentence(row.note)} Source: {row.source}. Rule: {rule}.".strip())
        self.value.setText("" if row.value is None else f"{row.value:g}")
        self.value.setPlaceholderText("" if row.meanwhile is None else f"{row.meanwhile:g} stands in")
        self.unit.setText(unit_words(row.unit))
        self.reset.setEnabled(any(change.rule == rule for change in plan.profile.changes))
        self.others.clear()
        self.others.addItem("From another profile…")
        for profile in library.profiles:
            other = _limit(profile, rule)
            if profile.id != plan.profile.id and other is not None and other.value is not None:
                self.others.addItem(f"{profile.name}: {_shown(other)}", profile.id)
        self.others.setEnabled(self.others.count() > 1)

    # --- what is changed ---------------------------------------------------------------------------------------------

    def _try(self, label: str, edit: Callable[[Plan], Plan]) -> None:
        try:
            plan = edit(self._session.plan)
        except EditRefused as refusal:
            self.problem.setText(str(refusal))
            self.problem.show()
            return
        self.problem.hide()
        self._session.commit(label, plan)

    def _profile_chosen(self, index: int) -> None:
        chosen = self.profiles.itemData(index)
        self._try("Choose profile", partial(choose_profile, library=self._session.library, profile_id=chosen))

    def _typed(self) -> None:
        text = self.value.text().strip().replace(",", ".")
        try:
            value = float(text)
        except ValueError:
            self.problem.setText(f"“{text}” is no number of {self.unit.text()}.")
            self.problem.show()
            return
        self._try("Set limit", partial(own_limit, library=self._session.library, rule=self._rule(), value=value))

    def _other_chosen(self, index: int) -> None:
        other = self.others.itemData(index)
        if other:
            library = self._session.library
            self._try("Take limit", partial(limit_from, library=library, rule=self._rule(), profile_id=other))

    def _reset(self) -> None:
        self._try("Reset limit", partial(reset_limit, rule=self._rule()))


def _words(parent: QWidget, name: str) -> QLabel:
    label = QLabel(parent)
    label.setObjectName(name)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def _limit(profile: Profile, rule: str) -> Limit | None:
    return next((row for row in profile.limits if row.rule == rule), None)


def _shown(row: Limit) -> str:
    if row.value is not None:
        return f"{row.value:g} {unit_words(row.unit)}"
    return "–" if row.meanwhile is None else f"({row.meanwhile:g} {unit_words(row.unit)})"


def _known(row: Limit, own: set[str]) -> str:
    return "your own" if row.rule in own else KNOWN_WORDS[row.known]
