"""Files that are written whole or not at all: beside, to the disk, then in the place of the old one."""

import contextlib
import errno
import glob
import os
import secrets
import stat
import time
from pathlib import Path
from typing import Final

from core.errors import FileProblem

#: Seconds after which a part of a file beside it is no longer being written.
LEFT_S: Final = 600.0
_REASONS: Final = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is used up",
    errno.EFBIG: "the file is too large for this disk",
    errno.EACCES: "you may not read or write there",
    errno.EPERM: "you may not read or write there",
    errno.EROFS: "the disk can only be read",
    errno.ENOENT: "the folder is not there any more",
    errno.ENOTDIR: "its folder is no folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.EIO: "the disk reports a fault",
    errno.ELOOP: "its links run in a circle",
}


class WriteProblem(FileProblem):
    """A file that could not be written. What was there before is untouched."""


def write_bytes(path: Path, data: bytes) -> None:
    """Puts `data` in the place of a file, or makes it; rights and links are kept.

    Either the old file or the whole new one is there at any moment, also after a power cut. Raises WriteProblem with
    the reason in words; then nothing has changed and nothing is left beside it.
    """
    try:
        target = Path(path).resolve()
        before = _before(target)
        beside = target.with_name(f".{target.name[:40]}.{secrets.token_hex(4)}.part")
        try:
            _write_beside(beside, data, before)
            os.replace(beside, target)  # noqa: PTH105  (a seam of the fault tests)
        finally:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
        _sync_folder(target.parent)
        _sweep(target)
    except (OSError, RuntimeError, ValueError) as error:
        raise WriteProblem(f"the file was not saved: {reason(error)}", str(path), _advice(error)) from error


def reason(error: Exception) -> str:
    """Why reading or writing failed, in words."""
    if isinstance(error, OSError) and error.errno in _REASONS:
        return _REASONS[error.errno]
    return (error.strerror or str(error)) if isinstance(error, OSError) else str(error)


def _advice(error: Exception) -> str:
    number = error.errno if isinstance(error, OSError) else None
    if number in (errno.ENOSPC, errno.EDQUOT):
        return "free space, or another folder"
    return "another folder or name"


def _before(target: Path) -> os.stat_result | None:
    """What is there now. Raises OSError for what must not be replaced: a folder, a device, a write-protected file."""
    try:
        found = target.stat()
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(found.st_mode):
        raise OSError(0, "this is no file but a folder or a device")
    if not os.access(target, os.W_OK):
        raise OSError(0, "the file is write-protected")
    return found


def _write_beside(beside: Path, data: bytes, before: os.stat_result | None) -> None:
    with beside.open("xb") as file:
        if before is not None:
            beside.chmod(stat.S_IMODE(before.st_mode))
            if hasattr(os, "fchown"):
                # another owner can be kept by root alone; the new file then belongs to who saves it
                with contextlib.suppress(OSError):
                    os.fchown(file.fileno(), before.st_uid, before.st_gid)
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sweep(target: Path) -> None:
    """Takes away what killed programs left beside this file long ago."""
    with contextlib.suppress(OSError):
        for part in target.parent.glob(f".{glob.escape(target.name[:40])}.*.part"):
            with contextlib.suppress(OSError):
                if time.time() - part.stat().st_mtime > LEFT_S:
                    part.unlink()


def _sync_folder(folder: Path) -> None:
    """Makes the new name last through a power cut. Not every system can; the file itself is safe by now."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
