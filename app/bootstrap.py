"""Makes the environment that `python3 -m app`, `-m core` and `-m tests` run in, and goes on in it.

Standard library only, and readable by Python 3.8, so that an old interpreter still gets a sentence instead of a
syntax error. All it says goes to standard error: the output of `python3 -m core` is read by other programs.

What lies where:

    .locks/NAME.txt              what to install, every file by its hash
    .venv/                       the environment (in the user's cache folder when the checkout cannot be written)
    .venv/loomwright-NAME.lock   the copy of the lock that was installed; written last, so its presence is the proof
    .venv/loomwright-unfinished  there while something is being installed; found at a start, it means "make it anew"
    .venv.lock                   held (by the operating system, so a crash lets go) while one start installs

The environment is built in its final place and not moved there, because the commands in its `bin` carry its path.
"""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

MINIMUM = (3, 11)
LOCKS = {"run": ("run",), "tests": ("run", "tests"), "checks": ("run", "tests", "checks")}
SIZES = {"run": "about 250 MB", "tests": "about 20 MB", "checks": "about 50 MB"}
# Set while going over to the environment's interpreter, so that a broken environment cannot make us go round for ever.
GUARD = "LOOMWRIGHT_ENTERING"


class CannotStart(Exception):
    """The environment cannot be made; the text is the one sentence for the person."""


def enter(purpose: str = "run") -> None:
    """Return when this interpreter has all that `purpose` (a key of LOCKS) needs; otherwise go on in one that has.

    Makes or brings up to date the environment first where needed. Ends the process (code 2) with a sentence when that
    fails, and with the child's own code where the system knows no exec.
    """
    try:
        python = prepare(purpose)
    except CannotStart as problem:
        say(str(problem))
        sys.exit(2)
    except KeyboardInterrupt:
        say("Stopped while installing. The next start makes it anew.")
        sys.exit(130)
    if python is not None:
        go_on_in(python)


def prepare(purpose: str) -> Path | None:
    """The interpreter to go on in, or None for this one. Raises CannotStart."""
    root = find_checkout()
    if root is None:  # started from an installed wheel: the installer brought everything
        return None
    if sys.version_info < MINIMUM:
        raise CannotStart(
            f"Loomwright needs Python {dotted(MINIMUM)} or newer; this is Python {dotted(sys.version_info)}."
        )
    names = LOCKS[purpose]
    for venv in places(root):
        if is_current(venv, root, names):
            break
    else:
        if is_installed_from(root):
            return None
        # A fresh interpreter sees what was just installed; this one may have looked for its packages in vain.
        return python_in(make_current(root, names))
    if is_running_in(venv):
        os.environ.pop(GUARD, None)
        return None
    if os.environ.get(GUARD) == str(venv):
        raise CannotStart(f"The environment {venv} does not work; delete that folder and start again.")
    return python_in(venv)


def find_checkout() -> Path | None:
    """The folder of the source checkout this file belongs to, None when it was installed from a wheel."""
    root = Path(__file__).resolve().parent.parent
    return root if (root / ".locks" / "run.txt").is_file() else None


def places(root: Path) -> list[Path]:
    """Where the environment may lie: in the checkout, or in the user's cache when that cannot be written."""
    import zlib

    found = [root / ".venv"]
    with contextlib.suppress(RuntimeError):  # a user without a home folder has no cache
        found.append(cache_folder() / f"venv-{zlib.crc32(os.fsencode(root)):08x}")
    return found


def cache_folder() -> Path:
    """The user's folder for what can be made again. Raises RuntimeError where the user has no home."""
    if sys.platform == "win32":
        folder = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "Loomwright" / "Cache"
    elif sys.platform == "darwin":
        folder = Path.home() / "Library" / "Caches" / "Loomwright"
    else:
        folder = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "loomwright"
    return folder


def python_in(venv: Path) -> Path:
    """The interpreter of an environment."""
    return venv / "Scripts" / "python.exe" if sys.platform == "win32" else venv / "bin" / "python"


def is_running_in(venv: Path) -> bool:
    """Whether this process is the environment's interpreter."""
    try:
        return venv.samefile(sys.prefix)
    except OSError:
        return False


def is_current(venv: Path, root: Path, names: Sequence[str]) -> bool:
    """Whether an environment is whole and holds exactly what the locks say."""
    if (venv / "loomwright-unfinished").exists() or not python_in(venv).exists():
        return False
    # After an upgrade of the system's Python the link in the environment may lead to a version it was not made for.
    if is_running_in(venv) and not (sys.platform == "win32" or Path(packages_in(venv)).is_dir()):
        return False
    return all(is_stamped(venv, root, name) for name in names)


def packages_in(venv: Path) -> str:
    """Where this interpreter would look for the packages of an environment (not on Windows)."""
    return str(venv / "lib" / f"python{dotted(sys.version_info)}" / "site-packages")


def is_stamped(venv: Path, root: Path, name: str) -> bool:
    """Whether the lock that was installed last is the one in the checkout."""
    try:
        return (venv / f"loomwright-{name}.lock").read_bytes() == (root / ".locks" / f"{name}.txt").read_bytes()
    except OSError:
        return False


