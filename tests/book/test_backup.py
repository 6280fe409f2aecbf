"""A copy is verified before it bears its name, and older ones go only after that."""

from __future__ import annotations

import sqlite3
from hashlib import sha256
from pathlib import Path

import pytest
from no_room import no_room
from shed import Shed, rat

from hygiene.book.backup import (
    Copy,
    NoFolder,
    NotVerified,
    back_up,
    heads_beside,
    text_beside,
)
from hygiene.book.record import CannotUse
from hygiene.errors import Damaged


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


def copied(shed: Shed, folder: Path, keep: int = 14) -> Copy:
    shed.clock.on(minutes=1)
    with shed.to_read() as record:
        return back_up(record, folder, shed.clock(), keep)


def of(shed: Shed, path: Path) -> Shed:
    return Shed(path, shed.keys, shed.clock)


def copies(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*.db"))


def test_a_copy_has_every_line_and_file_and_verifies(busy: Shed, stick: Path):
    """The same lines with the same hashes, up to the head that is told."""
    made = copied(busy, stick)
    there = of(busy, made.path)
    assert there.lines() == busy.lines()
    assert there.faults(*made.heads) == []
    assert made.heads == busy.heads()


def test_it_is_dated_by_the_clock_that_is_given(shed: Shed, stick: Path):
    """The record's name, the day and the time, so that names sort by age."""
    assert copied(shed, stick).path.name == "farm-2026-03-02-070100.db"


def test_two_of_one_second_have_two_names(shed: Shed, stick: Path):
    """Nothing that is there is written over."""
    with shed.to_read() as record:
        made = [back_up(record, stick, shed.clock(), 9).path for _ in range(2)]
    assert [path.name[-9:] for path in made] == ["070000.db", "0000-2.db"]
    assert copies(stick) == sorted(path.name for path in made)


def test_its_text_tells_the_heads_and_the_sum_of_its_bytes(busy: Shed, stick: Path):
    """As sha256sum -c and hygiene verify --head read them."""
    made = copied(busy, stick)
    digest = sha256(made.path.read_bytes()).hexdigest()
    text = text_beside(made.path).read_text("utf-8").splitlines()
    assert f"{digest}  {made.path.name}" in text
    assert f"head {busy.head()}" in text
    assert heads_beside(made.path) == (busy.head(),)


def test_copy_and_text_are_for_their_owner_only(shed: Shed, stick: Path):
    """A record names people, and who was ill."""
    made = copied(shed, stick)
    for path in (made.path, text_beside(made.path)):
        assert path.stat().st_mode & 0o077 == 0


def test_nothing_else_is_left_beside(busy: Shed, stick: Path):
    """No journal, no half file."""
    made = copied(busy, stick)
    assert set(stick.iterdir()) == {made.path, text_beside(made.path)}


def test_so_many_are_kept_the_newest_ones(shed: Shed, stick: Path):
    """The older ones go, their texts with them."""
    made = [copied(shed, stick, keep=2) for _ in range(4)]
    assert copies(stick) == [copy.path.name for copy in made[2:]]
    assert made[-1].removed == (made[1].path,)
    assert len(list(stick.iterdir())) == 4


def test_an_older_copy_that_holds_more_is_never_removed(
    shed: Shed, stick: Path, tmp_path: Path
):
    """Another device's copy, or one of a record that was lost since."""
    other = of(shed, tmp_path / "other.db")
    other.path.write_bytes(shed.path.read_bytes())
    shed.write(rat("only here"))
    fuller = copied(shed, stick, keep=1)
    other.path.rename(shed.path)
    for _ in range(3):
        copied(shed, stick, keep=1)
    assert fuller.path.name in copies(stick)
    assert len(copies(stick)) == 2


def test_other_files_of_the_folder_are_left_alone(shed: Shed, stick: Path):
    """A name like ours whose content is no record, and names unlike ours."""
    names = ("farm-2020-01-01-000000.db", "farm-notes.db", "photo.jpg")
    for name in names:
        (stick / name).write_text("not ours")
    for _ in range(3):
        copied(shed, stick, keep=1)
    assert all((stick / name).read_text() == "not ours" for name in names)


def test_a_full_disk_leaves_the_older_copy_and_no_half_one(busy: Shed, stick: Path):
    """One line, exit code 7."""
    older = copied(busy, stick, keep=1)
    with no_room(40_000), pytest.raises(CannotUse) as refused:
        copied(busy, stick, keep=1)
    assert refused.value.exit_code == 7
    assert "farm-2026" in str(refused.value)
    assert set(stick.iterdir()) == {older.path, text_beside(older.path)}
    assert of(busy, older.path).faults() == []


@pytest.mark.parametrize("name", ["none", "file"])
def test_a_stick_that_is_not_there_is_never_made(shed: Shed, stick: Path, name: str):
    """A folder in its place would be on this device's own disk."""
    (stick / "file").touch()
    with pytest.raises(NoFolder) as refused:
        copied(shed, stick / name)
    assert refused.value.exit_code == 7
    assert not (stick / "none").exists()


def test_a_folder_that_cannot_be_written_is_said(shed: Shed):
    """Where nobody may make a file, not even root."""
    with pytest.raises(CannotUse) as refused:
        copied(shed, Path("/proc"))
    assert refused.value.exit_code == 7


def test_a_damaged_record_is_not_copied_over_good_copies(busy: Shed, stick: Path):
    """It does not verify: exit 6, and the older copy stays."""
    older = copied(busy, stick, keep=1)
    with busy.behind_its_back() as db:
        db.execute("update entry set line = replace(line, 'R2', 'R9') where seq = 4")
    with pytest.raises(NotVerified, match=f"{busy.name(4)}: ") as refused:
        copied(busy, stick, keep=1)
    assert refused.value.exit_code == 6
    assert copies(stick) == [older.path.name]


def test_a_record_with_a_damaged_page_is_not_copied(busy: Shed, stick: Path):
    """Whether SQLite or we notice it first."""
    content = bytearray(busy.path.read_bytes())
    content[-4096 * 6 : -4096 * 2] = b"\xee" * 4096 * 4
    busy.path.write_bytes(content)
    with pytest.raises(Damaged):
        copied(busy, stick)
    assert list(stick.iterdir()) == []


def test_a_record_that_is_being_written_is_copied_as_it_was(shed: Shed, stick: Path):
    """The online backup reads beside a writer that holds the lock."""
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        book.add(rat("half way"), by="AB")
        made = copied(shed, stick)
    assert made.heads[0].seq == 1
    assert shed.heads()[0].seq == 2


def test_a_record_in_another_tools_mode_is_copied_whole(busy: Shed, stick: Path):
    """Of a WAL file the last lines lie beside it; the copy has them, and no WAL."""
    with busy.plain() as db:
        db.execute("pragma journal_mode = wal")
        made = copied(busy, stick)
    assert of(busy, made.path).lines() == busy.lines()
    with sqlite3.connect(made.path) as db:
        assert db.execute("pragma journal_mode").fetchone() == ("delete",)


def test_what_a_crash_left_is_swept_away_once_it_is_old(shed: Shed, stick: Path):
    """A half copy of an hour ago; not one that is being made just now."""
    import os

    old = stick / ".farm-2026-03-01-070000.db.0123abcd"
    new = stick / ".farm-2026-03-01-080000.db.0123abcd"
    for path in (old, new):
        path.write_text("half")
    os.utime(old, (0, 0))
    copied(shed, stick)
    assert not old.exists()
    assert new.exists()
