"""Opening and reading a record: what is there, and what is said when it cannot be."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import datetime, timedelta, timezone

import pytest
from shed import MONDAY, Shed, rat

from hygiene.book.record import (
    AFolder,
    CannotUse,
    Head,
    Newer,
    NoSuchRecord,
    NotOurs,
    Record,
    UnknownEntry,
    Unreadable,
)
from hygiene.errors import Damaged, NoRecord
from hygiene.kinds.book import Strike
from hygiene.kinds.find import Hold, Mould


def named(entries) -> list[int]:
    return [entry.seq for entry in entries]


# opening


def test_no_file_is_no_record(tmp_path):
    """It says how to set one up."""
    with pytest.raises(NoSuchRecord) as said:
        Record.open(tmp_path / "none.db")
    assert "hygiene set-up" in said.value.way_out


def test_a_folder_is_no_record(tmp_path):
    """A folder of that name is not taken for a file."""
    with pytest.raises(AFolder):
        Record.open(tmp_path)


@pytest.mark.parametrize(
    "content", [b"", b"x" * 5000, b"SQLite format 3\0" + b"x" * 90]
)
def test_another_file_is_not_taken_for_a_record(tmp_path, content):
    """Empty, a text, half a header: none of it is ours."""
    path = tmp_path / "other.db"
    path.write_bytes(content)
    with pytest.raises(NotOurs):
        Record.open(path)


def test_the_database_of_another_program_is_not_ours(tmp_path):
    """A good SQLite file without our mark."""
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as db:
        db.execute("create table entry(line text)")
    with pytest.raises(NotOurs):
        Record.open(path)


def test_a_record_of_a_newer_program_is_left_alone(shed: Shed):
    """It might mean something that this program does not know."""
    with shed.plain() as db:
        db.execute("pragma user_version = 99")
    with pytest.raises(Newer, match="newer"):
        shed.to_read()
    with pytest.raises(Newer):
        shed.to_write()


def test_a_file_cut_short_is_damaged(busy: Shed):
    """Half of the pages are gone: exit 6, and where to look."""
    content = busy.path.read_bytes()
    busy.path.write_bytes(content[: len(content) // 3])
    with pytest.raises(Damaged) as said, busy.to_read() as record:
        record.entries(["mould", "pest", "hold"])
    assert "hygiene verify" in said.value.way_out


def test_a_missing_table_is_damage_not_a_busy_disk(shed: Shed):
    """A table dropped behind its back."""
    with shed.plain() as db:
        db.execute("drop table mention")
    with pytest.raises(Unreadable), shed.to_read() as record:
        record.mentioning("R1")


def test_a_reader_cannot_write(shed: Shed):
    """``query_only``: not by accident either."""
    with shed.to_read() as record, pytest.raises(sqlite3.OperationalError):
        record.db.execute("delete from mention")


@pytest.mark.parametrize("name", ["a b.db", "a?b=1.db", "a#b.db", "50%25.db", "é.db"])
def test_any_file_name_will_do(tmp_path, name):
    """A path is never mistaken for the parts of an address."""
    made = Shed(tmp_path / name, tmp_path / "keys")
    Record.create(made.path, made.clock, made.keys).close()
    assert [made.path] == [path for path in tmp_path.iterdir() if path.is_file()]
    assert not made.faults()


def test_a_locked_record_says_so(shed: Shed, monkeypatch):
    """Another program holds it for longer than we wait: exit 7."""
    monkeypatch.setattr("hygiene.book.record.WAIT_MS", 1)
    with shed.plain() as db:
        db.execute("begin exclusive")
        with pytest.raises(CannotUse, match="locked"):
            shed.to_read()


def test_whoever_must_wait_is_told_so_once(shed: Shed, monkeypatch):
    """And goes on when the other one ends; where nobody is waited for, nothing is."""
    monkeypatch.setattr("hygiene.book.record.PATIENCE_MS", 1)
    told = []
    with shed.plain() as db:

        def waits() -> None:
            told.append("waiting")
            db.execute("commit")

        db.execute("begin exclusive")
        with Record.open(shed.path, waits=waits) as record:
            assert record.count() == 1
        with Record.open(shed.path, waits=waits) as record:
            assert told == ["waiting"]


def test_a_reader_does_not_wait_for_a_writer_that_is_at_work(shed: Shed, monkeypatch):
    """Reading goes on until the very commit."""
    monkeypatch.setattr("hygiene.book.record.WAIT_MS", 1)
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        book.add(rat("bay 1"), by="AB")
        assert shed.head().seq == 1
    assert shed.head().seq == 2


def test_a_reader_leaves_no_lock_behind(shed: Shed, monkeypatch):
    """Every reading method fetches all; an open cursor would lock the writers out."""
    monkeypatch.setattr("hygiene.book.record.WAIT_MS", 1)
    (entry,) = shed.write(Mould(rack="R1"))
    with shed.to_read() as record:
        record.entries(["mould"])
        record.history(entry.name)
        record.mentioning("R1")
        record.heads()
        record.file("0" * 64)
        shed.write(rat("bay 1"))
        assert record.count() == 3


# a writer that was killed in the middle

KILLED = """
import os, signal, sqlite3, sys
db = sqlite3.connect(sys.argv[1], isolation_level=None)
db.execute("pragma cache_size = 1")   # pages go to disk before the commit
db.execute("begin immediate")
db.execute("drop trigger entry_is_never_changed")
db.execute("create table scratch(x)")
for n in range(400):
    db.execute("insert into scratch values (?)", ("x" * 2000,))
