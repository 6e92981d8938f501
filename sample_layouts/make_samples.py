"""Makes the sample plans: `python3 -m sample_layouts.make_samples [FOLDER]`. The same plans every time, to the byte."""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from core.files.codec import encode
from core.model import Plan
from sample_layouts import long_van, weekend_camper

#: File name of every sample and what makes it.
SAMPLES: dict[str, Callable[[], Plan]] = {
    "weekend-camper.loomplan": weekend_camper.make,
    "long-van.loomplan": long_van.make,
}


def main(argv: Sequence[str]) -> int:
    folder = Path(argv[0]) if argv else Path(__file__).parent
    for name, make in SAMPLES.items():
        path = folder / name
        path.write_bytes(encode(make()))
        sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
