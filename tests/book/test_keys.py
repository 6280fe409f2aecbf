"""The right to write: who may go on with a book, and when a new one is opened."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from shed import MONDAY, Clock, Shed, rat

from hygiene.book import keys
from hygiene.book.record import Record


def wrote(shed: Shed, place: str = "bay 1") -> tuple[str, str | None]:
    """The book that a line went into, and why that was opened, if it was."""
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        entry = book.add(rat(place), by="AB")
    return entry.book, book.why


def the_key(shed: Shed) -> Path:
    (file,) = shed.keys.iterdir()
    return file


def elsewhere(shed: Shed, name: str) -> Shed:
    """The file copied to another place, on the same device."""
    there = shed.path.with_name(name)
    shutil.copy(shed.path, there)
    return Shed(there, shed.keys, shed.clock)


def test_the_key_is_the_head_that_this_device_left(shed: Shed):
    """The key file holds the book, the last line's number and its hash."""
    shed.write(rat("bay 1"))
    assert keys.read(shed.keys, shed.head().book) == keys.Key(*shed.head())


def test_the_key_is_for_its_owner_only(shed: Shed):
    """Nobody else on the machine may read or write a key, or list them."""
    assert the_key(shed).stat().st_mode & 0o077 == 0
    assert shed.keys.stat().st_mode & 0o077 == 0


def test_with_its_key_a_device_goes_on_in_its_book(shed: Shed):
    """No new book where the key lies on the chain."""
    assert wrote(shed) == (shed.head().book, None)


def test_without_a_key_a_new_book_is_opened_and_said(shed: Shed):
    """The other device has the record, but not the right to write its book."""
    first = shed.head().book
    other = Shed(shed.path, shed.path.with_name("other keys"), shed.clock)
    book, why = wrote(other)
    assert book != first
    assert why == "this device has no key to a book of this record"
    assert not shed.faults()


def test_a_new_book_belongs_to_the_same_record(shed: Shed):
    """Every book's opening names one record, so that a merge knows its own."""
    wrote(Shed(shed.path, shed.path.with_name("other keys"), shed.clock))
    with shed.to_read() as record:
        openings = record.entries(["opening"])
    assert len(openings) == 2
    assert len({opening.get("record") for opening in openings}) == 1


def test_a_new_book_of_a_demonstration_says_so_too(tmp_path: Path):
    """A demonstration stays one, whoever writes in it."""
    clock, path = Clock(), tmp_path / "demo.db"
    Record.create(path, clock, tmp_path / "keys", demonstration=True).close()
    shed = Shed(path, tmp_path / "other", clock)
    wrote(shed)
    with shed.to_read() as record:
        assert [
            opening.get("demonstration") for opening in record.entries(["opening"])
        ] == [True, True]


def test_a_record_written_in_two_places_forks_no_book(shed: Shed):
    """A copy is written first; then the original opens a new book, and says so."""
    copy = elsewhere(shed, "copy.db")
    first = shed.head().book
    assert wrote(copy) == (first, None)
    book, why = wrote(shed)
    assert book != first
    assert why is not None
    assert "copied or restored" in why


def test_both_places_go_on_in_their_own_book(shed: Shed):
    """Once parted, neither place opens a book again."""
    copy = elsewhere(shed, "copy.db")
    first, _ = wrote(copy)
    second, _ = wrote(shed)
    assert wrote(copy) == (first, None)
    assert wrote(shed) == (second, None)
    assert not copy.faults()
    assert not shed.faults()


def test_a_restored_record_gets_a_new_book(shed: Shed):
    """A backup brought back: the key is ahead of it."""
    backup = elsewhere(shed, "backup.db")
    first, _ = wrote(shed)
    shutil.copy(backup.path, shed.path)
    book, why = wrote(shed)
    assert book != first
    assert why is not None
    assert "restored" in why


def test_a_key_whose_hash_is_not_on_the_chain_opens_nothing_of_that_book(shed: Shed):
    """Another history under the same name: its book is left alone."""
    head = shed.head()
    the_key(shed).write_text(json.dumps({**head._asdict(), "hash": "0" * 64}))
    book, _ = wrote(shed)
    assert book != head.book


@pytest.mark.parametrize(
    "torn",
    [
        "",
        "{",
        "null",
        "[]",
        '{"book":"BOOK","seq":1}',
        '{"book":"BOOK","seq":"one","hash":"x"}',
        '{"book":"BOOK","seq":Infinity,"hash":"x"}',
        '{"book":"BOOK","seq":99999999999999999999,"hash":"x"}',
        '{"book":"another","seq":1,"hash":"x"}',
    ],
)
def test_a_torn_key_is_no_key(shed: Shed, torn: str):
    """Half a key file opens a new book, and never stops the work."""
    head = shed.head()
    the_key(shed).write_text(torn.replace("BOOK", head.book))
    book, why = wrote(shed)
    assert book != head.book
    assert why == "this device has no key to a book of this record"