os.kill(os.getpid(), signal.SIGKILL)
"""


def test_a_reader_opens_what_a_killed_writer_left(busy: Shed):
    """A hot journal lies beside the file; the first reader rolls back, then reads."""
    before, size = busy.lines(), busy.path.stat().st_size
    done = subprocess.run([sys.executable, "-c", KILLED, busy.path], check=False)
    assert done.returncode == -signal.SIGKILL
    journal = busy.path.with_name("farm.db-journal")
    assert journal.stat().st_size > 0
    assert busy.path.stat().st_size > size
    assert not busy.faults()
    assert not journal.exists()
    assert before == busy.lines()


# reading


def test_heads_are_the_ends_of_the_books(shed: Shed):
    """One head a book, by name; the count is their sum."""
    shed.write(rat("bay 1"))
    Shed(shed.path, shed.path.with_name("other"), shed.clock).write(rat("bay 2"))
    with shed.to_read() as record:
        heads = record.heads()
        assert record.count() == 4
    assert sorted(heads) == heads
    assert [head.seq for head in heads] == [2, 2]


def test_a_head_is_printed_as_it_is_read():
    """BOOK/SEQ:HASH."""
    assert str(Head("shed-k7q2", 7, "abc")) == "shed-k7q2/7:abc"


def test_an_entry_is_found_by_its_name(busy: Shed):
    """By the name that every report prints."""
    with busy.to_read() as record:
        entry = record.entry(busy.name(2))
    assert (entry.kind, entry.get("batch")) == ("mould", "B-1")


@pytest.mark.parametrize(
    "name",
    [
        "",
        "/",
        "x",
        "x/1",
        "BOOK",
        "BOOK/",
        "BOOK/0",
        "BOOK/-1",
        "BOOK/11",
        "BOOK/1.0",
        "BOOK/x",
        "BOOK/ 1",
        "BOOK/²",
        "BOOK/٢",
        "BOOK/" + "9" * 40,
        "BOOK/1/2",
    ],
)
def test_an_unknown_entry_is_said_to_be_unknown(busy: Shed, name):
    """However oddly the name was typed: exit 4, never a crash."""
    with busy.to_read() as record, pytest.raises(UnknownEntry):
        record.entry(name.replace("BOOK", busy.head().book))


def test_standing_entries_leave_out_what_was_superseded(busy: Shed):
    """The correction stands, the first does not; the struck pest is gone."""
    with busy.to_read() as record:
        assert named(record.entries(["mould"])) == [4]
        assert named(record.entries(["pest"])) == [7, 8, 9, 10]


def test_all_versions_stay_readable(busy: Shed):
    """A struck or corrected entry is never hidden from who asks for it."""
    with busy.to_read() as record:
        assert named(record.all_versions(["mould"])) == [2, 4]
        assert named(record.all_versions(["pest"])) == [5, 7, 8, 9, 10]


def test_history_ends_with_what_stands(busy: Shed):
    """From any version of a matter, the whole of it."""
    with busy.to_read() as record:
        for seq in (2, 4):
            assert named(record.history(busy.name(seq))) == [2, 4]
            assert record.standing(busy.name(seq)).seq == 4
        for seq in (5, 6):
            assert [entry.kind for entry in record.history(busy.name(seq))] == [
                "pest",
                "strike",
            ]


def test_histories_read_together_are_those_read_one_by_one(busy: Shed):
    """Each matter from its first entry on; of what is not there, nothing."""
    firsts = [busy.name(seq) for seq in (5, 2, 7)]
    with busy.to_read() as record:
        found = record.histories([*firsts, busy.name(99), "no name", "a/1 or 1"])
        assert found == {name: record.history(name) for name in firsts}
        assert record.histories([]) == {}


def test_what_is_read_at_one_moment_is_not_written_between(shed: Shed):
    """Who writes waits; what was written before is seen as a whole."""
    shed.write(rat("bay 1"))
    with shed.to_read() as record, record.at_one_moment():
        assert record.count() == 2
        other = sqlite3.connect(shed.path, 0, isolation_level=None)
        with closing(other), pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("pragma user_version = 9")
    shed.write(rat("bay 2"))
    with shed.to_read() as record:
        assert record.count() == 3


def test_a_period_holds_its_first_moment_and_not_its_last(shed: Shed):
    """[since, before), so that two periods that meet share nothing."""
    shed.write(rat("bay 1"), happened_at=MONDAY)
    second = timedelta(seconds=1)
    with shed.to_read() as record:
        for since, before, seen in (
            (MONDAY, MONDAY + second, [2]),
            (MONDAY - second, MONDAY, []),
            (MONDAY + second / 2, MONDAY + 2 * second, []),
            (MONDAY - second, MONDAY + second / 2, [2]),
            (None, MONDAY, []),
            (MONDAY, None, [2]),
        ):
            found = record.entries(["pest"], since=since, before=before)
            assert seen == named(found)


def test_a_moment_is_the_same_in_every_zone(shed: Shed):
    """Periods compare instants, never texts."""
    east = timezone(timedelta(hours=5, minutes=45))
    shed.write(rat("bay 1"), happened_at=MONDAY.astimezone(east))
    with shed.to_read() as record:
        found = record.entries(
            ["pest"], since=MONDAY, before=MONDAY + timedelta(seconds=1)
        )
    assert [entry.happened_at for entry in found] == ["2026-03-02T12:45:00+05:45"]


def test_the_doubled_hour_is_in_the_order_in_which_it_happened(shed: Shed):
    """01:30 summer time comes before 01:10 winter time, against the text."""
    summer, winter = (timezone(timedelta(hours=h)) for h in (1, 0))
    shed.write(rat("later"), happened_at=datetime(2026, 10, 25, 1, 10, tzinfo=winter))
    shed.write(rat("first"), happened_at=datetime(2026, 10, 25, 1, 30, tzinfo=summer))
    with shed.to_read() as record:
        found = record.entries(["pest"])
    assert [entry.get("place") for entry in found] == ["first", "later"]


def test_no_kinds_and_no_codes_are_nothing(busy: Shed):
    """An empty question has an empty answer."""
    with busy.to_read() as record:
        assert record.entries([]) == []
        assert record.mentioning() == []


def test_mentioning_finds_every_standing_entry_that_names_a_code(busy: Shed):
    """By batch, by rack, by a tray of a list, by an entry; superseded ones left out."""
    with busy.to_read() as record:
        assert [e.kind for e in record.mentioning("B-1")] == ["hold", "mould"]
        assert [e.kind for e in record.mentioning("R2")] == ["mould"]
        assert record.mentioning("R1", "T1", "T2") == []
        assert [e.kind for e in record.mentioning(busy.name(2))] == ["hold"]


def test_versions_say_which_of_them_stands(busy: Shed):
    """One question gives what ``mentioning`` and ``entries`` give in two each."""
    kinds, every = ["mould", "hold", "pest"], {"every_version": True}
    span = {"since": MONDAY - timedelta(days=9), "before": MONDAY + timedelta(days=99)}
    with busy.to_read() as record:
        for found, stand, all_of_them in (
            (
                record.versions_naming("B-1", "R1", "R2"),
                record.mentioning("B-1", "R1", "R2"),
                record.mentioning("B-1", "R1", "R2", **every),
            ),
            (
                record.versions(kinds, **span),
                record.entries(kinds, **span),
                record.all_versions(kinds, **span),
            ),
        ):
            assert [entry for entry, _ in found] == all_of_them
            assert [entry for entry, stands in found if stands] == stand
            assert 0 < len(stand) < len(all_of_them)


def test_an_entry_that_names_two_codes_comes_once(busy: Shed):
    """Both are asked for, one entry answers."""
    with busy.to_read() as record:
        assert [e.kind for e in record.mentioning("B-1", "R2")] == ["hold", "mould"]


def test_text_that_refers_to_nothing_is_no_mention(busy: Shed):
    """A pest's place is said in words; only reference fields make mentions."""
    with busy.to_read() as record:
        assert record.mentioning("seed store") == []


