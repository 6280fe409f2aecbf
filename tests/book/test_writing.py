"""Writing a record: all of it or nothing, never over what stands."""

from __future__ import annotations

import os
import sqlite3
from datetime import datetime, timedelta

import pytest
import sqlite_utils
from shed import MONDAY, Shed, rat

from hygiene.book.record import CannotUse, Record
from hygiene.book.writing import (
    LARGEST_FILE_BYTES,
    PLACE_LETTERS,
    AlreadyThere,
    FileTooLarge,
    StandsLater,
    _new_name,
)
from hygiene.errors import NoRecord, WronglyPut
from hygiene.kinds.book import Opening, Strike
from hygiene.kinds.entry import Unwritable, check_line
from hygiene.kinds.find import Hold, Mould, Pest

# creating


def test_a_new_record_holds_its_opening_and_verifies(shed: Shed):
    """One book, one line, nothing wrong, nothing left beside it."""
    assert shed.head().seq == 1
    assert not shed.faults()
    assert {"farm.db", "keys"} == {path.name for path in shed.path.parent.iterdir()}


def test_a_new_record_is_for_its_owner_only(shed: Shed):
    """It holds names and telephone numbers."""
    assert shed.path.stat().st_mode & 0o077 == 0


def test_a_record_never_takes_the_place_of_a_file(shed: Shed):
    """Whatever stands there stays as it is."""
    before = shed.path.read_bytes()
    with pytest.raises(AlreadyThere):
        Shed.create(shed.path.parent)
    assert before == shed.path.read_bytes()


def test_a_record_that_appeared_meanwhile_stays(shed: Shed, monkeypatch):
    """Two set-ups at once: the second finds the place taken at the last step too."""
    before = shed.path.read_bytes()
    monkeypatch.setattr("pathlib.Path.exists", lambda path: False)
    with pytest.raises(AlreadyThere):
        Shed.create(shed.path.parent)
    assert before == shed.path.read_bytes()
    assert {"farm.db", "keys"} == {path.name for path in shed.path.parent.iterdir()}


def test_a_record_is_made_where_files_cannot_be_linked(tmp_path, monkeypatch):
    """A memory stick's file system has no links."""

    def no_links(*_: object) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "link", no_links)
    assert not Shed.create(tmp_path).faults()


def test_no_two_books_share_the_first_two_characters():
    """Minted codes bear them, and number from one in each book."""
    pairs = {"shed-" + a + b + "22" for a in "abcdefghjk" for b in PLACE_LETTERS}
    for _ in range(50):
        name = _new_name("shed", pairs)
        assert name[:7] not in {book[:7] for book in pairs}
    everything = {f"shed-{a}{b}22" for a in PLACE_LETTERS for b in PLACE_LETTERS}
    assert _new_name("shed", everything) not in everything


def test_where_no_record_can_be_made_it_says_why(tmp_path):
    """A folder that does not exist: one line, exit 7, nothing left."""
    with pytest.raises(NoRecord, match="No such file"):
        Shed.create(tmp_path / "nowhere")


# all or nothing


def test_what_was_written_is_there_when_the_file_is_opened_again(shed: Shed):
    """The commit is real: read through another connection, after closing."""
    entry, _ = shed.write(rat("bay 1"), Mould(rack="R1"))
    with shed.to_read() as record:
        assert entry == record.entry(entry.name)
    assert shed.head().seq == 3


def test_a_failing_body_leaves_nothing(shed: Shed):
    """Lines, files and mentions are rolled back together."""
    picture = shed.path.with_name("photo.jpg")
    picture.write_bytes(b"picture")
    with pytest.raises(ZeroDivisionError), shed.to_write() as record:
        _add_and_fail(record, shed, picture)
    with shed.plain() as db:
        for table, kept in (("entry", 1), ("mention", 0), ("attachment", 0)):
            ((count,),) = db.execute(f"select count(*) from {table}").fetchall()
            assert kept == count


