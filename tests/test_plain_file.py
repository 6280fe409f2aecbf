from __future__ import annotations

import os
from pathlib import Path

import pytest

from hygiene.plain_file import (
    NotPlain,
    beginning_of,
    content_of,
    replaceable,
    written_whole,
)


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


def test_only_what_is_accepted_is_replaced(tmp_path: Path) -> None:
    """Nothing there, or a plain file that begins as it should; no folder, no pipe."""
    page, other = tmp_path / "page.pdf", tmp_path / "farm.db"
    page.write_bytes(b"%PDF-1.7")
    other.write_bytes(b"SQLite format 3")
    accepts = [
        replaceable(path, lambda begins: begins.startswith(b"%PDF-"))
        for path in (page, tmp_path / "new.pdf", other, tmp_path)
    ]
    assert accepts == [True, True, False, False]


def _stopped_halfway(path: Path) -> None:
    with written_whole(path) as waiting:
        waiting.write_bytes(b"half")
        raise KeyboardInterrupt


def test_what_was_there_stays_where_writing_fails(tmp_path: Path) -> None:
    """And nothing is left beside it."""
    path = tmp_path / "day.pdf"
    path.write_bytes(b"old")
    with pytest.raises(KeyboardInterrupt):
        _stopped_halfway(path)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_what_is_written_whole_takes_the_name(tmp_path: Path) -> None:
    """In one step."""
    path = tmp_path / "day.pdf"
    with written_whole(path) as waiting:
        waiting.write_bytes(b"new")
        assert not path.exists()
    assert path.read_bytes() == b"new"
