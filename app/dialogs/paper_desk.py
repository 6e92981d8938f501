"""The papers: choose one, see its pages as they will be printed, print them or save them as PDF."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import msgspec
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QSpinBox,
    QToolButton,
    QTreeWidget,
    QTreeWidgetItem,
    QTreeWidgetItemIterator,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from app.choice import Choice
from app.dialogs.ask import tell_problem
from app.dialogs.page_view import ZOOM_STEP, PageView
from app.dialogs.printing import Printing
from app.dialogs.working import WorkingDialog
from app.render.pdf import save_pdf
from core.errors import FileProblem, LoomwrightError, Stopped
from core.pages.label_sheets import SHEETS, label_sheet
from core.pages.marks import Page
from core.pages.paper import Choices
from core.pages.papers import About

#: The usual papers, and scales of the fold-out plan.
PAPERS = ("A4", "A3", "Letter", "Tabloid")
SCALES = (0, 5, 10, 15, 20, 25, 30, 40, 50)
LIST_WIDTH = 250
#: `run(job, done, failed)`: work beside the window, then a callback with its result or with what hindered it.
Run = Callable[[Callable[[], Any], Callable[[Any], object], Callable[[FileProblem], object]], None]


@dataclass(frozen=True)
class Desk:
    """What the dialog asks of the window. `make` gives the pages of a paper, off the thread of the window."""

    papers: Mapping[str, About]
    make: Callable[[str, Choices], tuple[Page, ...]]
    run: Run
    #: Where a file of this paper is offered to be saved.
    suggested: Callable[[str], Path]
    said: Callable[[str], None]
    #: Write all papers into a folder, as chosen.
    export: Callable[[Choices], object]
    chosen: Callable[[Choices], object]


class PaperDesk(QDialog):
    """A list of papers, the choices that the one shown heeds, and its pages."""

    def __init__(self, parent: QWidget, desk: Desk, choices: Choices, shown: str) -> None:
        super().__init__(parent)
        self._window, self._desk, self._choices = parent, desk, choices
        self._name = shown
        #: Counts what was asked for: an answer that was overtaken is not shown.
        self._asked = 0
        self.setWindowTitle("Papers")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.resize(1180, 820)
        self.view = PageView(self)
        self.list = self._make_list()
        self.told = QLabel(self)
        self.told.setWordWrap(True)
        self.told.setObjectName("dialogHeadline")
        self.what_for = QLabel(self)
        self.what_for.setWordWrap(True)
        self.problem = QLabel(self)
        self.problem.setObjectName("fieldProblem")
        self.problem.setWordWrap(True)
        self.problem.hide()
        options = self._make_options()
        turning = self._make_turning()
        box = QDialogButtonBox(self)
        self.print_button = box.addButton("Print…", QDialogButtonBox.ButtonRole.ActionRole)
        self.save_button = box.addButton("Save as PDF…", QDialogButtonBox.ButtonRole.ActionRole)
        self.export_button = box.addButton("Export all papers…", QDialogButtonBox.ButtonRole.ActionRole)
        close = box.addButton("Close", QDialogButtonBox.ButtonRole.RejectRole)
        self.print_button.setDefault(True)
        for button, keys in (
            (self.print_button, "Ctrl+P"),
            (self.save_button, "Ctrl+S"),
            (self.export_button, "Ctrl+E"),
        ):
            button.setShortcut(keys)
            button.setToolTip(keys)
        self.print_button.clicked.connect(self._print)
        self.save_button.clicked.connect(self._ask_where)
        self.export_button.clicked.connect(self._export)
        close.clicked.connect(self.reject)
        right = QVBoxLayout()
        for widget in (self.told, self.what_for):
            right.addWidget(widget)
        right.addLayout(options)
        right.addWidget(self.problem)
        right.addWidget(self.view, 1)
        right.addLayout(turning)
        upper = QHBoxLayout()
        upper.addWidget(self.list)
        upper.addLayout(right, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 14, 14, 12)
        layout.addLayout(upper, 1)
        layout.addWidget(box)
        self.view.turned.connect(self._turned)
        self.view.zoomed.connect(self._zoomed)
        self.list.currentItemChanged.connect(self._picked)
        self._show_list_item(shown)
        self._make_pages()
        self.list.setFocus()

    # --- what it is made of ------------------------------------------------------------------------------------------

    def _make_list(self) -> QTreeWidget:
        tree = QTreeWidget(self)
        tree.setHeaderHidden(True)
        tree.setAccessibleName("Papers")
        tree.setFixedWidth(LIST_WIDTH)
        tree.setRootIsDecorated(False)
        tree.setIndentation(10)
        tree.setItemsExpandable(False)
        groups: dict[str, QTreeWidgetItem] = {}
        for name, about in self._desk.papers.items():
            group = groups.get(about.group)
            if group is None:
                group = groups[about.group] = QTreeWidgetItem(tree, [about.group])
                group.setFlags(Qt.ItemFlag.ItemIsEnabled)
                font = group.font(0)
                font.setBold(True)
                group.setFont(0, font)
            item = QTreeWidgetItem(group, [about.title])
            item.setData(0, Qt.ItemDataRole.UserRole, name)
            item.setToolTip(0, about.what_for)
        tree.expandAll()
        return tree

    def _make_options(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        self.paper = self._choice("Paper", {name: name for name in PAPERS}, self._choices.paper)
        self.scale = self._choice(
            "Scale", {scale: f"1 : {scale}" if scale else "As fits" for scale in SCALES}, int(self._choices.scale)
        )
        sheets = {"": "Usual for the paper", **{key: sheet.name for key, sheet in SHEETS.items()}}
        self.sheet = self._choice("Sheet of labels", sheets, self._choices.label_sheet)
        self.style_of = self._choice(
            "Labels", {"flag": "Flag over the wire", "wrap": "Wrapped round it"}, self._choices.label_style
        )
        self.first = QSpinBox(self)
        self.first.setRange(1, 1)
        self.first.setAccessibleName("First free label")
        self.first.setValue(self._choices.first_label)
        self.first.valueChanged.connect(self._changed)
        self.qr = QCheckBox("QR signs", self)
        self.qr.setChecked(self._choices.label_qr)
        self.qr.toggled.connect(self._changed)
        self._fields: dict[str, tuple[QLabel | None, QWidget]] = {}
        for column, (field, words, editor) in enumerate((
            ("paper", "Paper", self.paper), ("scale", "Scale", self.scale),
            ("label_sheet", "Sheet of labels", self.sheet), ("first_label", "First free label", self.first),
            ("label_style", "Labels", self.style_of), ("label_qr", "", self.qr),
        )):  # fmt: skip
            label = QLabel(words, self) if words else None
            if label is not None:
                label.setObjectName("fieldLabel")
                label.setBuddy(editor)
                grid.addWidget(label, 0, column)
            grid.addWidget(editor, 1, column)
            self._fields[field] = (label, editor)
        grid.setColumnStretch(6, 1)
        return grid

    def _choice(self, words: str, values: Mapping[Any, str], now: Any) -> Choice:
        combo = Choice(self)
        combo.setAccessibleName(words)
        for value, shown in values.items():
            combo.addItem(shown, value)
        combo.setMinimumContentsLength(max(map(len, values.values())))
        combo.setCurrentIndex(max(0, combo.findData(now)))
        combo.activated.connect(self._changed)
        return combo

    def _make_turning(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.page_told = QLabel(self)
        self.page_told.setAccessibleName("Page shown")
        self.zoom_told = QLabel(self)
        self.zoom_told.setAccessibleName("Zoom")
        buttons: list[tuple[str, str, Callable[[], object]]] = [
            ("◀", "Page before (Page up)", lambda: self.view.turn_to(self.view.number - 1)),
            ("▶", "Next page (Page down)", lambda: self.view.turn_to(self.view.number + 1)),
            ("−", "Smaller (Ctrl+−)", lambda: self.view.zoom(1 / ZOOM_STEP)),
            ("+", "Larger (Ctrl++)", lambda: self.view.zoom(ZOOM_STEP)),
            ("Whole page", "Whole page (Ctrl+0)", self.view.fit),
            ("Page width", "As wide as there is room", self.view.fit_width),
        ]
        made = []
        for text, tip, run in buttons:
            button = QToolButton(self)
            button.setText(text)
            button.setToolTip(tip)
            button.setAccessibleName(tip)
            button.clicked.connect(run)
            made.append(button)
        row.addStretch(1)
        shown: list[QWidget] = [made[0], self.page_told, made[1], made[2], self.zoom_told, *made[3:]]
        for number, widget in enumerate(shown):
            if number == 3:
                row.addSpacing(24)
            row.addWidget(widget)
        row.addStretch(1)
        return row

    # --- choosing ----------------------------------------------------------------------------------------------------

    @property
    def choices(self) -> Choices:
        return self._choices

    @property
    def name(self) -> str:
        """The paper that is shown."""
        return self._name

    def show_paper(self, name: str) -> None:
        """Show this paper, a key of the desk's papers."""
        self._show_list_item(name)

    def _show_list_item(self, name: str) -> None:
        walk = QTreeWidgetItemIterator(self.list)
        while (item := walk.value()) is not None:
            if item.data(0, Qt.ItemDataRole.UserRole) == name:
                self.list.setCurrentItem(item)
                return
            walk += 1

    def _picked(self, item: QTreeWidgetItem | None, _before: QTreeWidgetItem | None) -> None:
        name = item.data(0, Qt.ItemDataRole.UserRole) if item is not None else None
        if name is not None and name != self._name:
            self._name = name
            self._make_pages()

    def _changed(self) -> None:
        after = msgspec.structs.replace(
            self._choices,
            paper=self.paper.currentData(),
            scale=float(self.scale.currentData()),
            label_sheet=self.sheet.currentData(),
            label_style=self.style_of.currentData(),
            label_qr=self.qr.isChecked(),
            first_label=self.first.value(),
        )
        if after != self._choices:
            self._choices = after
            self._desk.chosen(after)
            self._make_pages()

    def _show_options(self) -> None:
        heeds = self._desk.papers[self._name].heeds
        for field, (label, editor) in self._fields.items():
            for widget in (label, editor):
                if widget is not None:
                    widget.setVisible(field in heeds)
        self.first.setMaximum(label_sheet(self._choices.label_sheet, self._choices.paper).count)

    # --- pages -------------------------------------------------------------------------------------------------------

    def _make_pages(self) -> None:
        about = self._desk.papers[self._name]
        self.told.setText(about.title)
        self.what_for.setText(about.what_for[:1].upper() + about.what_for[1:])
        self._show_options()
        self._asked += 1
        self.problem.hide()
        self._set_ready(ready=False)
        self.page_told.setText("Making the pages…")
        job = partial(_made, self._desk.make, self._name, self._choices)
        self._desk.run(job, partial(self._have, self._asked), partial(self._failed, self._asked))

    def _have(self, number: int, made: tuple[Page, ...] | str) -> None:
        if number != self._asked:
            return  # another paper was asked for meanwhile, or the dialog is closed
        if isinstance(made, str):
            self.view.show_pages(())
            self.page_told.setText("No pages")
            self._say(made)
            return
        self.view.show_pages(made)
        self._set_ready(ready=bool(made))

    def _failed(self, number: int, problem: FileProblem) -> None:
        self._have(number, str(problem))

    def _set_ready(self, ready: bool) -> None:
        self.print_button.setEnabled(ready)
        self.save_button.setEnabled(ready)

    def _say(self, sentence: str) -> None:
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))

    def _turned(self, number: int) -> None:
        pages = self.view.pages
        if pages:
            page = pages[number]
            size = f"{page.width_mm:.0f} × {page.height_mm:.0f} mm"
            self.page_told.setText(f"Page {number + 1} of {len(pages)}, {size}")

    def _zoomed(self, percent: int) -> None:
        self.zoom_told.setText(f"{percent} %")

    def done(self, result: int) -> None:
        self._asked += 1
        super().done(result)

    # --- PDF ---------------------------------------------------------------------------------------------------------

    def _ask_where(self) -> None:
        dialog = QFileDialog(self, "Save as PDF", str(self._desk.suggested(self._name)), "PDF (*.pdf)")
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("pdf")
        dialog.fileSelected.connect(self._chosen_file)
        dialog.open()

    def _chosen_file(self, path: str) -> None:
        self.save_to(Path(path))

    def save_to(self, path: Path) -> None:
        """Write the PDF beside the window; it can be stopped. A failure is told and the dialog stays."""
        title = self._desk.papers[self._name].title
        working = WorkingDialog(self._window, "Save as PDF", f"Saving “{title}” as {path.name}")
        working.open_soon()
        self._desk.run(
            partial(_saved, path, self.view.pages, title, working.progress.tell),
            partial(self._save_done, working, path),
            partial(self._save_failed, working),
        )

    def _save_done(self, working: WorkingDialog, path: Path, problem: str) -> None:
        working.over()
        told = problem or f"Saved {path.name}."
        self._desk.said(told)
        if isValid(self):  # the desk may have been closed meanwhile
            self.page_told.setText(told)

    def _save_failed(self, working: WorkingDialog, problem: FileProblem) -> None:
        working.over()
        tell_problem(self if isValid(self) else self._window, "The PDF was not written.", problem)

    def _export(self) -> None:
        self.accept()
        self._desk.export(self._choices)

    # --- printer -----------------------------------------------------------------------------------------------------

    def printing(self) -> Printing:
        """Everything to print the paper that is shown."""
        return Printing(
            self, self._desk.papers[self._name].title, self.view.pages, self.view.number, self._said_by_printer
        )

    def _print(self) -> None:
        self.printing().ask()

    def _said_by_printer(self, told: str) -> None:
        self._desk.said(told)
        self.page_told.setText(told)


def _made(make: Callable[[str, Choices], tuple[Page, ...]], name: str, choices: Choices) -> tuple[Page, ...] | str:
    """The pages, or why there are none in a sentence."""
    try:
        return make(name, choices)
    except LoomwrightError as problem:
        return str(problem)


def _saved(path: Path, pages: Sequence[Page], title: str, progress: Callable[[str, int, int], bool]) -> str:
    """Write the pages; why not, where somebody stopped it. Raises FileProblem."""
    try:
        save_pdf(path, pages, title, progress)
    except Stopped as stopped:
        return str(stopped)
    return ""