def _add_and_fail(record: Record, shed: Shed, picture) -> None:
    with record.writing(shed.clock, shed.keys) as book:
        book.attach(picture)
        book.add(Mould(rack="R1"), by="AB")
        raise ZeroDivisionError


def test_after_a_failing_body_the_next_line_is_the_next(shed: Shed):
    """On the same open record: the number was not used up."""
    picture = shed.path.with_name("photo.jpg")
    picture.write_bytes(b"picture")
    with shed.to_write() as record:
        with pytest.raises(ZeroDivisionError):
            _add_and_fail(record, shed, picture)
        with record.writing(shed.clock, shed.keys) as book:
            assert book.add(rat("bay 1"), by="AB").seq == 2
    assert not shed.faults()


def test_a_new_book_that_fails_is_not_there(shed: Shed):
    """Its opening goes with the rest, and no key is left."""
    other = Shed(shed.path, shed.path.with_name("other"), shed.clock)
    with pytest.raises(ZeroDivisionError), other.to_write() as record:
        _add_and_fail(record, other, shed.path)
    assert len(shed.heads()) == 1
    assert not other.keys.exists()


def test_a_commit_that_fails_is_rolled_back_and_said(shed: Shed, monkeypatch):
    """A reader holds the file for longer than we wait: exit 7, nothing written."""
    monkeypatch.setattr("hygiene.book.record.WAIT_MS", 1)
    with shed.plain() as reader, shed.to_write() as record:
        rows = reader.execute("select line from entry, (select 1 union select 2)")
        assert rows.fetchone()
        with pytest.raises(CannotUse, match="another program is writing"):
            _add(record, shed)
        rows.close()
        assert record.count() == 1
        _add(record, shed)
    assert shed.head().seq == 2


def _add(record: Record, shed: Shed) -> None:
    with record.writing(shed.clock, shed.keys) as book:
        book.add(rat("bay 1"), by="AB")


def test_an_acknowledged_line_outlives_a_power_cut(shed: Shed):
    """What SQLite promises with these two settings, and no others (sqlite.org)."""
    with shed.to_write() as record, record.writing(shed.clock, shed.keys):
        assert record.db.execute("pragma synchronous").fetchone() == (3,)
        assert record.db.execute("pragma journal_mode").fetchone() == ("delete",)


def test_a_tools_wal_mode_is_undone(shed: Shed):
    """In WAL the newest lines stand in a second file, which a copy forgets."""
    with shed.plain() as db:
        db.execute("pragma journal_mode = wal")
    shed.write(rat("bay 1"))
    with shed.plain() as db:
        assert db.execute("pragma journal_mode").fetchone() == ("delete",)


def test_a_tool_that_holds_the_record_in_wal_stops_nobody(shed: Shed):
    """The line is written in WAL then."""
    with shed.plain() as db:
        db.execute("pragma journal_mode = wal")
        db.execute("select 1 from entry").fetchall()
        shed.write(rat("bay 1"))
        assert len(db.execute("select seq from entry").fetchall()) == 2
    assert not shed.faults()


# the envelope


def test_an_entry_says_who_when_and_what(shed: Shed):
    """The clock's own moment when it was recorded, the given one when it happened."""
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        entry = book.add(
            rat("bay 1"),
            by="AB",
            written_by="CD",
            happened_at=MONDAY - timedelta(hours=1),
        )
    assert (entry.by, entry.written_by) == ("AB", "CD")
    assert (
        entry.happened_at,
        entry.recorded_at,
    ) == ("2026-03-02T06:00:00+00:00", "2026-03-02T07:00:00+00:00")


def test_who_typed_it_is_said_only_where_it_was_another(shed: Shed):
    """``by`` alone, where the doer typed it."""
    (entry,) = shed.write(rat("bay 1"), written_by="AB")
    assert entry.written_by is None


def test_what_is_handed_back_is_what_stands(shed: Shed):
    """The entry as read from its line, not as it was meant."""
    (entry,) = shed.write(Pest(what="rat", place="bay e\u0301"))
    assert entry.get("place") == "bay \u00e9"
    with shed.to_read() as record:
        assert entry == record.entry(entry.name)


