"""The start on a fresh machine, done for real in small: a checkout with the true bootstrap, a lock of one tiny package
and an index that is a folder, so that no test needs the network."""

from __future__ import annotations

import base64
import hashlib
import os
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from app import bootstrap

# As people name folders: with blanks and letters that no code page has together.
FOLDER = "mein Büs – über 日本"
PROGRAM = """
import sys
from app import bootstrap
if __name__ == "__main__":
    bootstrap.enter("run")
    import tinything
    if sys.argv[1:] == ["wait"]:
        import time
        print("waiting", flush=True)
        time.sleep(60)
    print(tinything.VERSION, sys.prefix, *sys.argv[1:], sep="|")
    sys.exit(7)
"""


@dataclass(frozen=True)
class Checkout:
    """A small checkout and the folder that serves as its package index."""

    root: Path
    wheels: Path

    @property
    def venv(self) -> Path:
        return self.root / ".venv"

    def environment(self, **changes: str) -> dict[str, str]:
        kept = {name: text for name, text in os.environ.items() if not name.startswith(("PIP_", "PYTHON", "COV"))}
        index = {"PIP_NO_INDEX": "1", "PIP_FIND_LINKS": self.wheels.as_uri(), "PIP_CONFIG_FILE": os.devnull}
        return kept | index | changes

    def command(self, *arguments: str) -> list[str]:
        return [base_python(), "-m", "app", *arguments]

    def start(self, *arguments: str, **changes: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            self.command(*arguments),
            cwd=self.root,
            env=self.environment(**changes),
            capture_output=True,
            encoding="utf-8",
            timeout=60,
        )

    def spawn(self, *arguments: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            self.command(*arguments),
            cwd=self.root,
            env=self.environment(),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            start_new_session=True,
        )

    def lock(self, version: str) -> None:
        """Make this version the one that the lock asks for, and put it into the index."""
        digest = make_wheel(self.wheels, version)
        (self.root / ".locks" / "run.txt").write_text(f"tinything=={version} \\\n    --hash=sha256:{digest}\n")


def base_python() -> str:
    """The interpreter below the environment that the tests run in, as a person would start it."""
    return getattr(sys, "_base_executable", sys.executable)


