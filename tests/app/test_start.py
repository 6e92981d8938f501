"""`python3 -m app` where the window cannot open: one sentence and code 2, never an abort. What it says of itself."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF

from app import bootstrap, preflight
from core import __version__
from core.text import FONTS

ROOT = Path(__file__).resolve().parents[2]
on_linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="screens of Linux")
SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET", "XDG_SESSION_TYPE", "QT_QPA_PLATFORM")


def start(*arguments: str, folder: Path = ROOT, **changes: str) -> subprocess.CompletedProcess[str]:
    """`python -m app` as a child without any screen but what `changes` name."""
    environment = {name: text for name, text in os.environ.items() if name not in SCREENS} | changes
    return subprocess.run(
        [sys.executable, "-m", "app", *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        timeout=60,
    )


@on_linux
@pytest.mark.parametrize(
    ("screen", "part"),
    [
        ({}, "DISPLAY is not set"),
        ({"DISPLAY": ":4711"}, ":4711 does not answer"),
        ({"DISPLAY": "no display at all"}, "does not answer"),
        ({"WAYLAND_DISPLAY": "wayland-9"}, "DISPLAY is not set"),
        ({"QT_QPA_PLATFORM": "wayland", "XDG_RUNTIME_DIR": "/nowhere"}, "no Wayland server answers"),
        ({"QT_QPA_PLATFORM": "nonsense"}, "names nonsense"),
        ({"QT_QPA_PLATFORM": "eglfs"}, "cannot start its platform eglfs"),
    ],
    ids=str,
)
def test_no_screen_is_one_sentence(screen: dict[str, str], part: str) -> None:
    run = start(**screen)
    assert run.returncode == 2, run.stderr
    assert len(run.stderr.splitlines()) == 1, run.stderr
    assert run.stderr.startswith("Loomwright: ")
    assert part in run.stderr
    assert run.stdout == ""


@on_linux
def test_missing_library_names_the_package(tmp_path: Path) -> None:
    """A loader that does not find two of the libraries stands for a bare machine."""
    (tmp_path / "sitecustomize.py").write_text(
        "import ctypes\n"
        "class Bare(ctypes.CDLL):\n"
        "    def __init__(self, name, *rest, **named):\n"
        "        if name in ('libxcb-cursor.so.0', 'libEGL.so.1'):\n"
        "            raise OSError(f'{name}: cannot open shared object file')\n"
        "        super().__init__(name, *rest, **named)\n"
        "ctypes.CDLL = Bare\n"
    )
    run = start(PYTHONPATH=str(tmp_path), DISPLAY=":0")
    assert run.returncode == 2
    assert run.stderr.splitlines() == [
        "Loomwright: Qt misses libraries of the system; on Debian and Ubuntu: sudo apt install libegl1 libxcb-cursor0"
    ]


@on_linux
def test_list_of_libraries_is_what_qt_asks_for() -> None:
    """The list is neither too short nor too long, by what `ldd` says of Qt's widgets and its X11 plugin."""
    import PySide6

    qt = Path(PySide6.__file__).parent / "Qt"
    lines = ldd(qt / "lib" / "libQt6Widgets.so.6", qt / "lib" / "libQt6DBus.so.6", qt / "plugins/platforms/libqxcb.so")
    assert [line for line in lines if "not found" in line] == []
    needed = {line.split()[0] for line in lines if " => " in line and str(qt) not in line}
    listed = set(preflight.LIBRARIES | preflight.X11_LIBRARIES)
    # libGL is what EGL's own drivers load while running.
    assert listed - needed <= {"libGL.so.1"}
    asked = {name for name in needed if name.startswith(("libxcb-", "libX11-xcb", "libxkb", "libEGL", "libglib"))}
    # Brought along by the packages libxcb-render-util0, libxcb-image0 and libxcb-cursor0.
    assert asked - listed <= {"libxcb-render.so.0", "libxcb-shm.so.0", "libxcb-util.so.1"}


def ldd(*files: Path) -> list[str]:
    run = subprocess.run(["ldd", *map(str, files)], capture_output=True, encoding="utf-8")
    return [line.strip() for line in run.stdout.splitlines()]


