"""A copy comes back only where it verifies and nothing is lost by it."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from no_room import no_room
from shed import Shed, rat

from hygiene.book.backup import NotVerified, back_up, text_beside
from hygiene.book.record import CannotUse, NoSuchRecord, Record
from hygiene.book.restore import HasMore, OtherFarm, Restored, SameFile, restore


@pytest.fixture
def copy(busy: Shed, tmp_path: Path) -> Path:
    """A copy of the busy record."""
    (tmp_path / "stick").mkdir()
    with busy.to_read() as record:
        return back_up(record, tmp_path / "stick", busy.clock(), 9).path


def back(copy: Path, shed: Shed) -> Restored:
    return restore(copy, shed.path, shed.clock())


def files(shed: Shed) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in shed.path.parent.iterdir() if p.is_file()}


def older(shed: Shed, copy: Path) -> None:
    """The record as it was before its last lines, as if it had been lost in part."""
    shed.path.write_bytes(copy.read_bytes())


def test_a_lost_record_comes_back_whole(busy: Shed, copy: Path):
    """Every line, for its owner only."""
    before = busy.lines()
    busy.path.unlink()
    done = back(copy, busy)
    assert busy.lines() == before
    assert busy.faults(*done.heads) == []
    assert done.aside is None
    assert busy.path.stat().st_mode & 0o077 == 0


def test_the_next_line_opens_a_new_book(busy: Shed, copy: Path):
    """The key is ahead of what came back: the old book may go on elsewhere."""
    busy.write(rat("lost"))
    first = busy.head().book
    busy.path.unlink()
    back(copy, busy)
    (entry,) = busy.write(rat("after"))
    assert entry.book != first
    assert busy.faults() == []


def test_a_record_that_has_more_is_never_replaced(busy: Shed, copy: Path):
    """Exit code 5, naming the first line, and nothing is touched."""
    (more,) = busy.write(rat("only here"))
    before = files(busy)
    with pytest.raises(HasMore, match=more.name) as refused:
        back(copy, busy)
    assert refused.value.exit_code == 5
    assert files(busy) == before


def test_a_record_that_was_written_on_otherwise_is_never_replaced(
    busy: Shed, copy: Path, tmp_path: Path
):
    """A fork: both have a line 11, and they differ."""
    there = Shed(tmp_path / "there.db", tmp_path / "their keys", busy.clock)
    there.path.write_bytes(copy.read_bytes())
    there.keys.mkdir()
    for key in busy.keys.iterdir():
        (there.keys / key.name).write_bytes(key.read_bytes())
    there.write(rat("there"), rat("and there"))
    (here,) = busy.write(rat("here"))
    with pytest.raises(HasMore, match=here.name):
        back(there.path, busy)


def test_a_record_that_has_less_is_moved_aside_and_dated(busy: Shed, tmp_path: Path):
    """It is never removed; what came back has all of it."""
    less = busy.path.read_bytes()
    busy.write(rat("one more"))
    copy = tmp_path / "copy.db"
    copy.write_bytes(busy.path.read_bytes())
    busy.path.write_bytes(less)
    done = back(copy, busy)
    assert done.aside == tmp_path / f"farm-replaced-{busy.clock():%Y-%m-%d-%H%M%S}.db"
    assert done.aside.read_bytes() == less
    assert busy.heads()[0].seq == 11


def test_a_record_that_has_all_of_it_is_left_alone(busy: Shed, copy: Path):
    """Nothing to do is done."""
    before = files(busy)
    assert back(copy, busy).same
    assert files(busy) == before


def test_a_damaged_record_is_moved_aside_and_what_it_had_more_is_told(
    busy: Shed, copy: Path
):
    """What cannot be trusted does not stand in the way; its file is kept."""
    busy.write(rat("only here"))
    with busy.behind_its_back() as db:
        db.execute("update entry set line = replace(line, 'R2', 'R9') where seq = 4")
    done = back(copy, busy)
    assert [head.seq for head in done.damaged] == [11]
    assert done.aside is not None
    assert busy.faults() == []


@pytest.mark.parametrize("content", [b"", b"no database at all" * 400])
def test_what_is_no_record_any_more_is_moved_aside(
    busy: Shed, copy: Path, content: bytes
):
    """An empty file, or one whose first page is gone."""
    busy.path.write_bytes(content)
    done = back(copy, busy)
    assert done.aside is not None
    assert done.aside.read_bytes() == content
    assert busy.faults() == []


def test_the_old_files_journal_never_meets_the_new_file(busy: Shed, copy: Path):
    """SQLite would roll it back into what came back."""
    busy.path.write_bytes(b"gone" * 2000)
    journal = busy.path.with_name("farm.db-journal")
    journal.write_bytes(b"of the old one")
    back(copy, busy)
    assert not journal.exists()
    assert busy.faults() == []


def test_a_copy_that_does_not_verify_is_refused(busy: Shed, copy: Path):
    """Exit code 6, and the record stays."""
    bad = Shed(copy, busy.keys, busy.clock)
    with bad.behind_its_back() as db:
        db.execute("update entry set line = replace(line, 'R2', 'R9') where seq = 4")
    before = files(busy)
    with pytest.raises(NotVerified, match="/4: the line is not what was") as refused:
        back(copy, busy)
    assert refused.value.exit_code == 6
    assert files(busy) == before


def test_a_copy_whose_tail_was_cut_is_refused(busy: Shed, copy: Path):
    """The chain alone would not see it; the heads beside the copy do."""
    bad = Shed(copy, busy.keys, busy.clock)
    with bad.behind_its_back() as db:
        db.execute("delete from entry where seq = 10")
        db.execute("delete from mention where seq = 10")
    busy.path.unlink()
    with pytest.raises(NotVerified, match="/10: was there when the head"):
        back(copy, busy)
    text_beside(copy).unlink()
    back(copy, busy)
    assert busy.heads()[0].seq == 9


def test_another_farms_record_is_never_replaced(busy: Shed, copy: Path, tmp_path: Path):
    """Nor a record taken back from another farm's copy."""
    (tmp_path / "else").mkdir()
    other = Shed.create(tmp_path / "else")
    with pytest.raises(OtherFarm) as refused:
        back(copy, other)
    assert refused.value.exit_code == 5


