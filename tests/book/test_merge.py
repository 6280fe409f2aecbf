"""Lines of another device: verified, taken once, and never past a fork."""

from __future__ import annotations

import json
import shutil
from hashlib import sha256
from pathlib import Path

import pytest
from devices import another, names, own, read, take
from no_room import no_room
from shed import Clock, Shed, rat

from hygiene.book import chain
from hygiene.book.backup import NotVerified
from hygiene.book.merge import Came, Forked, NotALineOfOurs, Pretended
from hygiene.book.record import (
    VERSION,
    CannotUse,
    Newer,
    NotOurs,
    Record,
    Unreadable,
)
from hygiene.book.restore import OtherFarm, SameFile
from hygiene.kinds.attached import Attached
from hygiene.kinds.entry import Entry, write_line
from hygiene.kinds.find import Hold, Release
from hygiene.kinds.papers import File

MUSTY = Hold(held="B-1", sort="batch", why="musty")


@pytest.fixture
def office(busy: Shed) -> Shed:
    """Another device with the same record, which then writes its own book."""
    made = another(busy, "office")
    made.write(rat("office door"), rat("yard"))
    return made


def test_lines_that_are_not_here_are_taken_as_they_are(busy: Shed, office: Shed):
    """The same bytes under the same hashes, in their own book."""
    theirs = own(office)
    assert take(busy, office) == [Came(theirs, 1, 3)]
    assert busy.lines() == office.lines()
    assert busy.faults(*office.heads()) == []


def test_a_second_time_nothing_is_new(busy: Shed, office: Shed):
    """Not a byte of the record changes."""
    take(busy, office)
    before = busy.path.read_bytes()
    assert take(busy, office) == []
    assert busy.path.read_bytes() == before


def test_both_ways_both_hold_the_same(busy: Shed, office: Shed):
    """Run on each side, whichever is first."""
    busy.write(rat("shed"))
    take(office, busy)
    take(busy, office)
    assert read(busy) == read(office)
    assert office.faults() == []


def test_each_goes_on_in_its_own_book(busy: Shed, office: Shed):
    """What came gives no right to write it."""
    mine, theirs = own(busy), own(office)
    take(busy, office)
    take(office, busy)
    assert busy.write(rat("a"))[0].book == mine
    assert office.write(rat("b"))[0].book == theirs


def test_a_hold_in_either_book_wins_whatever_the_clocks_say(busy: Shed, office: Shed):
    """A release names its hold; a hold made elsewhere meanwhile stays."""
    first = busy.write(MUSTY)[0]
    office.clock.moment = Clock().moment  # an hour behind, or a day: no matter
    theirs = office.write(MUSTY)[0]
    busy.clock.on(hours=5)
    busy.write(Release(hold=first.name, why="looked at"))
    take(busy, office)
    with busy.to_read() as record:
        still = names(record.unanswered("hold", "release"))
    assert theirs.name in still
    assert first.name not in still


def test_an_attached_file_comes_with_its_line(busy: Shed, office: Shed, tmp_path: Path):
    """Once, and only what a line names."""
    picture = tmp_path / "door.jpg"
    picture.write_bytes(b"\xff\xd8 a door")
    with (
        office.to_write() as record,
        record.writing(office.clock, office.keys) as writing,
    ):
        digest = writing.attach(picture)
        paper = Attached(sha256=digest, name="door.jpg", bytes=9)
        writing.add(File(sort="other", title="door", attached=(paper,)), by="AB")
        picture.write_bytes(b"named by no line")
        other = writing.attach(picture)
    take(busy, office)
    with busy.to_read() as record:
        assert sha256(record.file(digest) or b"").hexdigest() == digest
        assert record.file(other) is None
    assert busy.faults() == []


def test_three_devices_over_one_of_them(busy: Shed, office: Shed):
    """A book comes as well from a device that did not write it."""
    phone = another(busy, "phone")
    phone.write(rat("field"))
    take(office, phone)
    take(busy, office)
    assert {head.book for head in busy.heads()} == {h.book for h in office.heads()}