def test_every_line_is_as_the_door_wants_it(busy: Shed):
    """What we write, we would take in from another device."""
    for book, seq, line, _ in busy.lines():
        assert f"{book}/{seq}" == check_line(line).name


def test_a_clock_without_a_zone_writes_nothing(shed: Shed):
    """A moment without its offset is no moment."""
    shed.clock.moment = datetime(2026, 3, 2, 7, 0)
    with pytest.raises(Unwritable, match="offset"):
        shed.write(rat("bay 1"))
    assert shed.head().seq == 1


# putting right


def test_a_correction_names_the_first_entry(shed: Shed):
    """Whichever version was named."""
    (first,) = shed.write(Mould(rack="R1"))
    (second,) = shed.write(Mould(rack="R2"), corrects=first.name)
    (third,) = shed.write(Mould(rack="R3"), corrects=second.name)
    assert [first.name] * 2 == [second.corrects, third.corrects]


def test_a_correction_after_a_strike_stands_again(shed: Shed):
    """Un-struck: the line ruled through was right after all."""
    (first,) = shed.write(Mould(rack="R1"))
    shed.write(Strike(struck="mould"), corrects=first.name)
    (again,) = shed.write(Mould(rack="R1"), corrects=first.name)
    with shed.to_read() as record:
        assert [again] == record.entries(["mould"])
        assert record.entries(["strike"]) == []


@pytest.mark.parametrize("thing", [rat("bay 1"), Strike(struck="pest")])
def test_a_correction_is_of_the_same_kind(shed: Shed, thing):
    """A mould is not put right by a pest, nor struck as one."""
    (first,) = shed.write(Mould(rack="R1"))
    with pytest.raises(WronglyPut, match="is a mould"):
        shed.write(thing, corrects=first.name)


def test_a_books_opening_is_never_corrected(shed: Shed):
    """It says which record this is, for ever."""
    with pytest.raises(WronglyPut, match="never corrected"):
        shed.write(Opening(record="x", why="y"), corrects=shed.name(1))
    with pytest.raises(WronglyPut):
        Strike(struck="opening")


def test_the_first_correction_stands_whatever_the_clock_says(shed: Shed):
    """The clock was put back by a day: the first entry loses all the same."""
    (first,) = shed.write(Mould(rack="R1"))
    shed.clock.on(days=-1)
    (second,) = shed.write(Mould(rack="R2"), corrects=first.name)
    with shed.to_read() as record:
        assert [second] == record.entries(["mould"])


def test_a_correction_that_would_not_stand_is_refused(shed: Shed):
    """A second one, by a clock that is behind: it says so, exit 5."""
    (first,) = shed.write(Mould(rack="R1"))
    shed.write(Mould(rack="R2"), corrects=first.name)
    shed.clock.on(days=-1)
    with pytest.raises(StandsLater, match="later than this device's clock"):
        shed.write(Mould(rack="R3"), corrects=first.name)


# the same act again


def again(shed: Shed, thing, **said):
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        return book.same(thing, **{"by": "AB", "happened_at": None, **said})


def test_a_retry_finds_what_was_recorded(shed: Shed):
    """The same kind, body, person and moment, however much later it is tried."""
    (entry,) = shed.write(rat("bay 1"), happened_at=MONDAY)
    shed.clock.on(days=3)
    assert entry == again(shed, rat("bay 1"), happened_at=MONDAY)


def test_a_retry_without_a_time_is_one_within_a_minute(shed: Shed):
    """Also across the full minute; a second rat an hour later is another rat."""
    shed.clock.moment = MONDAY + timedelta(seconds=58)
    (entry,) = shed.write(rat("bay 1"))
    shed.clock.on(seconds=60)
    assert entry == again(shed, rat("bay 1"))
    shed.clock.on(seconds=1)
    assert again(shed, rat("bay 1")) is None