def test_the_record_is_no_copy_of_itself(busy: Shed):
    """Nor by another name of the same file."""
    with pytest.raises(SameFile):
        back(busy.path, busy)


def test_a_copy_that_is_not_there(busy: Shed, tmp_path: Path):
    """Exit code 7."""
    with pytest.raises(NoSuchRecord):
        back(tmp_path / "none.db", busy)


def test_a_full_disk_leaves_the_record_as_it_was(busy: Shed, copy: Path):
    """And no half file beside it."""
    with busy.plain() as db:
        db.execute("vacuum")
    less = files(busy)
    with no_room(40_000), pytest.raises(CannotUse) as refused:
        back(copy, busy)
    assert refused.value.exit_code == 7
    assert files(busy) == less


def test_a_writer_that_waits_does_not_write_into_the_old_file(
    busy: Shed, tmp_path: Path
):
    """Its file was moved under it: SQLite refuses, and nothing is acknowledged."""
    less = busy.path.read_bytes()
    busy.write(rat("one more"))
    copy = tmp_path / "copy.db"
    copy.write_bytes(busy.path.read_bytes())
    busy.path.write_bytes(less)
    with Record.open(busy.path, to_write=True) as waiting:
        back(copy, busy)
        with (
            pytest.raises(CannotUse),
            waiting.writing(busy.clock, busy.keys) as writing,
        ):
            writing.add(rat("too late"), by="AB")
    assert busy.heads()[0].seq == 11


def test_a_record_that_is_locked_is_not_replaced(
    busy: Shed, copy: Path, monkeypatch: pytest.MonkeyPatch
):
    """Another command is writing: exit code 7, once it has waited long enough."""
    monkeypatch.setattr("hygiene.book.record.WAIT_MS", 1)
    with sqlite3.connect(busy.path, isolation_level=None) as db:
        db.execute("begin immediate")
        with pytest.raises(CannotUse, match="locked"):
            back(copy, busy)
        db.execute("rollback")
