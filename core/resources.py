"""Where the files that come with the program lie, in the checkout and in the wheel alike."""

from functools import cache
from pathlib import Path


@cache
def folder() -> Path:
    """The folder of the resources: `resources/` of the checkout, or the copy that the wheel carries."""
    package = Path(__file__).resolve().parent
    inside = package / "_resources"
    return inside if inside.is_dir() else package.parent / "resources"


def resource(name: str) -> Path:
    """The path of one shipped file, `name` with forward slashes (`fonts/advances.json`).

    Raises FileNotFoundError with the full path where the installation is damaged.
    """
    path = folder() / name
    if not path.exists():
        raise FileNotFoundError(f"Loomwright's own file is missing: {path}. Install it again.")
    return path


@cache
def samples() -> tuple[Path, ...]:
    """The sample plans that come with the program, by name."""
    inside = folder() / "samples"
    lying = inside if inside.is_dir() else folder().parent / "sample_layouts"
    return tuple(sorted(lying.glob("*.loomplan")))
