"""A tenfold slip of a frame is seen: ratios in one run, which a slow or busy machine does not change.

The numbers themselves come from `python3 -m tests.bench.bench_canvas`. Yardstick: the whole sheet painted anew.
"""

from pytestqt.qtbot import QtBot

from tests.bench.bench_canvas import Trial
from tests.bench.vehicles import vehicle

#: What a frame cost of the yardstick on the van (962 things drawn): measured, and ten times that.
MEASURED = {"pan": 0.22, "zoom": 0.2, "hover": 0.12, "drag": 0.28}


def test_frames_cost_little_beside_painting_everything(qtbot: QtBot) -> None:
    trial = Trial(vehicle("van"))
    qtbot.addWidget(trial.view)
    trial.view.zoom_to_fit()
    trial.rest()
    whole_ms = trial.whole()["frame_ms"]
    for movement, share in MEASURED.items():
        frame_ms = getattr(trial, movement)()["frame_ms"]
        assert frame_ms < whole_ms * share * 10, movement
    trial.session.close()
