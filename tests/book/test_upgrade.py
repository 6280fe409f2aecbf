"""A record of an earlier version of the layout: read as it is, brought up to write."""

from __future__ import annotations

from pathlib import Path

import pytest
from no_room import no_room
from shed import Shed, rat

from hygiene.book.backup import NotVerified, text_beside
from hygiene.book.record import VERSION
from hygiene.book.upgrade import bring_up
from hygiene.errors import NoRecord


def make_older(shed: Shed) -> None:
    """As an earlier program might have left it: fewer kinds, another trigger."""
    with shed.plain() as db:
        db.execute("pragma user_version = 0")
        db.execute("drop view mould_trays")
        db.execute("drop view pest")
        db.execute("create view pest as select seq from entry where kind = 'pest'")
        db.execute("create view once as select 1 as one")
        db.execute("create index entry_by_time on entry(happened)")
        db.execute("drop trigger entry_mentions")
        db.execute(
            "create trigger entry_mentions after insert on entry begin select 1; end"
        )
        db.execute("delete from mention where code glob 'T*'")


def version(shed: Shed) -> int:
    with shed.to_read() as record:
        return record.version()


def test_an_older_record_is_read_as_it_is(busy: Shed):
    """A reader changes nothing and misses nothing that was written."""
    with busy.to_read() as record:
        before = record.entries(["mould", "pest", "hold"])
    make_older(busy)
    with busy.to_read() as record:
        assert record.entries(["mould", "pest", "hold"]) == before
        assert [entry.kind for entry in record.mentioning("B-1")] == ["hold", "mould"]
        assert len(record.history(busy.name(2))) == 2
    assert version(busy) == 0


def test_an_older_record_is_brought_up_when_it_is_opened_to_write(busy: Shed):
    """Views, triggers, indexes and mentions as a new record has them."""
    make_older(busy)
    busy.to_write().close()
    assert version(busy) == VERSION
    assert busy.faults() == []


def test_entries_never_change(busy: Shed):
    """Not a byte of a line, not a hash, not a key: the same book goes on."""
    before = busy.lines()
    make_older(busy)
    (entry,) = busy.write(rat("bay 9"))
    assert busy.lines()[:-1] == before
    assert entry.name == busy.name(11)


def test_verify_says_that_a_layout_is_an_earlier_one(busy: Shed):
    """Neither altered nor good: bring it up, and verify again."""
    make_older(busy)
    (fault,) = [fault for fault in busy.faults() if fault.where == "layout"]
    assert "earlier version" in fault.what


def test_it_is_done_whole_or_not_at_all(busy: Shed):
    """A table of somebody's stands where a view must come: all stays as it was."""
    make_older(busy)
    with busy.plain() as db:
        db.execute("create table mould_trays(x)")
        before = db.execute("select * from sqlite_master").fetchall()
    with pytest.raises(NoRecord, match="mould_trays"):
        busy.to_write()
    assert version(busy) == 0
    with busy.plain() as db:
        assert db.execute("select * from sqlite_master").fetchall() == before


def test_a_table_that_an_earlier_version_lacked_is_made(busy: Shed):
    """Only entries and mentions must be there."""
    make_older(busy)
    with busy.plain() as db:
        db.execute("drop table attachment")
    busy.to_write().close()
    assert busy.faults() == []


def test_two_commands_that_bring_it_up_do_it_once(busy: Shed):
    """The second waits for the lock, and then finds nothing to do."""
    make_older(busy)
    with busy.to_write() as record:
        before = busy.path.read_bytes()
        bring_up(record)
    assert busy.path.read_bytes() == before


def test_a_record_of_this_version_is_left_alone(busy: Shed):
    """Opening one to write changes no byte of the file."""
    before = busy.path.read_bytes()
    busy.to_write().close()
    assert busy.path.read_bytes() == before


def kept_beside(shed: Shed) -> list[Path]:
    return sorted(shed.path.parent.glob("farm-before-*.db"))


def test_a_verified_copy_is_kept_beside_first(busy: Shed):
    """As it was, for its owner only, with its heads in a text."""
    make_older(busy)
    before = busy.lines()
    busy.to_write().close()
    (copy,) = kept_beside(busy)
    old = Shed(copy, busy.keys)
    assert copy.name == f"farm-before-version-{VERSION}.db"
    assert version(old) == 0
    assert old.lines() == before
    assert text_beside(copy).exists()
    assert copy.stat().st_mode & 0o077 == 0


def test_a_reader_makes_no_copy(busy: Shed):
    """It changes nothing, so it needs none."""
    make_older(busy)
    busy.to_read().close()
    assert kept_beside(busy) == []


def test_without_room_for_a_copy_nothing_is_upgraded(busy: Shed):
    """Exit code 7, and the record stays as it was."""
    make_older(busy)
    before = busy.path.read_bytes()
    with no_room(40_000), pytest.raises(NoRecord):
        busy.to_write()
    assert busy.path.read_bytes() == before
    assert kept_beside(busy) == []


def test_a_damaged_older_record_is_not_upgraded(busy: Shed):
    """What is wrong comes first; a copy that does not verify is none."""
    make_older(busy)
    with busy.behind_its_back() as db:
        db.execute("update entry set line = replace(line, 'R2', 'R9') where seq = 4")
    with pytest.raises(NotVerified):
        busy.to_write()
    assert version(busy) == 0


def test_a_table_that_was_altered_is_not_made_good_by_it(busy: Shed):
    """A step changes what it is about; verify still names the rest."""
    with busy.plain() as db:
        db.execute("pragma user_version = 1")
        db.execute("pragma writable_schema = on")
        db.execute(
            "update sqlite_master set sql = replace(replace(sql, "
            "'check (length(hash) = 64', 'check (length(hash) > 3'), "
            "'kind any gen', 'kind text gen') where name = 'entry'"
        )
    busy.to_write().close()
    assert version(busy) == VERSION
    assert busy.where() == ["table entry"]