def is_installed_from(root: Path) -> bool:
    """Whether this interpreter has the checkout installed (pip install -e), so that it needs no other environment."""
    import json
    from importlib import metadata

    with contextlib.suppress(metadata.PackageNotFoundError, ValueError, KeyError):
        origin = json.loads(metadata.distribution("loomwright").read_text("direct_url.json") or "{}")
        return bool(origin["dir_info"]["editable"]) and origin["url"] == root.as_uri()
    return False


def make_current(root: Path, names: Sequence[str]) -> Path:
    """Make the environment, or bring it up to date, while no other start does. Returns its folder."""
    refused: list[str] = []
    for venv in places(root):
        try:
            return make_current_in(venv, root, names)
        except ReadOnly as problem:
            refused.append(f"{venv.parent} ({problem})")
    raise CannotStart(f"There is no place for the environment: {' and '.join(refused)} cannot be written.")


class ReadOnly(Exception):
    """The place for an environment cannot be written."""


def make_current_in(venv: Path, root: Path, names: Sequence[str]) -> Path:
    with alone(venv) as lock:
        if not is_current(venv, root, names):  # another start may have done the work while this one waited
            try:
                install(venv, root, names, lock)
            except OSError as problem:
                raise CannotStart(f"The environment {venv} could not be made: {problem}.") from None
            if not is_current(venv, root, names):
                raise CannotStart(f"The environment {venv} was made but is not whole; is something changing it?")
    return venv


@contextlib.contextmanager
def alone(venv: Path) -> Iterator[int]:
    """Hold the lock file beside the environment; gives its descriptor. Raises ReadOnly when it cannot be written."""
    path = venv.with_name(venv.name + ".lock")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = path.open("a+b")
    except OSError as problem:
        raise ReadOnly(problem.strerror or str(problem)) from None
    with handle:
        if not try_lock(handle.fileno()):
            say("Another start is installing; waiting for it …")
            while not try_lock(handle.fileno()):
                import time

                time.sleep(0.2)
        yield handle.fileno()


def try_lock(handle: int) -> bool:
    """Lock an open file for this process, False when another has it. The system lets go when the process ends."""
    try:
        if sys.platform == "win32":
            import msvcrt

            os.lseek(handle, 0, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def install(venv: Path, root: Path, names: Sequence[str], lock: int) -> None:
    """Make `venv` hold what the locks say, upgrading a whole one and making a broken or missing one anew.

    The helpers that write into it hold `lock` too: when this process is killed and they live on, the next start waits.
    """
    import time

    began_s = time.monotonic()
    unfinished = venv / "loomwright-unfinished"
    if unfinished.exists() or is_running_without_packages(venv) or (is_ours(venv) and not python_in(venv).exists()):
        say(f"The environment {venv} is not whole (an install was interrupted or Python changed); making it anew.")
        remove(venv)
    elif os.path.lexists(venv) and not is_ours(venv):
        aside = free_name(venv)
        venv.rename(aside)
        say(f"The folder {venv} was not made by Loomwright; moved it to {aside.name}.")

    fresh = not venv.exists()
    if fresh:
        require_ensurepip()
    # What was installed for tests earlier must keep step with the rest, for they share packages.
    stamped = [name for name in LOCKS["checks"] if name in names or (venv / f"loomwright-{name}.lock").exists()]
    missing = [name for name in stamped if not is_stamped(venv, root, name)]
    size = " + ".join(SIZES[name] for name in missing)
    say(f"{'First start: making' if fresh else 'Bringing up to date'} the environment {venv}")
    say(f"Downloads {size}; takes 1 to 3 minutes on a usual connection, once.")
    if fresh:
        venv.mkdir(parents=True)
        unfinished.touch()
        create(venv, lock)
    unfinished.touch()
    try:
        pip_install(python_in(venv), [root / ".locks" / f"{name}.txt" for name in stamped], lock)
    except CannotStart:
        if not fresh:  # pip takes back what it began, so the older environment is still whole
            unfinished.unlink()
        raise
    for name in stamped:
        stamp = venv / f"loomwright-{name}.lock"
        stamp.write_bytes((root / ".locks" / f"{name}.txt").read_bytes())
    unfinished.unlink()
    say(f"Done in {time.monotonic() - began_s:.0f} s. The next start takes no network.")


def is_ours(venv: Path) -> bool:
    return any((venv / f"loomwright-{name}.lock").exists() for name in LOCKS["checks"])


def is_running_without_packages(venv: Path) -> bool:
    return sys.platform != "win32" and is_running_in(venv) and not Path(packages_in(venv)).is_dir()


def remove(folder: Path) -> None:
    import shutil

    if folder.is_symlink():
        folder.unlink()
    else:
        shutil.rmtree(folder)


def free_name(venv: Path) -> Path:
    number = 1
    while os.path.lexists(venv.with_name(f"{venv.name}-{number}.old")):
        number += 1
    return venv.with_name(f"{venv.name}-{number}.old")


def require_ensurepip() -> None:
    from importlib.util import find_spec

    if find_spec("ensurepip") is None or find_spec("venv") is None:
        version = dotted(sys.version_info)
        raise CannotStart(
            "Python's own tool for environments is missing; on Debian and Ubuntu: "
            f"sudo apt install python3-venv   (or python{version}-venv)"
        )


def create(venv: Path, lock: int) -> None:
    """An empty environment with pip, made by the interpreter below this one."""
    import subprocess

    base = getattr(sys, "_base_executable", None) or sys.executable
    made = subprocess.run(
        [base, "-m", "venv", str(venv)], capture_output=True, text=True, check=False, pass_fds=inheritable(lock)
    )
    if made.returncode != 0:
        lines = (made.stdout + made.stderr).strip().splitlines() or ["no reason given"]
        raise CannotStart(f"Python could not make the environment {venv}: {lines[-1].strip()}")


def inheritable(lock: int) -> tuple[int, ...]:
    """What `pass_fds` takes; Windows has no such thing, and lets go of the lock with this process."""
    return () if sys.platform == "win32" else (lock,)


def pip_install(python: Path, locks: Sequence[Path], lock: int) -> None:
    """Install the locks with the environment's pip, one line said for every package. Raises CannotStart."""
    import subprocess

    command = [str(python), "-m", "pip", "install", "--require-hashes", "--only-binary", ":all:", "--no-input"]
    command += ["--disable-pip-version-check", "--no-color", "--retries", "2", "--progress-bar", "off"]
    for path in locks:
        command += ["-r", str(path)]
    log: list[str] = []
    environment = {**os.environ, "PIP_REQUIRE_VIRTUALENV": "1", "PYTHONUNBUFFERED": "1", "PIP_USER": "0"}
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        env=environment,
        pass_fds=inheritable(lock),
    ) as pip:
        try:
            for line in pip.stdout or ():
                log.append(line.rstrip())
                word, _, rest = line.strip().partition(" ")
                if word in ("Collecting", "Processing"):  # the second names a file of a local index
                    say("  " + rest.split(" (from")[0].partition(";")[0].rpartition("/")[2].strip())
                elif word == "Installing":
                    say("  unpacking …")
        except BaseException:
            pip.kill()
            raise
    if pip.returncode != 0:
        raise CannotStart(reason_of(log))