def test_a_book_that_was_written_in_two_places_is_a_fork(busy: Shed):
    """Both lines are told, exit code 6, and nothing is taken."""
    copy = another(busy, "copy")
    shutil.copytree(busy.keys, copy.keys)
    here = busy.write(rat("here"))[0]
    there = copy.write(rat("there"), rat("there too"))[0]
    assert here.name == there.name
    before = busy.path.read_bytes()
    with pytest.raises(Forked) as refused:
        take(busy, copy)
    assert refused.value.exit_code == 6
    said = str(refused.value)
    assert all(text in said for text in (here.name, "at here", "at there"))
    assert busy.path.read_bytes() == before


def test_a_fork_is_found_where_it_begins(busy: Shed):
    """Not at the last line that both have."""
    copy = another(busy, "copy")
    shutil.copytree(busy.keys, copy.keys)
    here = busy.write(*(rat(f"here {n}") for n in range(7)))[0]
    copy.write(*(rat(f"there {n}") for n in range(9)))
    with pytest.raises(Forked, match=f"{here.name} was written twice"):
        take(busy, copy)


def test_of_a_fork_no_other_book_is_taken(busy: Shed):
    """All or nothing."""
    copy = another(busy, "copy")
    copy.write(rat("a book of its own"))
    shutil.rmtree(copy.keys)
    shutil.copytree(busy.keys, copy.keys)
    busy.write(rat("here"))
    copy.write(rat("there"))
    with pytest.raises(Forked):
        take(busy, copy)
    assert len(busy.heads()) == 1


def test_another_farms_record_is_refused(busy: Shed, tmp_path: Path):
    """Its books belong to a record of another name: exit code 5."""
    (tmp_path / "else").mkdir()
    other = Shed.create(tmp_path / "else")
    with pytest.raises(OtherFarm) as refused:
        take(busy, other)
    assert refused.value.exit_code == 5


def test_a_demonstration_is_not_mixed_with_a_real_record(busy: Shed):
    """Even one that says it is of the same farm."""
    copy = another(busy, "copy")
    with busy.to_read() as record:
        name = record.entry(busy.name(1)).get("record")
    told = {"record": name, "why": "x", "demonstration": True}
    forge(copy, "demo-aaaa", [("opening", told)])
    with pytest.raises(Pretended, match="is a demonstration") as refused:
        take(busy, copy)
    assert refused.value.exit_code == 5


def test_what_does_not_verify_is_refused(busy: Shed, office: Shed):
    """Exit code 6, with the line."""
    with office.behind_its_back() as db:
        db.execute("update entry set line = replace(line, 'yard', 'yurt')")
    with pytest.raises(NotVerified, match="hash differs"):
        take(busy, office)


def test_a_file_that_would_run_something_of_its_own_is_not_read(
    busy: Shed, office: Shed
):
    """A view in the place of a table might have no end: it is not even opened."""
    with office.plain() as db:
        db.execute("alter table entry rename to real_entry")
        db.execute(
            "create view entry as with recursive n(i) as (select 1 union all "
            "select i + 1 from n) select 'x' as book, i as seq, '' as line, "
            "'' as hash from n"
        )
    with pytest.raises(Unreadable, match="entry in it is no table of ours"):
        take(busy, office)


def test_the_record_itself_is_not_merged(busy: Shed):
    """Exit code 2."""
    with pytest.raises(SameFile):
        take(busy, busy.path)


def test_a_file_of_another_sort(busy: Shed, tmp_path: Path):
    """Exit code 7."""
    odd = tmp_path / "odd.db"
    odd.write_text("no database" * 500)
    with pytest.raises(NotOurs):
        take(busy, odd)


def test_a_newer_record_is_refused(busy: Shed, office: Shed):
    """This program would not read all of it."""
    with office.plain() as db:
        db.execute(f"pragma user_version = {VERSION + 1}")
    with pytest.raises(Newer):
        take(busy, office)


def test_an_older_record_is_brought_up_in_a_copy(busy: Shed, office: Shed):
    """The other file stays as it is."""
    with office.plain() as db:
        db.execute("pragma user_version = 0")
        db.execute("drop view pest")
    before = office.path.read_bytes()
    assert len(take(busy, office)) == 1
    assert office.path.read_bytes() == before
    assert busy.faults() == []


