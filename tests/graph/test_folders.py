"""Where caches and settings lie. Source: XDG Base Directory Specification 0.8."""

import sys
from pathlib import Path

import pytest

from lamphouse.graph.files.folders import cache_folder, settings_folder

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the specification's own platforms")

FOLDERS = {
    "cache": (cache_folder, "LAMPHOUSE_CACHE", "XDG_CACHE_HOME", ".cache"),
    "settings": (settings_folder, "LAMPHOUSE_SETTINGS", "XDG_CONFIG_HOME", ".config"),
}


@pytest.mark.parametrize("kind", FOLDERS)
@pytest.mark.parametrize("given", [None, "", "relative/path", "."])
def test_where_nothing_usable_is_said_it_is_a_folder_in_the_home(monkeypatch, tmp_path, kind, given):
    # "All paths set in these environment variables must be absolute. If an implementation encounters a
    # relative path in any of these variables it should consider the path invalid and ignore it."
    folder, own, variable, usual = FOLDERS[kind]
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv(own, "")
    monkeypatch.delenv(variable, raising=False)
    if given is not None:
        monkeypatch.setenv(variable, given)
    assert folder() == tmp_path / usual / "lamphouse"


@pytest.mark.parametrize("kind", FOLDERS)
def test_it_lies_where_it_is_told_to(monkeypatch, tmp_path, kind):
    folder, own, variable, _ = FOLDERS[kind]
    monkeypatch.setenv(variable, str(tmp_path / "mine"))
    monkeypatch.setenv(own, "")
    assert folder() == tmp_path / "mine" / "lamphouse"
    monkeypatch.setenv(own, str(tmp_path / "there"))
    assert folder() == Path(tmp_path / "there")
