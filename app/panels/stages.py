"""The seven stages of the work, a strip along the top. A stage chooses tools at hand; nothing is locked."""

from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QToolButton, QWidget


@dataclass(frozen=True)
class Stage:
    id: str
    words: str
    tip: str


STAGES: tuple[Stage, ...] = (
    Stage("survey", "Survey", "Measure the bare shell: floor, walls, ribs, openings"),
    Stage("fit-out", "Fit-out", "Where the cabinets and panels go"),
    Stage("devices", "Devices", "Lights, pumps, fuse blocks and all that wants wires"),
    Stage("channels", "Channels", "Where bundles run and what holds them"),
    Stage("circuits", "Circuits", "What feeds what, through which fuse"),
    Stage("checks", "Checks", "What is wrong or missing"),
    Stage("papers", "Papers", "Cut list, plan and tables to print"),
)


class StageStrip(QWidget):
    """One button a stage; the arrow keys step through them."""

    changed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("stageStrip")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAccessibleName("Stages of the work")
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(10, 5, 10, 0)
        layout.setSpacing(2)
        self.buttons: dict[str, QToolButton] = {}
        for number, stage in enumerate(STAGES, start=1):
            button = QToolButton(self)
            button.setObjectName("stage")
            button.setText(stage.words)
            button.setToolTip(f"{stage.tip}  (Alt+{number})")
            button.setShortcut(f"Alt+{number}")
            button.setCheckable(True)
            button.setAccessibleName(f"Stage {number} of {len(STAGES)}: {stage.words}")
            self._group.addButton(button, number - 1)
            layout.addWidget(button)
            self.buttons[stage.id] = button
        layout.addStretch(1)
        self.corner = layout
        self._group.idClicked.connect(self._clicked)
        self.buttons[STAGES[0].id].setChecked(True)

    @property
    def stage(self) -> str:
        return STAGES[self._group.checkedId()].id

    def choose(self, stage_id: str) -> None:
        if stage_id != self.stage:
            self.buttons[stage_id].setChecked(True)
            self.changed.emit(stage_id)

    def step(self, by: int) -> None:
        self.choose(STAGES[(self._group.checkedId() + by) % len(STAGES)].id)

    def _clicked(self, number: int) -> None:
        self.changed.emit(STAGES[number].id)
