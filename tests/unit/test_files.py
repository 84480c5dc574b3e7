"""Files written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from bedplan.errors import OutputError
from bedplan.outputs.files import replace_file, write_new


def test_new_files_hold_what_they_were_given(tmp_path):
    write_new(tmp_path / "a", b"\x00one\r\n")
    assert (tmp_path / "a").read_bytes() == b"\x00one\r\n"


def test_a_file_that_exists_is_left_alone(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"old")
    with pytest.raises(OutputError, match="exists already"):
        write_new(path, b"new")
    assert path.read_bytes() == b"old"


def test_replacing_a_file(tmp_path):
    path = tmp_path / "a"
    replace_file(path, b"one")
    replace_file(path, b"two")
    assert path.read_bytes() == b"two"
    assert [each.name for each in tmp_path.iterdir()] == ["a"]
    assert path.stat().st_mode & 0o777 == 0o644


@pytest.mark.parametrize("write", [write_new, replace_file])
@pytest.mark.parametrize("target", ["missing/a", "file/a"])
def test_where_nothing_can_be_written(tmp_path, write, target):
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="cannot be written"):
        write(tmp_path / target, b"x")
    assert [each.name for each in tmp_path.iterdir()] == ["file"]


def test_a_folder_is_not_replaced(tmp_path):
    (tmp_path / "a").mkdir()
    with pytest.raises(OutputError):
        replace_file(tmp_path / "a", b"x")
    assert [each.name for each in tmp_path.iterdir()] == ["a"]


@pytest.mark.parametrize("fails", ["write", "replace"])
def test_an_old_file_outlives_a_failed_write(tmp_path, monkeypatch, fails):
    path = tmp_path / "a"
    path.write_bytes(b"old")

    def full(*_):
        raise OSError(28, "No space left on device")

    if fails == "write":

        class Full:
            def __init__(self, handle):
                self.handle = handle

            def __enter__(self):
                return self

            def __exit__(self, *_):
                os.close(self.handle)

            write = full

        monkeypatch.setattr(os, "fdopen", lambda handle, _mode: Full(handle))
    else:
        monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputError, match="No space left"):
        replace_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert [each.name for each in tmp_path.iterdir()] == ["a"]