def test_only_texts_are_mentions(shed: Shed):
    """An odd body names numbers or tables where codes belong: they are no codes."""
    line = (
        f'{{"book":"{shed.head().book}","seq":2,"v":1,"kind":"mould","happened_at":'
        '"2026-03-02T07:00:00+00:00","recorded_at":"2026-03-02T07:00:00+00:00",'
        '"by":"AB","body":{"rack":7,"trays":[1,"T2",null,true,{"x":"T3"}]}}'
    )
    with shed.plain() as db:
        db.execute(
            "insert into entry(book, seq, line, hash) values (?, 2, ?, ?)",
            (shed.head().book, line, "0" * 64),
        )
        assert db.execute("select code from mention").fetchall() == [("T2",)]


def test_only_an_answer_that_stands_ends_a_matter(shed: Shed):
    """A struck recheck leaves the hold unanswered; so does nothing at all."""
    from hygiene.kinds.find import Release

    (hold,) = shed.write(Hold(held="B-1", sort="batch", why="mould"))
    with shed.to_read() as record:
        assert [hold] == record.unanswered("hold", "release")
    (release,) = shed.write(Release(hold=hold.name, why="dry"))
    with shed.to_read() as record:
        assert record.unanswered("hold", "release") == []
    shed.write(Strike(struck="release"), corrects=release.name, reason="not ours")
    with shed.to_read() as record:
        assert [hold] == record.unanswered("hold", "release")


