"""A file is written whole or not at all, whatever goes wrong on the way."""

import errno
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any, Self

import pytest

from core.errors import FileProblem
from core.files import safe_write
from core.files.safe_write import WriteProblem, write_bytes

OLD, NEW = b"the old plan", b"the new plan, longer than the old one"


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "Mein Bus.loomplan"
    path.write_bytes(OLD)
    return path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_file_is_made_and_replaced_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "van.loomplan"
    write_bytes(path, OLD)
    assert path.read_bytes() == OLD
    write_bytes(path, NEW)
    assert path.read_bytes() == NEW
    assert names(tmp_path) == ["van.loomplan"]


def test_rights_are_kept_and_new_files_have_the_usual_ones(plan: Path, tmp_path: Path) -> None:
    plan.chmod(0o640)
    write_bytes(plan, NEW)
    assert stat.S_IMODE(plan.stat().st_mode) == 0o640
    usual = tmp_path / "usual"
    usual.write_bytes(b"")
    fresh = tmp_path / "fresh"
    write_bytes(fresh, NEW)
    assert stat.S_IMODE(fresh.stat().st_mode) == stat.S_IMODE(usual.stat().st_mode)


def test_a_link_stays_a_link_and_the_file_it_leads_to_is_replaced(plan: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "elsewhere" / "link.loomplan"
    link.symlink_to(plan)
    write_bytes(link, NEW)
    assert link.is_symlink()
    assert plan.read_bytes() == NEW
    assert names(link.parent) == ["link.loomplan"]


def test_a_reader_of_the_old_file_keeps_the_old_file(plan: Path) -> None:
    with plan.open("rb") as reader:
        write_bytes(plan, NEW)
        assert reader.read() == OLD


def test_the_data_is_on_the_disk_before_the_name_and_the_folder_after(
    plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The order that survives a power cut: file, rename, folder (POSIX fsync says the name is the folder's)."""
    order: list[str] = []
    sync, replace = os.fsync, os.replace

    def fsync(handle: int) -> None:
        order.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        sync(handle)

    def rename(old: Any, new: Any) -> None:
        order.append("rename")
        replace(old, new)

    monkeypatch.setattr(safe_write.os, "fsync", fsync)
    monkeypatch.setattr(safe_write.os, "replace", rename)
    write_bytes(plan, NEW)
    assert order == ["file", "rename", "folder"]


class _FullDisk:
    """A file that takes some bytes and then has no room."""

    def __init__(self, file: Any):
        self.file = file

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.file, name)

    def write(self, data: bytes) -> int:
        self.file.write(data[:5])
        raise OSError(errno.ENOSPC, "No space left on device")


def _full_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = Path.open
    monkeypatch.setattr(Path, "open", lambda path, *args, **more: _FullDisk(opened(path, *args, **more)))


def _failing(name: str, number: int) -> Callable[[pytest.MonkeyPatch], None]:
    def prepare(monkeypatch: pytest.MonkeyPatch) -> None:
        def fail(*_: object, **__: object) -> None:
            raise OSError(number, os.strerror(number))

        monkeypatch.setattr(safe_write.os, name, fail)

    return prepare


def _no_entry(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = Path.open

    def denied(path: Path, *args: Any, **more: Any) -> Any:
        if path.name.endswith(".part"):
            raise PermissionError(errno.EACCES, "Permission denied")
        return opened(path, *args, **more)

    monkeypatch.setattr(Path, "open", denied)


@pytest.mark.parametrize(
    ("prepare", "told"),
    [
        (_full_disk, "the disk is full"),
        (_failing("fsync", errno.EIO), "the disk reports a fault"),
        (_failing("fsync", errno.EDQUOT), "your share of the disk is used up"),
        (_failing("replace", errno.EACCES), "you may not read or write there"),
        (_failing("replace", errno.EROFS), "the disk can only be read"),
        (_failing("replace", errno.ENOENT), "the folder is not there any more"),
        (_failing("replace", 9999), "Unknown error 9999"),
        (_no_entry, "you may not read or write there"),
    ],
)
def test_whatever_fails_the_old_file_is_whole_and_nothing_is_left(
    plan: Path, monkeypatch: pytest.MonkeyPatch, prepare: Callable[[pytest.MonkeyPatch], None], told: str
) -> None:
    with monkeypatch.context() as fault:
        prepare(fault)
        with pytest.raises(WriteProblem) as caught:
            write_bytes(plan, NEW)
    assert str(caught.value).startswith(f"{plan}: the file was not saved: {told} (expected ")
    assert plan.read_bytes() == OLD
    assert names(plan.parent) == [plan.name]


def test_an_interrupt_leaves_the_old_file_and_nothing_beside_it(plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as fault:
        fault.setattr(safe_write.os, "fsync", interrupt)
        with pytest.raises(KeyboardInterrupt):
            write_bytes(plan, NEW)
    assert plan.read_bytes() == OLD
    assert names(plan.parent) == [plan.name]


def test_a_folder_that_cannot_be_synced_is_no_failure(plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some network file systems refuse fsync of a folder; the file itself is on the disk by then."""
    sync = os.fsync

    def fsync(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, "Invalid argument")
        sync(handle)

    monkeypatch.setattr(safe_write.os, "fsync", fsync)
    write_bytes(plan, NEW)
    assert plan.read_bytes() == NEW


def test_a_vanished_folder_a_folder_a_device_a_circle_of_links_and_a_long_name_are_told(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    (tmp_path / "file").write_bytes(OLD)
    for path, told in (
        (tmp_path / "gone" / "van.loomplan", "the folder is not there any more"),
        (tmp_path, "this is no file but a folder or a device"),
        (Path("/dev/null"), "this is no file but a folder or a device"),
        (tmp_path / "file" / "van.loomplan", "its folder is no folder"),
        (tmp_path / ("x" * 300), "the name is too long"),
        (tmp_path / "nul\0", "null"),
    ):
        with pytest.raises(WriteProblem, match=told):
            write_bytes(path, NEW)
    with pytest.raises(WriteProblem):
        write_bytes(tmp_path / "a", NEW)
    assert names(tmp_path) == ["a", "b", "file"]


def test_a_write_protected_file_is_not_replaced(plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # root may write everything, so the answer of the system is given here
    monkeypatch.setattr(safe_write.os, "access", lambda *_: False)
    with pytest.raises(WriteProblem, match="the file is write-protected"):
        write_bytes(plan, NEW)
    assert plan.read_bytes() == OLD


def test_a_name_as_long_as_the_system_allows_is_written(tmp_path: Path) -> None:
    path = tmp_path / ("ü" * 120 + ".loomplan")
    write_bytes(path, NEW)
    assert path.read_bytes() == NEW


def test_parts_that_killed_programs_left_long_ago_go_with_the_next_save(plan: Path) -> None:
    old, others = (plan.with_name(f".{name}.0a1b2c3d.part") for name in (plan.name, "other"))
    fresh = plan.with_name(f".{plan.name}.99999999.part")
    for part in (old, fresh, others):
        part.write_bytes(b"half")
    for part in (old, others):
        os.utime(part, (1_000_000, 1_000_000))
    write_bytes(plan, NEW)
    assert names(plan.parent) == sorted([plan.name, fresh.name, others.name])


def test_a_problem_of_writing_is_a_problem_of_files() -> None:
    assert issubclass(WriteProblem, FileProblem)