def test_a_full_disk_takes_nothing(busy: Shed, office: Shed):
    """Exit code 7, and the record stays as it was."""
    before = busy.path.read_bytes()
    with no_room(40_000), pytest.raises(CannotUse):
        take(busy, office)
    assert busy.path.read_bytes() == before
    assert busy.faults() == []


def test_nothing_is_left_beside(busy: Shed, office: Shed):
    """The copy that was looked at is gone."""
    take(busy, office)
    assert [p.name for p in busy.path.parent.glob(".*")] == []


def forge(shed: Shed, book: str, said: list[tuple[str, object]], **more: object):
    """Lines that a stranger made well: their hashes and their layout are right."""
    with shed.plain() as db:
        before = chain.start(book)
        for seq, (kind, body) in enumerate(said, 1):
            at = "2026-03-02T07:00:00+00:00"
            line = write_line(Entry(book, seq, kind, at, at, "AB", body))  # type: ignore[arg-type]
            if seq == len(said):
                line = json.loads(f'"{more["text"]}"') if "text" in more else line
            before = chain.follow(before, line.encode())
            db.execute(
                "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)",
                (book, seq, line, before),
            )


LINE = (
    '{"book":"evil-aaaa","seq":2,"v":1,"kind":"pest",'
    '"happened_at":"2026-03-02T07:00:00+00:00",'
    '"recorded_at":"2026-03-02T07:00:00+00:00","by":"AB","body":{"what":"rat"}}'
)
ODD = {
    "a space": ('"seq":2', '"seq": 2'),
    "a key twice": ('"by":"AB"', '"by":"AB","by":"CD"'),
    "an unknown key": ('"by":"AB"', '"by":"AB","role":"vet"'),
    "a number for a person": ('"by":"AB"', '"by":7'),
    "a list for a kind": ('"kind":"pest"', '"kind":["pest"]'),
    "another version of lines": ('"v":1', '"v":2'),
    "a day that no calendar has": ('d_at":"2026-03-02', 'd_at":"2026-02-30'),
    "the year nought": ('happened_at":"2026', 'happened_at":"0000'),
    "an escape that is not needed": ('"rat"', '"r\\u0061t"'),
    "an exponent": ('"rat"', "1e3"),
    "a correction of a number": ('"by":"AB"', '"by":"AB","corrects":3'),
}  # fmt: skip


@pytest.mark.parametrize("odd", ODD)
def test_a_line_that_we_would_not_write_is_refused_by_its_name(busy: Shed, odd: str):
    """Its hash may be right: nothing of that file is taken, exit code 6."""
    copy = another(busy, "copy")
    with busy.to_read() as record:
        name = record.entry(busy.name(1)).get("record")
    text = LINE.replace(*ODD[odd])
    assert text != LINE
    opening = ("opening", {"record": name, "why": "x", "demonstration": False})
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    forge(copy, "evil-aaaa", [opening, ("pest", {"what": "rat"})], text=escaped)
    before = busy.path.read_bytes()
    with pytest.raises((NotALineOfOurs, NotVerified), match="evil-aaaa/2") as refused:
        take(busy, copy)
    assert refused.value.exit_code == 6
    assert busy.path.read_bytes() == before


def test_well_made_lines_of_a_stranger_are_taken(busy: Shed):
    """They are an honest device's as far as anyone can tell."""
    copy = another(busy, "copy")
    with busy.to_read() as record:
        name = record.entry(busy.name(1)).get("record")
    opening = ("opening", {"record": name, "why": "x", "demonstration": False})
    forge(copy, "good-aaaa", [opening, ("pest", {"what": "rat"})])
    assert take(busy, copy) == [Came("good-aaaa", 1, 2)]
    assert busy.faults() == []


def test_a_reader_of_the_other_file_is_no_trouble(busy: Shed, office: Shed):
    """It is only read."""
    with Record.open(office.path) as reader:
        reader.db.execute("begin")
        reader.heads()
        assert len(take(busy, office)) == 1