def test_a_file_is_read_by_its_hash(busy: Shed):
    """And a hash that nothing has gives nothing."""
    with busy.plain() as db:
        ((digest,),) = db.execute("select sha256 from attachment").fetchall()
    with busy.to_read() as record:
        assert record.file(digest) == (b"\xff\xd8 a picture" * 40)
        assert record.file("0" * 64) is None


def test_a_demonstration_says_so(tmp_path, shed: Shed):
    """Only where its opening says it."""
    path = tmp_path / "demo.db"
    with Record.create(path, shed.clock, tmp_path / "k", demonstration=True) as record:
        assert record.demonstration()
    with shed.to_read() as record:
        assert not record.demonstration()


@pytest.mark.parametrize(
    "line", ["[1]", '{"book":"x"}', "\x00", '{"body":[]}', "[" * 1500 + "]" * 1500]
)
def test_a_line_that_is_no_entry_is_damage_when_read(shed: Shed, line):
    """A reader says so in one line; ``verify`` finds where."""
    (entry,) = shed.write(rat("bay 1"))
    with shed.to_read() as record:
        record.db.execute("pragma query_only = off")
        record.db.execute(
            "create temp table entry as select book, seq, ? as line, kind, happened, "
            "recorded, corrects from main.entry where kind = 'pest'",
            (line,),
        )
        with pytest.raises(Unreadable, match="damaged"):
            record.entry(entry.name)


def test_an_odd_body_is_read_as_it_stands(shed: Shed):
    """An older, newer or foreign body never stops a reader."""
    head = shed.head()
    line = (
        f'{{"book":"{head.book}","seq":2,"v":7,"kind":"yodel","happened_at":'
        '"2026-03-02T07:00:00+00:00","recorded_at":"2026-03-02T07:00:00+00:00",'
        '"by":"AB","new":1,"body":{"depth":[1,{"x":2.50}]}}'
    )
    with shed.plain() as db:
        db.execute(
            "insert into entry(book, seq, line, hash) values (?, 2, ?, ?)",
            (head.book, line, "0" * 64),
        )
    with shed.to_read() as record:
        (entry,) = record.entries(["yodel"])
    assert str(entry.body) == "{'depth': [1, {'x': Decimal('2.50')}]}"


def test_every_failure_has_its_exit_code():
    """7: not there or not usable; 6: damaged."""
    assert {7} == {c.exit_code for c in (NoSuchRecord, NotOurs, Newer, CannotUse)}
    assert (Unreadable.exit_code, NoRecord.exit_code) == (6, 7)