def test_a_key_that_is_not_text_is_no_key(shed: Shed):
    """Bytes of a damaged disk."""
    the_key(shed).write_bytes(b"\xff\xfe\x00")
    _, why = wrote(shed)
    assert why is not None


def test_a_key_left_behind_by_a_crash_still_fits(shed: Shed):
    """Killed between the commit and the key: the old key lies on the chain."""
    old = the_key(shed).read_bytes()
    book, _ = wrote(shed)
    the_key(shed).write_bytes(old)
    assert wrote(shed) == (book, None)


def test_an_older_key_never_takes_the_place_of_a_newer(tmp_path: Path):
    """Two commands end at once; the later line's key stays."""
    for seq in (12, 11):
        keys.Kept(tmp_path, keys.Key("shed-aaaa", seq, "x")).put()
    assert keys.read(tmp_path, "shed-aaaa") == keys.Key("shed-aaaa", 12, "x")
    assert [file.name for file in tmp_path.iterdir()] == ["shed-aaaa.json"]


def test_a_key_is_written_over_whatever_lies_there(tmp_path: Path):
    """A longer file of something else leaves no remains behind the key."""
    place = tmp_path / "shed-aaaa.json"
    place.write_text("x" * 4000)
    key = keys.Key("shed-aaaa", 12, "x" * 64)
    keys.Kept(tmp_path, key).put()
    assert keys.read(tmp_path, "shed-aaaa") == key
    assert place.stat().st_size == keys.LENGTH


def test_where_keys_cannot_be_kept_nothing_is_recorded(shed: Shed):
    """A file stands where the folder should: said before the commit, not after."""
    before = shed.lines()
    blocked = shed.path.with_name("blocked")
    blocked.write_text("not a folder")
    with pytest.raises(keys.NoKeys, match="cannot be kept"):
        wrote(Shed(shed.path, blocked, shed.clock))
    assert before == shed.lines()


def test_a_key_is_left_as_it_was_where_the_writing_fails(shed: Shed):
    """Nothing recorded, no key moved on, no file left waiting."""
    before = the_key(shed).read_bytes()
    with pytest.raises(ZeroDivisionError):
        _write_and_fail(shed)
    assert before == the_key(shed).read_bytes()


def _write_and_fail(shed: Shed) -> None:
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        book.add(rat("bay 1"), by="AB")
        raise ZeroDivisionError


def test_two_commands_of_a_new_device_open_one_book(shed: Shed):
    """The second waits for the lock, and then finds the key of the first."""
    other = shed.path.with_name("other keys")
    driver = Path(__file__).with_name("append.py")
    started = [
        subprocess.Popen(
            [sys.executable, driver, shed.path, other, str(100 * n), "3"],
            stdout=subprocess.PIPE,
        )
        for n in range(2)
    ]
    for process in started:
        process.communicate()
        assert process.returncode == 0
    assert len(shed.heads()) == 2


def test_the_name_of_a_book_never_leads_out_of_the_keys_folder(shed: Shed):
    """A crafted book name is compared with what the key itself says."""
    outside = shed.path.with_name("outside.json")
    outside.write_text('{"book":"x","seq":1,"hash":"x"}')
    assert keys.read(shed.keys, "../outside") is None


def test_a_book_that_vanished_leaves_its_key_unused(tmp_path: Path):
    """A key to a book that this record does not hold says nothing here."""
    one, two = (tmp_path / name for name in ("one", "two"))
    for folder in (one, two):
        folder.mkdir()
    shed = Shed.create(one)
    other = Shed.create(two)
    for file in other.keys.iterdir():
        shutil.copy(file, shed.keys)
    assert wrote(shed) == (shed.head().book, None)


def test_a_moved_record_keeps_its_book(shed: Shed):
    """The key knows the chain, not the path."""
    book = shed.head().book
    there = shed.path.rename(shed.path.with_name("moved.db"))
    assert wrote(Shed(there, shed.keys, shed.clock)) == (book, None)


def test_the_first_entry_says_why_its_book_was_opened(shed: Shed):
    """The opening of a book is an entry like any other, by the program."""
    with shed.to_read() as record:
        (opening,) = record.entries(["opening"])
    assert opening.get("why") == "the first book of this record"
    assert opening.by == "hygiene"
    assert opening.happened_at == "2026-03-02T07:00:00+00:00"
    assert MONDAY.isoformat() == opening.recorded_at
