"""The window: puts the sheet, the panes, the stages and the actions together."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QByteArray, QPoint, QSize, Qt
from PySide6.QtGui import QCloseEvent, QGuiApplication, QResizeEvent
from PySide6.QtWidgets import QApplication, QDockWidget, QMainWindow, QTabWidget, QVBoxLayout, QWidget

from app import settings as stored
from app.canvas.view import SheetView
from app.commands import files as file_commands
from app.commands import findings as finding_commands
from app.commands import sheet as sheet_commands
from app.commands import shelf as shelf_commands
from app.commands import starting
from app.commands.action_set import ActionSet
from app.commands.bench import Bench
from app.commands.table import ACTIONS
from app.dialogs.files import Files
from app.dialogs.work import WorkDialog
from app.panels.circuit_table import CircuitTable
from app.panels.dropping import DeviceDrops
from app.panels.facts import FactsPanel
from app.panels.findings import FindingsPanel
from app.panels.folding_card import FoldingCard
from app.panels.guide import GuideStrip
from app.panels.history import HistoryPanel
from app.panels.layers import LayersPanel
from app.panels.live_cost import LiveCost
from app.panels.look import panel_stylesheet
from app.panels.outline import OutlinePanel
from app.panels.pointer import Pointer
from app.panels.shelf import ShelfPanel
from app.panels.stages import STAGES, StageStrip
from app.panels.start import StartCard
from app.panels.status import StatusLine
from app.panels.tool_bar import StageBar, hand_of
from app.session import Session
from app.settings import Settings
from app.theme import Theme, ThemeName
from app.tools.desk import Desk
from app.tools.toolbox import TOOLS, needed
from core.analysis.wires import BACKWARD
from core.files.library import DeviceTemplate, Library
from core.model import Plan
from core.resources import samples

SIDE_WIDTH = 250, 320
FINDINGS_HEIGHT = 170
CIRCUITS_HEIGHT = 260
#: From this width on there is room for both sides and the sheet.
ROOMY_PX = 1_050
Areas = Qt.DockWidgetArea


def theme_name(settings: Settings) -> ThemeName:
    """Light or dark; as the system is where nothing else is set."""
    if settings.theme == "system":
        return "dark" if QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark else "light"
    return settings.theme


def dress(application: QApplication, theme: Theme) -> None:
    """Style, colours and font of the whole application; nothing where they are so already, because it costs."""
    sheet = theme.stylesheet() + panel_stylesheet(theme)
    if application.styleSheet() == sheet:
        return
    application.setStyle("Fusion")
    application.setPalette(theme.palette())
    application.setFont(theme.widget_font())
    application.setStyleSheet(sheet)


def stacked(*widgets: QWidget) -> QWidget:
    """One below the other; the first takes what room there is."""
    column = QWidget()
    layout = QVBoxLayout(column)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(0)
    for number, widget in enumerate(widgets):
        layout.addWidget(widget, 0 if number else 1)
    column.setFocusProxy(widgets[0])
    return column


class Window(QMainWindow):
    """One window on one session."""

    def __init__(self, library: Library, plan: Plan, settings: Settings) -> None:
        super().__init__()
        self.setObjectName("window")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
        self._closing = False
        self._squeezed = False
        self.session = Session(library, plan, parent=self)
        self.desk = Desk(self.session, self._current_settings)
        self._first_settings = settings
        self.theme = Theme(theme_name(settings))
        self.view = SheetView(self.session, self.theme, self)
        self.pointer = Pointer(self.view, self.desk)
        self.files = Files(self.session, self)
        self._make_panes()
        self.bench = Bench(
            self.desk, self.view, self.pointer, self.files, self.stages, self.findings, self.guide, settings, self
        )
        self._make_actions()
        self._lay_out()
        self._connect()
        self._apply_theme(self.theme)
        self._stage_changed(self.stages.stage)
        self._show_title()
        sheet_commands.follow_settings(self.bench)
        self.action_set.refresh()

    def _current_settings(self) -> Settings:
        return self.bench.settings if hasattr(self, "bench") else self._first_settings

    def _current_theme(self) -> Theme:
        return self.theme

    # --- parts -------------------------------------------------------------------------------------------------------

    def _make_panes(self) -> None:
        session = self.session
        self.stages = StageStrip(self)
        self.bar = StageBar(self)
        self.outline = OutlinePanel(session, self)
        self.folding = FoldingCard(session, self._current_theme, self)
        self.layers = LayersPanel(self.view, self)
        self.history = HistoryPanel(session, self)
        self.shelf = ShelfPanel(session.library, self)
        self.facts = FactsPanel(self.desk, self.theme, self)
        self.findings = FindingsPanel(session, self.theme, self)
        self.circuit_table = CircuitTable(session, self.theme, self)
        self.status = StatusLine(self.desk, self)
        self.guide = GuideStrip(session, self)
        self.start = StartCard(self.view.viewport())
        self.live_cost = LiveCost(session, self.view.viewport())
        self.setStatusBar(self.status)

    def _make_actions(self) -> None:
        self.action_set = ActionSet(self.bench, self.view, self)
        self.actions_by_id, self.tools_by_id = self.action_set.by_id, self.action_set.tools
        menus = self.action_set.fill(self.menuBar())
        self.recent, self.panes_menu = menus["Open recent"], menus["Panes"]
        for path in samples():
            menus["Samples"].addAction(starting.sample_name(path), partial(starting.open_sample, self.bench, path))
        self.recent.aboutToShow.connect(self._fill_recent)
        self._offer()

    def _lay_out(self) -> None:
        middle = QWidget(self)
        layout = QVBoxLayout(middle)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.view, 1)
        self.setCentralWidget(middle)
        top = QWidget(self)
        rows = QVBoxLayout(top)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self.menuBar())
        rows.addWidget(self.stages)
        rows.addWidget(self.bar)
        rows.addWidget(self.guide)
        self.setMenuWidget(top)
        self.setCorner(Qt.Corner.BottomLeftCorner, Areas.LeftDockWidgetArea)
        self.setCorner(Qt.Corner.BottomRightCorner, Areas.RightDockWidgetArea)
        self.setTabPosition(Areas.AllDockWidgetAreas, QTabWidget.TabPosition.North)
        outline = self._dock("Outline", stacked(self.outline, self.folding), Areas.LeftDockWidgetArea)
        shelf = self._dock("Devices at hand", self.shelf, Areas.LeftDockWidgetArea)
        self.tabifyDockWidget(outline, shelf)
        outline.raise_()
        facts = self._dock("Facts", self.facts, Areas.RightDockWidgetArea)
        layers = self._dock("Layers", self.layers, Areas.RightDockWidgetArea)
        steps = self._dock("History", self.history, Areas.RightDockWidgetArea)
        self.tabifyDockWidget(facts, layers)
        self.tabifyDockWidget(layers, steps)
        facts.raise_()
        findings = self._dock("Findings", self.findings, Areas.BottomDockWidgetArea)
        circuits = self._dock("Circuit table", self.circuit_table, Areas.BottomDockWidgetArea)
        self.docks = {
            "outline": outline, "devices": shelf, "facts": facts, "findings": findings, "circuits": circuits,
            "layers": layers, "history": steps,
        }  # fmt: skip
        self.resize(QSize(1440, 900).boundedTo(self.screen().availableSize()))
        self._squeezed = self.width() < ROOMY_PX
        self.resizeDocks([outline, facts], list(SIDE_WIDTH), Qt.Orientation.Horizontal)
        # Put together only now: docks that share a place before forget what the others were told.
        self.tabifyDockWidget(findings, circuits)
        findings.raise_()
        self.resizeDocks([findings], [FINDINGS_HEIGHT], Qt.Orientation.Vertical)
        self._restore()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # A window that began narrower than its panes want gives them their room once it is wide enough.
        if self._squeezed and event.size().width() >= ROOMY_PX:
            self._squeezed = False
            self.resizeDocks([self.docks["outline"], self.docks["facts"]], list(SIDE_WIDTH), Qt.Orientation.Horizontal)

    def _dock(self, title: str, widget: QWidget, area: Qt.DockWidgetArea) -> QDockWidget:
        dock = QDockWidget(title, self)
        dock.setObjectName(f"dock:{title}")
        dock.setWidget(widget)
        # Each pane says itself what it is; a title bar would say it again.
        dock.setTitleBarWidget(QWidget(dock))
        dock.setFeatures(QDockWidget.DockWidgetFeature.DockWidgetClosable)
        self.addDockWidget(area, dock)
        self.panes_menu.addAction(dock.toggleViewAction())
        return dock

    def _connect(self) -> None:
        session, bench = self.session, self.bench
        session.history_changed.connect(self._history_changed)
        session.path_changed.connect(self._show_title)
        session.plan_changed.connect(self._plan_changed)
        session.selection_changed.connect(self._selection_changed)
        session.analysis_changed.connect(self._analysis_changed)
        session.analysis_failed.connect(self._analysis_failed)
        self.view.pointer_moved.connect(self.status.show_pointer)
        self.view.said.connect(self.status.say)
        self.view.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.view.customContextMenuRequested.connect(self._menu_asked)
        self.action_set.said.connect(self.status.say)
        self.pointer.changed.connect(self._tool_changed)
        self.pointer.hinted.connect(self._hinted)
        self.stages.changed.connect(self._stage_changed)
        self.shelf.taken.connect(self._device_taken)
        self.shelf.forget_asked.connect(partial(shelf_commands.forget_device, bench))
        self.shelf.list.px_per_mm = self._px_per_mm
        self.drops = DeviceDrops(self.view, self.pointer, self.shelf.by_id, self._why_no_device)
        bench.library_changed.connect(self.shelf.show_library)
        self.outline.activated.connect(self._show_record)
        self.facts.wire_chosen.connect(self._wire_chosen)
        self.circuit_table.asked.connect(self.action_set.run)
        self.circuit_table.said.connect(self.status.say)
        self.findings.chosen.connect(self._show_subjects)
        self.findings.remedy_asked.connect(partial(finding_commands.show_remedies, bench))
        self.findings.waive_asked.connect(partial(finding_commands.waive, bench))
        self.findings.unwaive_asked.connect(partial(finding_commands.take_waiver_back, bench))
        bench.said.connect(self.status.say)
        bench.settings_changed.connect(self._settings_changed)
        bench.pane_asked.connect(self._pane_asked)
        bench.action_asked.connect(self.action_set.run)
        self.guide.asked.connect(partial(starting.show_step, bench))
        self.folding.asked.connect(partial(sheet_commands.fold_up, bench))
        self.files.used.connect(self._file_used)
        self.files.replaced.connect(self._replaced)

    # --- actions -----------------------------------------------------------------------------------------------------

    def _menu_asked(self, at: QPoint) -> None:
        self.action_set.menu_at(self.view.viewport(), at)

    def _offer(self) -> None:
        self.start.offer(starting.ways_to_begin(self.bench))

    def _fill_recent(self) -> None:
        self.recent.clear()
        for told in self.bench.settings.recent:
            action = self.recent.addAction(Path(told).name.replace("&", "&&"))
            action.setToolTip(told)
            action.triggered.connect(partial(file_commands.open_recent, self.bench, Path(told)))
        if not self.bench.settings.recent:
            self.recent.addAction("Nothing yet").setEnabled(False)

    # --- what happened -----------------------------------------------------------------------------------------------

    def _stage_changed(self, stage: str) -> None:
        tools = [self.tools_by_id[""], *(self.tools_by_id[row.id] for row in TOOLS if stage in row.stages)]
        scene = self.view.sheet_scene
        scene.set_layers(replace(scene.layers, stage=stage))
        self.bar.show_actions(hand_of(tools, [self.actions_by_id[row.id] for row in ACTIONS if stage in row.stages]))
        if stage == "devices":
            self._raise("devices")
        elif self.docks["devices"].isVisible():
            self._raise("outline")
        if stage in ("checks", "circuits"):
            self._raise("findings" if stage == "checks" else "circuits")
        self.pointer.select()
        self._hinted("")

    def _tool_changed(self, _tool_id: str) -> None:
        self._show_start()

    def _show_start(self) -> None:
        self.start.show_if(not self.session.plan.surfaces and not self.pointer.tool_id)

    def _hinted(self, words: str) -> None:
        stage = next(stage for stage in STAGES if stage.id == self.stages.stage)
        self.status.show_hint(words or stage.tip)

    def _px_per_mm(self) -> float:
        return self.view.px_per_mm

    def _why_no_device(self) -> str:
        return needed(self.session.plan, "floor")

    def _device_taken(self, template: DeviceTemplate) -> None:
        if told := self._why_no_device():
            self.status.say(told)
        else:
            self.pointer.take_device(template)

    def _plan_changed(self, _old: object, _new: object) -> None:
        if not self.session.previewing:
            self.action_set.refresh()
            self._show_title()
            self._show_start()

    def _history_changed(self) -> None:
        self.action_set.refresh()
        self._show_title()

    def _analysis_changed(self, _analysis: object) -> None:
        self._light_way()

    def _selection_changed(self) -> None:
        self.action_set.refresh()
        self._light_way()

    def _light_way(self) -> None:
        """The way of the selected wire, of the first wire of the selected circuit, or of what feeds the device."""
        session = self.session
        chosen = session.selection[0] if len(session.selection) == 1 else ""
        wires = session.analysis.wires
        if chosen and chosen not in wires:
            fed = (wire.id for wire in wires.values() if wire.role not in BACKWARD and wire.to.device == chosen)
            chosen = next((wire.id for wire in wires.values() if wire.circuit == chosen), next(fed, ""))
        self.view.highlight(chosen or None)

    def _wire_chosen(self, wire: str) -> None:
        self.session.select((wire,))

    def _show_record(self, record_id: str) -> None:
        self.view.zoom_to_records(self._seen((record_id,)))

    def _show_subjects(self, subjects: Sequence[str]) -> None:
        self.session.select(subjects)
        self.view.zoom_to_records(self._seen(subjects))

    def _seen(self, record_ids: Sequence[str]) -> list[str]:
        """What of these is drawn on the sheet: of a circuit its devices, of a wire its channels."""
        analysis = self.session.analysis
        found: list[str] = []
        for each in record_ids:
            route = analysis.routes.get(each)
            circuit = analysis.circuits.get(each)
            if route is not None:
                found += [step.channel for step in route.steps]
            elif circuit is not None:
                found += [stop.device for stop in circuit.stops]
            else:
                found.append(each)
        return found

    def _analysis_failed(self, error: object) -> None:
        if isinstance(error, BaseException):
            raise error

    def _pane_asked(self, pane: str) -> None:
        self._raise(pane)
        if pane == "outline":
            self.outline.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        elif pane == "devices":
            self.shelf.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        elif pane == "circuits":
            if self.docks[pane].height() < CIRCUITS_HEIGHT:
                self.resizeDocks([self.docks[pane]], [CIRCUITS_HEIGHT], Qt.Orientation.Vertical)
            self.circuit_table.grid.setFocus(Qt.FocusReason.ShortcutFocusReason)
        elif pane in ("layers", "history"):
            self.docks[pane].widget().setFocus(Qt.FocusReason.ShortcutFocusReason)
        else:
            self.facts.focus_first()

    def _raise(self, pane: str) -> None:
        self.docks[pane].show()
        self.docks[pane].raise_()

    def _replaced(self) -> None:
        for dialog in self.findChildren(WorkDialog):
            # What it asks is about records of the plan before; others of the same ids are not meant.
            dialog.reject()
        if self.session.plan.circuits:
            # A plan that is wired is not opened to be measured again.
            self.stages.choose("circuits")
        self.view.zoom_to_fit()
        self.pointer.select()
        self.action_set.refresh()
        self._show_title()

    def _file_used(self, path: Path) -> None:
        self.bench.change_settings(recent=stored.with_recent(self.bench.settings, path).recent)
        self._offer()

    def _show_title(self) -> None:
        session = self.session
        name = session.path.name if session.path is not None else session.plan.name
        self.setWindowTitle(f"{name}[*] – Loomwright")
        self.setWindowModified(not session.clean)

    # --- settings ----------------------------------------------------------------------------------------------------

    def _settings_changed(self, settings: Settings) -> None:
        wanted = theme_name(settings)
        if wanted != self.theme.name:
            self._apply_theme(Theme(wanted))
        sheet_commands.follow_settings(self.bench)
        self.facts.refresh()
        self.status.refresh()
        self.action_set.refresh()

    def _apply_theme(self, theme: Theme) -> None:
        self.theme = theme
        application = QApplication.instance()
        if isinstance(application, QApplication):
            dress(application, theme)
        for part in (self.view, self.facts, self.findings, self.circuit_table):
            part.set_theme(theme)
        self.folding.update()

    def _restore(self) -> None:
        told = self._first_settings
        if told.window:
            self.restoreGeometry(QByteArray.fromBase64(told.window.encode()))
        if told.docks:
            self.restoreState(QByteArray.fromBase64(told.docks.encode()))

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._closing and not self.session.clean:
            event.ignore()
            self.files.when_safe(self.close_now)
            return
        self.pointer.select()
        self.session.close()
        self.bench.close()
        self.files.close()
        self.bench.change_settings(
            window=bytes(self.saveGeometry().toBase64().data()).decode(),
            docks=bytes(self.saveState().toBase64().data()).decode(),
        )
        event.accept()

    def close_now(self) -> None:
        """Close without asking: the changes were saved, or let go of."""
        self._closing = True
        self.close()