def make_wheel(folder: Path, version: str) -> str:
    """A wheel of one module, written by hand (format: packaging.python.org, binary distribution format). Its hash."""
    info = f"tinything-{version}.dist-info"
    files = {
        "tinything.py": f"VERSION = '{version}'\n",
        f"{info}/METADATA": f"Metadata-Version: 2.1\nName: tinything\nVersion: {version}\n",
        f"{info}/WHEEL": "Wheel-Version: 1.0\nGenerator: tests\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    record = "".join(f"{name},sha256={record_hash(text)},{len(text)}\n" for name, text in files.items())
    files[f"{info}/RECORD"] = record + f"{info}/RECORD,,\n"
    path = folder / f"tinything-{version}-py3-none-any.whl"
    with zipfile.ZipFile(path, "w") as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return hashlib.sha256(path.read_bytes()).hexdigest()


def record_hash(text: str) -> str:
    return base64.urlsafe_b64encode(hashlib.sha256(text.encode()).digest()).rstrip(b"=").decode()


def new_checkout(folder: Path) -> Checkout:
    checkout = Checkout(folder / FOLDER, folder / "wheels")
    (checkout.root / "app").mkdir(parents=True)
    (checkout.root / ".locks").mkdir()
    checkout.wheels.mkdir()
    shutil.copy(bootstrap.__file__, checkout.root / "app")
    (checkout.root / "app" / "__init__.py").touch()
    (checkout.root / "app" / "__main__.py").write_text(PROGRAM)
    checkout.lock("1.0")
    return checkout


@pytest.fixture
def fresh(tmp_path: Path) -> Checkout:
    """Nothing made yet."""
    return new_checkout(tmp_path)


@pytest.fixture(scope="module")
def first_start(tmp_path_factory: pytest.TempPathFactory) -> tuple[Checkout, subprocess.CompletedProcess[str]]:
    checkout = new_checkout(tmp_path_factory.mktemp("made"))
    return checkout, checkout.start("one", "two words", "ü")


@pytest.fixture
def made(first_start: tuple[Checkout, object], tmp_path: Path) -> Checkout:
    """A copy of one whose first start is done."""
    source, _ = first_start
    copy = Checkout(tmp_path / FOLDER, tmp_path / "wheels")
    shutil.copytree(source.root, copy.root, symlinks=True)
    shutil.copytree(source.wheels, copy.wheels)
    return copy


def assert_one_sentence(run: subprocess.CompletedProcess[str], *parts: str) -> None:
    """Ended with code 2 and, after the lines of progress, a sentence with these parts and no traceback."""
    assert run.returncode == 2, run.stderr
    assert "Traceback" not in run.stderr
    last = run.stderr.strip().splitlines()[-1]
    assert last.startswith("Loomwright: ")
    for part in parts:
        assert part in last
    assert run.stdout == ""


def test_first_start_makes_the_environment_and_goes_on_in_it(
    first_start: tuple[Checkout, subprocess.CompletedProcess[str]],
) -> None:
    checkout, run = first_start
    assert run.stdout == f"1.0|{checkout.venv}|one|two words|ü\n", run.stderr
    assert run.returncode == 7
    assert "First start: making the environment" in run.stderr
    assert "takes 1 to 3 minutes" in run.stderr
    assert not (checkout.venv / "loomwright-unfinished").exists()


def test_second_start_is_silent_and_needs_no_index(made: Checkout) -> None:
    shutil.rmtree(made.wheels)
    run = made.start("x", PIP_NO_INDEX="0", PIP_INDEX_URL="http://127.0.0.1:9/")
    assert (run.stdout, run.stderr, run.returncode) == (f"1.0|{made.venv}|x\n", "", 7)


def test_second_start_costs_little(made: Checkout) -> None:
    """It is one more start of the interpreter and a look at the locks; the quickest of some runs counts."""

    def quickest_s(command: list[str]) -> float:
        times = []
        for _ in range(7):
            began = time.perf_counter()
            subprocess.run(command, cwd=made.root, env=made.environment(), capture_output=True)
            times.append(time.perf_counter() - began)
        return min(times)

    direct = quickest_s([str(bootstrap.python_in(made.venv)), "-m", "app"])
    through_bootstrap = quickest_s(made.command())
    assert through_bootstrap < 5 * direct


def test_changed_lock_upgrades(made: Checkout) -> None:
    made.lock("2.0")
    run = made.start()
    assert run.stdout == f"2.0|{made.venv}\n", run.stderr
    assert "Bringing up to date" in run.stderr


def test_failed_upgrade_keeps_the_older_environment(made: Checkout) -> None:
    old_lock = (made.root / ".locks" / "run.txt").read_bytes()
    made.lock("2.0")
    (made.wheels / "tinything-2.0-py3-none-any.whl").unlink()
    assert_one_sentence(made.start(), "no build of tinything==2.0")
    (made.root / ".locks" / "run.txt").write_bytes(old_lock)
    run = made.start()
    assert (run.stdout, run.stderr) == (f"1.0|{made.venv}\n", "")


@pytest.mark.skipif(sys.platform == "win32", reason="signals are of POSIX")
@pytest.mark.parametrize("kill", [os.killpg, os.kill], ids=["with its helpers", "alone"])
def test_killed_install_is_made_anew(fresh: Checkout, kill: Callable[[int, int], None]) -> None:
    """Killed alone, it leaves a helper behind that still writes; the next start waits for that one."""
    child = fresh.spawn()
    try:
        deadline = time.monotonic() + 20
        while not (fresh.venv / "pyvenv.cfg").exists() and time.monotonic() < deadline:
            time.sleep(0.01)
        assert (fresh.venv / "loomwright-unfinished").exists()
    finally:
        kill(child.pid, signal.SIGKILL)
        child.communicate()
    run = fresh.start()
    assert run.stdout == f"1.0|{fresh.venv}\n", run.stderr
    assert "is not whole" in run.stderr
    assert ("Another start is installing" in run.stderr) == (kill is os.kill)


def test_two_starts_at_once_install_once(fresh: Checkout) -> None:
    children = [fresh.spawn(), fresh.spawn()]
    results = [child.communicate(timeout=60) for child in children]
    assert [out for out, _ in results] == [f"1.0|{fresh.venv}\n"] * 2
    said = "".join(err for _, err in results)
    assert said.count("First start: making") == 1
    assert said.count("Another start is installing") == 1


def test_environment_whose_python_is_gone_is_made_anew(made: Checkout) -> None:
    bootstrap.python_in(made.venv).unlink()
    run = made.start()
    assert run.stdout == f"1.0|{made.venv}\n", run.stderr
    assert "Python changed" in run.stderr


def test_environment_of_another_python_is_made_anew(made: Checkout) -> None:
    """The link leads to a newer Python after an upgrade of the system, and that one finds no packages."""
    (made.venv / "lib" / f"python3.{sys.version_info[1]}").rename(made.venv / "lib" / "python3.1")
    run = made.start()
    assert run.stdout == f"1.0|{made.venv}\n", run.stderr
    assert "Python changed" in run.stderr


def test_a_folder_of_somebody_else_is_moved_aside(fresh: Checkout) -> None:
    fresh.venv.mkdir()
    (fresh.venv / "precious.txt").write_text("mine")
    run = fresh.start()
    assert run.stdout == f"1.0|{fresh.venv}\n", run.stderr
    assert (fresh.root / ".venv-1.old" / "precious.txt").read_text() == "mine"


def test_no_network(made: Checkout) -> None:
    """Port 9 of this machine refuses, as a machine without network does."""
    made.lock("2.0")
    run = made.start(PIP_NO_INDEX="0", PIP_FIND_LINKS="", PIP_INDEX_URL="http://127.0.0.1:9/")
    assert_one_sentence(run, "package index could not be reached")


def test_no_place_for_the_environment(fresh: Checkout, tmp_path: Path) -> None:
    """Files where the folders should be refuse everybody, root included."""
    (fresh.root / ".venv.lock").mkdir()
    (tmp_path / "cache").touch()
    run = fresh.start(XDG_CACHE_HOME=str(tmp_path / "cache"))
    assert_one_sentence(run, "no place for the environment", str(fresh.root), str(tmp_path / "cache"))


def test_wrong_hash_installs_nothing(made: Checkout) -> None:
    made.lock("2.0")
    with zipfile.ZipFile(made.wheels / "tinything-2.0-py3-none-any.whl", "a") as archive:
        archive.writestr("evil.py", "")
    assert_one_sentence(made.start(), "differs from the one that this version was tested with")


def with_patch(checkout: Checkout, code: str) -> dict[str, str]:
    """Environment in which every Python runs `code` first, to stand for a machine that lacks something."""
    folder = checkout.wheels.parent / "patch"
    folder.mkdir()
    (folder / "sitecustomize.py").write_text(code)
    return {"PYTHONPATH": str(folder)}


def test_missing_ensurepip_names_the_package(fresh: Checkout) -> None:
    """Debian keeps ensurepip in the package python3-venv."""
    run = fresh.start(**with_patch(fresh, "import sys; sys.modules['ensurepip'] = None"))
    assert_one_sentence(run, "sudo apt install python3-venv")
    assert not fresh.venv.exists()


def test_read_only_checkout_uses_the_cache(fresh: Checkout, tmp_path: Path) -> None:
    """Root may write everywhere, so a patched `open` stands for a disk that is mounted read-only."""
    patch = f"""
import errno, io, pathlib
real = io.open
def refusing(file, mode="r", *rest, **named):
    if str(file).startswith({str(fresh.root)!r}) and set(mode) & set("wa+x"):
        raise OSError(errno.EROFS, "Read-only file system")
    return real(file, mode, *rest, **named)
io.open = refusing
"""
    cache = tmp_path / "cache"
    run = fresh.start(XDG_CACHE_HOME=str(cache), **with_patch(fresh, patch))
    assert run.returncode == 7, run.stderr
    (venv,) = (path for path in (cache / "loomwright").iterdir() if path.is_dir())
    assert run.stdout == f"1.0|{venv}\n"
    assert not fresh.venv.exists()
    again = fresh.start(XDG_CACHE_HOME=str(cache), PIP_FIND_LINKS="")
    assert (again.stdout, again.stderr) == (f"1.0|{venv}\n", "")


@pytest.mark.skipif(sys.platform == "win32", reason="signals are of POSIX")
def test_a_signal_reaches_the_program(made: Checkout) -> None:
    child = made.spawn("wait")
    assert child.stdout is not None
    assert child.stdout.readline() == "waiting\n"
    child.send_signal(signal.SIGTERM)
    child.communicate(timeout=20)
    assert child.returncode == -signal.SIGTERM


def test_a_broken_environment_does_not_go_round_for_ever(made: Checkout) -> None:
    """Without its configuration file the interpreter no longer knows that it belongs to the environment."""
    (made.venv / "pyvenv.cfg").unlink()
    assert_one_sentence(made.start(), "does not work", str(made.venv))
