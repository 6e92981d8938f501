"""The notice "open elsewhere": a small file beside the plan that says which process has it open."""

import contextlib
import json
import os
import secrets
import socket
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, NamedTuple

from core.files.limits import NOTE_BYTES

#: A lock nobody can read may be in the middle of being written; older than this it is rubbish.
_SETTLED_S: Final = 2.0


class Holder(NamedTuple):
    """The process that has a plan open: number, machine, since when (UTC, to the second), and when it was started."""

    pid: int
    host: str
    since: str
    started: str = ""

    def __str__(self) -> str:
        where = "on this computer" if self.host == socket.gethostname() else f"on {self.host or 'another computer'}"
        return f"open elsewhere: {where}, process {self.pid}, since {self.since or 'an unknown time'}"


def lock_path(path: Path) -> Path:
    """Where the lock of a plan lies; of a link, beside the file it leads to."""
    target = path.resolve()
    return target.with_name(f".{target.name[:100]}.lock")


def take(path: Path, *, anyway: bool = False) -> Holder | None:
    """Marks a plan as open here. Returns the holder where it is open elsewhere, and then changes nothing; with
    `anyway` takes it over. None: it is ours, or this folder takes no lock (read-only), which hinders nobody.

    A lock of this machine whose process has ended is taken over silently; one of another machine never.
    """
    lock = lock_path(path)
    mine = _this_process()
    try:
        for _ in range(3):
            if _create(lock, mine):
                return None
            found = _read(lock)
            if found is None:
                continue  # gone in the meantime
            if found[:2] == mine[:2] and found.started == mine.started:
                return None
            if not anyway and not _ended(found, lock):
                return found
            _remove_judged(lock, found)
        return _read(lock)
    except OSError:
        return None


def release(path: Path) -> None:
    """Removes the lock if it is this process's. Raises nothing."""
    lock = lock_path(path)
    with contextlib.suppress(OSError):
        found, mine = _read(lock), _this_process()
        if found is not None and found[:2] == mine[:2] and found.started == mine.started:
            lock.unlink()


def holder(path: Path) -> Holder | None:
    """Who has a plan open, other than this process; None for nobody, or a process that has ended."""
    lock = lock_path(path)
    with contextlib.suppress(OSError):
        found, mine = _read(lock), _this_process()
        if found is not None and found[:2] != mine[:2] and not _ended(found, lock):
            return found
    return None


def _this_process() -> Holder:
    now = datetime.now(UTC).strftime("%Y-%m-%d %H:%M:%S UTC")
    return Holder(os.getpid(), socket.gethostname(), now, _started(os.getpid()))


def _create(lock: Path, mine: Holder) -> bool:
    try:
        with lock.open("x", encoding="utf-8") as file:
            json.dump(mine._asdict(), file)
    except FileExistsError:
        return False
    return True


def _read(lock: Path) -> Holder | None:
    """The holder a lock names; one with number 0 where it cannot be read; None where there is no lock."""
    try:
        with lock.open("rb") as file:
            told = json.loads(file.read(NOTE_BYTES))
        return Holder(int(told["pid"]), str(told["host"]), str(told["since"]), str(told["started"]))
    except FileNotFoundError:
        return None
    except (ValueError, TypeError, KeyError, RecursionError):
        return Holder(0, "", "")


def _ended(found: Holder, lock: Path) -> bool:
    if found.pid <= 0:
        return time.time() - lock.stat().st_mtime > _SETTLED_S
    if found.host != socket.gethostname():
        return False
    if not is_alive(found.pid):
        return True
    # the number may have been given to another process since
    return bool(found.started) and found.started != _started(found.pid)


def _remove_judged(lock: Path, judged: Holder) -> None:
    """Removes the lock that was judged, and no newer one that took its place meanwhile."""
    aside = lock.with_name(f"{lock.name}.{secrets.token_hex(4)}")
    with contextlib.suppress(FileNotFoundError):
        lock.rename(aside)
        if _read(aside) == judged or lock.exists():
            aside.unlink()
        else:
            aside.rename(lock)


def is_alive(pid: int) -> bool:
    """Whether a process of this machine runs, whoever it belongs to."""
    if sys.platform == "win32":
        import ctypes  # os.kill would end the process there

        handle = ctypes.windll.kernel32.OpenProcess(0x0010_0000, False, pid)  # SYNCHRONIZE
        if handle:
            ctypes.windll.kernel32.CloseHandle(handle)
        return bool(handle)
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError):
        return True
    return True


def _started(pid: int) -> str:
    """When a process was started, as Linux tells it: start of the machine and clock ticks since. Elsewhere empty."""
    try:
        boot = Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
        ticks = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()[19]
    except (OSError, IndexError):
        return ""
    return f"{boot} {ticks}"
