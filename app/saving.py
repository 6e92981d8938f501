"""What a save must not lose: the file as it was opened is kept, and a change by another program is noticed. No Qt."""

import contextlib
import hashlib
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, NamedTuple

from app.settings import state_folder
from core.files.codec import SUFFIX
from core.files.safe_write import WriteProblem, write_bytes

#: Backups kept of one plan, and of all plans together; the oldest go.
OF_ONE, OF_ALL = 10, 100
_NAMED: Final = re.compile(rf"(?P<plan>.*-[0-9a-f]{{8}})-[0-9]{{8}}T[0-9]{{12}}{re.escape(SUFFIX)}")


def backup_folder() -> Path:
    return state_folder() / "backups"


def keep_backup(path: Path, folder: Path | None = None, data: bytes | None = None) -> Path | None:
    """Copies a plan file into the folder of backups; where it lies there. The very same content is kept once.

    `data` is kept in its place where it is given: a plan that is about to be let go. None: there is no such file, or it
    cannot be copied, which hinders nobody.
    """
    folder = backup_folder() if folder is None else folder
    try:
        data = path.read_bytes() if data is None else data
        folder.mkdir(parents=True, exist_ok=True)
        plan = _plan_of(path)
        kept = sorted(folder.glob(f"{plan}-*{SUFFIX}"))
        if kept and kept[-1].read_bytes() == data:
            return kept[-1]
        backup = folder / f"{plan}-{datetime.now(UTC):%Y%m%dT%H%M%S%f}{SUFFIX}"
        write_bytes(backup, data)
        _thin_out(folder)
    except (OSError, WriteProblem):
        return None
    return backup


def _plan_of(path: Path) -> str:
    """The name of a plan's backups without their time: two plans of one name in two folders are two."""
    where = hashlib.sha256(str(path.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:8]
    return f"{re.sub(r'[^A-Za-z0-9_-]+', '-', path.stem)[:40]}-{where}"


def _thin_out(folder: Path) -> None:
    by_plan: dict[str, list[Path]] = {}
    for file in folder.glob(f"*{SUFFIX}"):
        if named := _NAMED.fullmatch(file.name):
            by_plan.setdefault(named["plan"], []).append(file)
    old = [file for files in by_plan.values() for file in sorted(files)[:-OF_ONE]]
    rest = [file for files in by_plan.values() for file in sorted(files)[-OF_ONE:]]
    rest.sort(key=lambda file: file.name.rpartition("-")[2])
    for file in (*old, *rest[:-OF_ALL]):
        with contextlib.suppress(OSError):
            file.unlink()


class _Stamp(NamedTuple):
    size: int
    modified_ns: int
    inode: int


class OnDisk:
    """The file of a session as it was read or written last, to see when somebody else changes it."""

    def __init__(self) -> None:
        self._path: Path | None = None
        self._stamp: _Stamp | None = None
        #: What the session has read or written, what lies there now, and what was told of last.
        self._held = self._now = self._told = b""

    def is_now(self, path: Path | None, held: bytes | None = None) -> None:
        """The session has just read or written this file (None: it has none). `held` is the digest of what it read,
        taken before: what another program writes in between is then seen."""
        self._path = path
        self._stamp = _stamp(path)
        self._now = digest(path)
        self._held = self._told = self._now if held is None else held

    def differs(self) -> bool:
        """Whether saving would write over something this session has neither read nor written. A file that is gone,
        or was not there yet, is nothing to lose."""
        stamp = _stamp(self._path)
        if self._path is None or stamp is None:
            return False
        if stamp != self._stamp:
            self._stamp, self._now = stamp, digest(self._path)
        return self._now != self._held

    def changed(self) -> bool:
        """Whether it differs, told once for each change."""
        if not self.differs() or self._now == self._told:
            return False
        self._told = self._now
        return True


def _stamp(path: Path | None) -> _Stamp | None:
    if path is None:
        return None
    try:
        found = path.stat()
    except OSError:
        return None
    return _Stamp(found.st_size, found.st_mtime_ns, found.st_ino)


def digest(path: Path | None) -> bytes:
    """The SHA-256 of a file; empty where it cannot be read."""
    if path is None:
        return b""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").digest()
    except OSError:
        return b""