@pytest.mark.parametrize(
    ("environment", "platforms"),
    [
        ({}, ("xcb",)),
        ({"DISPLAY": ":0"}, ("xcb",)),
        ({"WAYLAND_DISPLAY": "wayland-0"}, ("wayland", "xcb")),
        ({"XDG_SESSION_TYPE": "wayland"}, ("wayland", "xcb")),
        ({"WAYLAND_DISPLAY": "wayland-0", "QT_QPA_PLATFORM": "xcb"}, ("xcb",)),
        ({"QT_QPA_PLATFORM": "vnc:size=800x600; offscreen"}, ("vnc", "offscreen")),
        ({"QT_QPA_PLATFORM": ""}, ("xcb",)),
    ],
)
def test_platforms_that_qt_would_try(environment: dict[str, str], platforms: tuple[str, ...]) -> None:
    assert preflight.wanted_platforms(environment) == platforms


def test_offscreen_is_honoured() -> None:
    run = start("--check", QT_QPA_PLATFORM="offscreen")
    assert run.returncode == 0, run.stderr
    facts = dict(line.split("  ", 1) for line in run.stdout.splitlines())
    assert facts["Platform"].strip() == "offscreen"
    assert facts["Fonts"].strip() == "all loaded"
    assert facts["Window"].strip() == "can open"


def test_check_without_a_screen_still_reports() -> None:
    run = start("--check")
    if sys.platform.startswith("linux"):
        assert run.returncode == 2
        assert "There is no screen" in run.stdout
    assert run.stdout.split("\n")[0].split() == ["Loomwright", __version__]


def test_version_and_help_need_no_screen() -> None:
    assert start("--version").stdout == f"Loomwright {__version__}\n"
    assert "FILE" in start("--help").stdout


def test_unknown_option_is_refused_without_traceback() -> None:
    run = start("--nonsense")
    assert run.returncode == 2
    assert "Traceback" not in run.stderr


@pytest.mark.parametrize("name", ["app/bootstrap.py", "app/__init__.py", "app/__main__.py", "core/__init__.py"])
def test_an_old_python_can_read_what_tells_it_so(name: str) -> None:
    """Python 3.8 parses these files, so that its user reads a sentence and no syntax error."""
    ast.parse((ROOT / name).read_text(encoding="utf-8"), feature_version=(3, 8))


def test_none_keeps_its_references() -> None:
    """PySide6 6.12.0 below Python 3.12 loses one at nearly every call and aborts the process after some thousands."""
    point = QPointF()
    before = sys.getrefcount(None)
    for _ in range(200):
        point.setX(1)
    assert abs(sys.getrefcount(None) - before) < 50


def test_wheel_works_without_a_checkout(tmp_path: Path) -> None:
    """The wheel carries the resources, has the command, and makes no environment of its own."""
    built = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
    )
    assert built.returncode == 0, built.stderr
    (wheel,) = tmp_path.glob("loomwright-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        archive.extractall(tmp_path / "site")
    assert {f"core/_resources/fonts/{font.file}" for font in FONTS.values()} <= names
    assert "core/_resources/licences/LGPL-3.0.txt" in names
    assert {name.split("/")[0] for name in names} == {"app", "core", f"loomwright-{__version__}.dist-info"}
    entry_points = (tmp_path / "site" / f"loomwright-{__version__}.dist-info" / "entry_points.txt").read_text()
    assert "loomwright = app.__main__:main" in entry_points

    run = start("--check", folder=tmp_path / "site", QT_QPA_PLATFORM="offscreen")
    assert run.returncode == 0, run.stderr
    assert "none, installed as a package" in run.stdout
    assert str(tmp_path / "site" / "core" / "_resources") in run.stdout
    assert list(tmp_path.rglob(".venv*")) == []


@pytest.mark.parametrize(
    ("log", "part"),
    [
        (
            ["WARNING: Retrying (Retry(total=1, connect=None", "ERROR: No matching distribution found for x==1"],
            "reached",
        ),
        (["ERROR: Could not find a version", "ERROR: No matching distribution found for x==1"], "no build of x==1"),
        (["ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE."], "differs"),
        (["ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device"], "disk is full"),
        (["ERROR: something new"], "something new"),
        ([], "pip said nothing"),
    ],
)
def test_reason_of_a_failed_install(log: list[str], part: str) -> None:
    """The lines are pip 23's own."""
    assert part in bootstrap.reason_of(log)
