"""Settings survive a restart; what cannot be read falls back one by one."""

import json
from pathlib import Path

import msgspec
import pytest

from app import settings
from app.settings import RECENT, Settings, config_folder, load, save, state_folder, understood, with_recent


def test_settings_survive_a_restart() -> None:
    chosen = msgspec.structs.replace(Settings(), theme="dark", length_unit="in", recent=("/a.loomplan",))
    save(chosen)
    assert load() == chosen
    assert settings.settings_file().parent == config_folder()
    assert list(config_folder().iterdir()) == [settings.settings_file()]


def test_without_a_file_all_is_default() -> None:
    assert load() == Settings()


@pytest.mark.parametrize("text", ["", "{", "[]", "[" * 20_000, "\x00" * 50, '"text"'])
def test_a_damaged_file_is_as_none(text: str) -> None:
    config_folder().mkdir(parents=True)
    settings.settings_file().write_text(text)
    assert load() == Settings()


def test_values_fall_back_one_by_one() -> None:
    told = {"theme": "pink", "grid_mm": -1, "snap": False, "paper": "A3", "not_known": 1, "autosave_after_s": "soon"}
    assert understood(told) == msgspec.structs.replace(Settings(), snap=False, paper="A3")


def test_settings_are_readable() -> None:
    save(Settings())
    assert json.loads(settings.settings_file().read_text())["theme"] == "system"


def test_recent_files_are_few_and_different(tmp_path: Path) -> None:
    value = Settings()
    for number in range(RECENT + 5):
        value = with_recent(value, tmp_path / f"{number}.loomplan")
    value = with_recent(value, tmp_path / "9.loomplan")
    assert len(value.recent) == RECENT
    assert value.recent[0].endswith("9.loomplan")
    assert len(set(value.recent)) == RECENT


def test_a_relative_folder_in_the_environment_is_not_believed(monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification 0.8 (from memory): paths in these variables must be absolute, others ignored."""
    monkeypatch.setenv("XDG_CONFIG_HOME", "somewhere")
    monkeypatch.delenv("XDG_STATE_HOME")
    assert config_folder() == Path.home() / ".config" / "loomwright"
    assert state_folder() == Path.home() / ".local" / "state" / "loomwright"