NETWORK_SIGNS = (
    "Retrying (Retry(",
    "Failed to establish a new connection",
    "Temporary failure in name resolution",
    "Network is unreachable",
    "ReadTimeoutError",
    "ConnectTimeout",
    "ProxyError",
    "Could not fetch URL",
)


def reason_of(log: Sequence[str]) -> str:
    """One sentence for what pip could not do."""
    text = "\n".join(log)
    errors = [line[len("ERROR: ") :] for line in log if line.startswith("ERROR: ")]
    if "DO NOT MATCH THE HASHES" in text:
        return "A package differs from the one that this version was tested with (its hash), so nothing was installed."
    if "No space left on device" in text or "not enough space" in text:
        return "The disk is full: the environment needs about 1 GB."
    if any(sign in text for sign in NETWORK_SIGNS):
        return "The package index could not be reached; the first start needs the network once. Start again online."
    if "No matching distribution found" in text:
        wanted = errors[-1].rpartition(" for ")[2] if errors else "a package"
        return f"The package index has no build of {wanted} for Python {dotted(sys.version_info)} on this system."
    return "The packages could not be installed: " + (errors[-1] if errors else log[-1] if log else "pip said nothing")


def go_on_in(python: Path) -> None:
    """Run the same command line in another interpreter; does not return."""
    arguments = [str(python), *sys.orig_argv[1:]]
    environment = {**os.environ, GUARD: str(python.parent.parent)}
    environment.pop("__PYVENV_LAUNCHER__", None)  # macOS: would lead back to this interpreter
    sys.stdout.flush()
    sys.stderr.flush()
    if sys.platform == "win32":
        import signal
        import subprocess

        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the console sends Ctrl+C to the child too, which decides
        sys.exit(subprocess.call(arguments, env=environment))
    else:
        os.execve(python, arguments, environment)


def dotted(version: Sequence[object]) -> str:
    return f"{version[0]}.{version[1]}"


def say(text: str) -> None:
    """Tell the person something, whatever the terminal can show."""
    with contextlib.suppress(OSError):
        encoding = getattr(sys.stderr, "encoding", None) or "ascii"
        print("Loomwright:", text.encode(encoding, "replace").decode(encoding), file=sys.stderr, flush=True)


if __name__ == "__main__":  # `python3 app/bootstrap.py checks` only prepares, for .ci/run
    if len(sys.argv) != 2 or sys.argv[1] not in LOCKS:
        say(f"expected one of: {', '.join(LOCKS)}")
        sys.exit(2)
    try:
        print(prepare(sys.argv[1]) or sys.executable)
    except CannotStart as sentence:
        say(str(sentence))
        sys.exit(2)
