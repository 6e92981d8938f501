"""The sample plans, analysed once for all tests that look at their papers."""

from functools import cache
from pathlib import Path

import sample_layouts
from core.analysis.analysis import Analysis
from core.analysis.engine import analyse
from core.files.codec import read_plan
from core.files.library import load_library

SAMPLES = ("weekend-camper", "long-van")


@cache
def sample(name: str) -> Analysis:
    folder = Path(sample_layouts.__file__).parent
    return analyse(read_plan(folder / f"{name}.loomplan"), load_library())
