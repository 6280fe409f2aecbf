from __future__ import annotations

import os
from pathlib import Path

import pytest

from hygiene.plain_file import NotPlain, beginning_of, content_of


def test_one_byte_more_than_the_most_shows_that_there_is_more(tmp_path: Path) -> None:
    """So a file of a terabyte is known to be too large without being read."""
    (tmp_path / "a").write_bytes(b"12345")
    assert content_of(tmp_path / "a", 3) == b"1234"
    assert content_of(tmp_path / "a", 5) == b"12345"


@pytest.mark.parametrize("name", ["pipe", "folder", "to-zero"])
def test_only_a_plain_file_is_read(tmp_path: Path, name: str) -> None:
    """Neither a pipe, nor a folder, nor what points to a device."""
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    (tmp_path / "to-zero").symlink_to("/dev/zero")
    with pytest.raises(NotPlain, match="no plain file"):
        content_of(tmp_path / name, 9)
    with pytest.raises(NotPlain):
        beginning_of(tmp_path / name, 9)


def test_nothing_begins_where_nothing_is(tmp_path: Path) -> None:
    """What is not there is not written over."""
    (tmp_path / "a").write_bytes(b"abc")
    assert beginning_of(tmp_path / "gone", 2) == b""
    assert beginning_of(tmp_path / "a" / "b", 2) == b""
    assert beginning_of(tmp_path / "a", 2) == b"ab"


def test_a_name_that_no_file_can_have_is_not_there() -> None:
    """A NUL in it is an error of the name, not of ours."""
    with pytest.raises(OSError, match="no such file"):
        content_of(Path("a\0b"), 9)