@pytest.mark.parametrize(
    ("thing", "said"),
    [
        (rat("bay 2"), {}),
        (rat("bay 1"), {"by": "CD"}),
        (rat("bay 1"), {"happened_at": MONDAY + timedelta(seconds=1)}),
        (Pest(what="rat", place="bay 1", count=1), {}),
    ],
)
def test_another_act_is_no_retry(shed: Shed, thing, said):
    """Another body, person or moment is another act."""
    shed.write(rat("bay 1"), happened_at=MONDAY)
    assert again(shed, thing, **{"happened_at": MONDAY, **said}) is None


def test_a_struck_entry_may_be_written_again(shed: Shed):
    """What was ruled through does not stand, so it is not recorded already."""
    (entry,) = shed.write(rat("bay 1"), happened_at=MONDAY)
    shed.write(Strike(struck="pest"), corrects=entry.name)
    assert again(shed, rat("bay 1"), happened_at=MONDAY) is None


def test_the_accents_of_another_keyboard_are_the_same(shed: Shed):
    """Composed or not, as each system types it."""
    (entry,) = shed.write(rat("bay \u00e9"), by="\u00c9A", happened_at=MONDAY)
    same = again(shed, rat("bay e\u0301"), by="E\u0301A", happened_at=MONDAY)
    assert entry == same


def test_striking_two_entries_is_two_acts(shed: Shed):
    """A strike's body says only the kind: the matter tells two of them apart."""
    one, two = shed.write(rat("bay 1"), rat("bay 2"))
    (strike,) = shed.write(Strike(struck="pest"), corrects=one.name)
    assert strike == again(shed, Strike(struck="pest"), corrects=one.name)
    assert again(shed, Strike(struck="pest"), corrects=two.name) is None


# files


def test_a_file_is_stored_once(shed: Shed):
    """The same photo twice is one file, under one hash."""
    picture = shed.path.with_name("photo.jpg")
    picture.write_bytes(b"picture")
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        assert book.attach(picture) == book.attach(picture)
    with shed.plain() as db:
        assert db.execute("select count(*) from attachment").fetchall() == [(1,)]


def test_a_file_over_ten_megabytes_is_refused(shed: Shed):
    """And one of just that size is taken."""
    large = shed.path.with_name("large.mov")
    with large.open("wb") as file:
        file.truncate(LARGEST_FILE_BYTES + 1)
    with (
        pytest.raises(FileTooLarge),
        shed.to_write() as record,
        record.writing(shed.clock, shed.keys) as book,
    ):
        book.attach(large)
    os.truncate(large, LARGEST_FILE_BYTES)
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        assert len(book.attach(large)) == 64


def test_a_file_that_cannot_be_read_is_said(shed: Shed):
    """Exit 2, with the system's own reason."""
    with (
        pytest.raises(WronglyPut, match="No such file"),
        shed.to_write() as record,
        record.writing(shed.clock, shed.keys) as book,
    ):
        book.attach(shed.path.with_name("none.jpg"))


# what other tools are refused

CHANGES = [
    "update entry set line = line",
    "update entry set hash = 'x' where seq = 1",
    "update or replace entry set seq = 2 where seq = 1",
    "delete from entry",
    "delete from entry where seq = 3",
    "insert or replace into entry(book, seq, line, hash) "
    "select book, seq, line, hash from entry where seq = 1",
    "insert or ignore into entry(book, seq, line, hash) "
    "select book, seq + 100, line, hash from entry where seq = 1",
    "insert into entry(book, seq, line, hash) "
    "select book, seq, line, hash from entry where seq = 1 "
    "on conflict(book, seq) do update set line = 'x'",
    "insert into entry(book, seq, line, hash) "
    "select book, seq, line, hash from entry where seq = 1 on conflict do nothing",
    "replace into entry(book, seq, line, hash) "
    "select book, seq, line, hash from entry where seq = 10",
    "update attachment set bytes = x'00'",
    "delete from attachment",
    "insert or replace into attachment select sha256, x'00' from attachment",
]


@pytest.mark.parametrize("change", CHANGES)
def test_a_plain_connection_cannot_change_a_line(busy: Shed, change):
    """The triggers refuse it, with nothing of ours switched on."""
    before = busy.lines()
    with busy.plain() as db, pytest.raises(sqlite3.IntegrityError):
        db.execute(change)
    assert before == busy.lines()
    assert not busy.faults()


ODD_LINES = [
    ("{}", "an empty line"),
    ('{"seq":11,"kind":"x","happened_at":WHEN,"recorded_at":WHEN}', "no book"),
    ('{"book":"BOOK","kind":"x","happened_at":WHEN,"recorded_at":WHEN}', "no number"),
    ('{"book":"BOOK","seq":11,"happened_at":WHEN,"recorded_at":WHEN}', "no kind"),
    ('{"book":"BOOK","seq":11,"kind":"x","recorded_at":WHEN}', "no moment"),
    ('{"book":"BOOK","seq":11,"kind":"x","happened_at":WHEN}', "not recorded"),
    ('{"book":"BOOK","seq":12,"kind":"x","happened_at":WHEN,"recorded_at":WHEN}', "12"),
    ('{"book":"x","seq":11,"kind":"x","happened_at":WHEN,"recorded_at":WHEN}', "of x"),
    ('{"book":"BOOK","seq":11,"kind":"x","happened_at":"soon","recorded_at":WHEN}', ""),
    ("not JSON", "not JSON"),
]


@pytest.mark.parametrize("odd", [line for line, _ in ODD_LINES])
def test_a_line_must_say_its_own_book_number_kind_and_moments(busy: Shed, odd):
    """The table's own checks, for whoever inserts."""
    book = busy.head().book
    line = odd.replace("BOOK", book).replace("WHEN", '"2026-03-02T07:00:00+00:00"')
    with busy.plain() as db, pytest.raises(sqlite3.Error):
        db.execute(
            "insert into entry(book, seq, line, hash) values (?, 11, ?, ?)",
            (book, line, "0" * 64),
        )


@pytest.mark.parametrize("bad", ["", "0" * 63, "0" * 65, "G" * 64, "A" * 64, "é" * 64])
def test_a_hash_has_64_hex_digits(busy: Shed, bad):
    """Lower-case hex and nothing else."""
    book = busy.head().book
    _, _, line, _ = busy.lines()[-1]
    with busy.plain() as db, pytest.raises(sqlite3.IntegrityError):
        db.execute(
            "insert into entry(book, seq, line, hash) values (?, 11, ?, ?)",
            (book, line.replace('"seq":10', '"seq":11'), bad),
        )


@pytest.mark.parametrize(
    "change",
    [
        lambda rows, row: rows.insert(row),
        lambda rows, row: rows.insert(row, replace=True),
        lambda rows, row: rows.upsert(row, pk=("book", "seq")),
        lambda rows, row: rows.update((row["book"], row["seq"]), {"hash": "0" * 64}),
        lambda rows, row: rows.delete((row["book"], row["seq"])),
        lambda rows, row: rows.delete_where("seq = 2"),
    ],
)
def test_sqlite_utils_cannot_change_a_line(busy: Shed, change):
    """The library by which a keen user would try."""
    book, seq, line, kept = busy.lines()[4]
    row = {"book": book, "seq": seq, "line": line, "hash": kept}
    before = busy.lines()
    db = sqlite_utils.Database(busy.path)
    with pytest.raises(sqlite3.IntegrityError):
        change(db["entry"], row)
    db.close()
    assert before == busy.lines()
    assert not busy.faults()


def test_a_hold_is_seen_at_once_by_who_writes_next(shed: Shed):
    """Rules are checked under the lock, on what stands, own lines included."""
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        hold = book.add(Hold(held="B-1", sort="batch", why="mould"), by="AB")
        assert [hold] == record.mentioning("B-1")
