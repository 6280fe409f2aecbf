"""``verify``: whatever is done to the file behind its back is found, and where.

Each test does to a good record what somebody with an SQLite tool, or a failing disk,
could do to it. What a chain alone cannot see is tested as such, with a printed head.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing

import pytest
from shed import Shed, rat

from hygiene.book import chain
from hygiene.book.record import CannotUse, Head
from hygiene.book.verify import NotAHead, faults, head_of

WHEN = "2026-03-02T07:00:00+00:00"


def test_a_good_record_has_no_fault(busy: Shed):
    """Also with a head that was printed at any time since."""
    heads = [Head(book, seq, kept) for book, seq, _, kept in busy.lines()]
    assert busy.faults(*heads) == []


def test_two_books_that_are_good_have_no_fault(busy: Shed):
    """Each chain starts from its own name."""
    Shed(busy.path, busy.path.with_name("other"), busy.clock).write(rat("bay 9"))
    assert len(busy.heads()) == 2
    assert busy.faults() == []


# the bytes of a line


def change_on_disk(shed: Shed, old: bytes, new: bytes) -> None:
    """Write other bytes of the same length into the file, wherever they stand."""
    content = shed.path.read_bytes()
    assert old in content
    assert len(old) == len(new)
    shed.path.write_bytes(content.replace(old, new))


def test_any_byte_of_any_line_that_is_changed_is_found(busy: Shed):
    """A seeded share of the bytes; every one of them in tests/soak/bytes.py."""
    dice = random.Random(20260302)
    good = busy.path.read_bytes()
    for book, seq, text, _ in busy.lines():
        line = text.encode()
        for place in dice.sample(range(len(line)), 4):
            changed = bytearray(line)
            changed[place] = dice.choice([b for b in range(256) if b != line[place]])
            change_on_disk(busy, line, bytes(changed))
            assert busy.where()[0] == f"{book}/{seq}", (seq, place, changed[place])
            busy.path.write_bytes(good)
    assert busy.faults() == []


def test_a_changed_line_is_found_though_the_guards_are_back(busy: Shed):
    """Triggers dropped, a reading put right, triggers made again word by word."""
    with busy.behind_its_back() as db:
        db.execute(
            "update entry set line = replace(line, 'bay 2', 'bay 3') where seq = 9"
        )
    (fault,) = busy.faults()
    assert fault.where == busy.name(9)
    assert "not what was written" in fault.what


def test_a_changed_hash_is_found(busy: Shed):
    """One digit of it, in any line; the last one too."""
    for seq in (1, 5, 10):
        with busy.behind_its_back() as db:
            db.execute(
                "update entry set hash = substr(hash, 1, 63) || "
                "case substr(hash, 64) when 'a' then 'b' else 'a' end where seq = ?",
                (seq,),
            )
    assert busy.where() == [busy.name(1)]


@pytest.mark.parametrize("seq", [1, 2, 5, 9])
def test_a_line_removed_from_the_middle_is_found(busy: Shed, seq: int):
    """It is named, though it is gone."""
    with busy.behind_its_back() as db:
        db.execute("delete from entry where seq = ?", (seq,))
    assert busy.where()[0] == busy.name(seq)
    assert "missing" in busy.faults()[0].what


def test_a_line_removed_and_the_rest_moved_up_is_found(busy: Shed):
    """No gap is left, but the hashes no longer follow."""
    with busy.behind_its_back() as db:
        db.execute("delete from entry where seq = 5")
        db.execute("update entry set seq = seq - 1 where seq > 5")
    assert busy.where()[0] == busy.name(5)


def test_two_lines_swapped_are_found(busy: Shed):
    """With their hashes, or without them."""
    good = busy.path.read_bytes()
    for columns in ("line", "line, hash"):
        busy.path.write_bytes(good)
        with busy.behind_its_back() as db:
            seven, eight = (
                db.execute(
                    f"select {columns} from entry where seq = ?", (n,)
                ).fetchone()
                for n in (7, 8)
            )
            places = ", ".join(f"{c} = ?" for c in columns.split(", "))
            db.execute(f"update entry set {places} where seq = 7", eight)
            db.execute(f"update entry set {places} where seq = 8", seven)
        assert busy.where()[0] == busy.name(7)


def test_a_line_that_was_put_in_is_found(busy: Shed):
    """With a hash of anything, between two that stand."""
    with busy.behind_its_back() as db:
        db.execute("update entry set seq = -seq where seq >= 5")
        db.execute("update entry set seq = 1 - seq where seq < 0")
        db.execute(
            "insert into entry(book, seq, line, hash) "
            "select book, 5, line, hash from entry where seq = 4"
        )
    assert busy.where()[0] == busy.name(5)


def test_a_line_moved_to_another_book_is_found(busy: Shed):
    """A book's chain starts from its name."""
    with busy.behind_its_back() as db:
        db.execute("update entry set book = 'shed-aaaa'")
    assert "shed-aaaa/1" in busy.where()


def test_a_broken_book_hides_no_other(busy: Shed):
    """One fault a book: the others are read to their ends."""
    Shed(busy.path, busy.path.with_name("other"), busy.clock).write(rat("x"), rat("y"))
    with busy.behind_its_back() as db:
        db.execute(
            "update entry set hash = substr(hash, 2) || substr(hash, 1, 1) "
            "where seq = 2"
        )
    assert busy.where() == [f"{head.book}/2" for head in busy.heads()]


# bytes that are no line at all


def forge(shed: Shed, odd: bytes) -> None:
    """Put a line of any bytes at the end, with a good hash, past every check.

    No SQL does it: a good line is added under the hash of the odd one, and then its
    bytes are exchanged on disk.
    """
    head = shed.head()
    good = well_made(head, "x" * 400)
    odd = odd.ljust(len(good))
    with shed.plain() as db:
        db.execute(INSERT, (head.book, 11, good, chain.follow(head.hash, odd)))
    change_on_disk(shed, good.encode(), odd)


INSERT = "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)"


def well_made(head: Head, place: str, kind: str = "pest") -> str:
    """The next line of a book, as anybody could make it who read how."""
    return (
        f'{{"book":"{head.book}","seq":{head.seq + 1},"v":1,"kind":"{kind}",'
        f'"happened_at":"{WHEN}","recorded_at":"{WHEN}","by":"AB",'
        f'"body":{{"what":"rat","place":"{place}"}}}}'
    )


def add_well_made(shed: Shed, place: str, kind: str = "pest") -> None:
    head = shed.head()
    line = well_made(head, place, kind)
    good = chain.follow(head.hash, line.encode())
    with shed.plain() as db:
        db.execute(INSERT, (head.book, head.seq + 1, line, good))


ODD = {
    "not JSON": lambda line: b"tea and toast",
    "nothing": lambda line: b"",
    "a list": lambda line: b"[1,2]",
    "a bare number": lambda line: b"7",
    "nested": lambda line: b"[" * 250 + b"]" * 250,
    "cut off": lambda line: line[:-20],
    "NaN": lambda line: line.replace(b'"v":1', b'"v":NaN'),
    "a tab": lambda line: line.replace(b",", b",\t", 1),
    "NUL": lambda line: line + b"\0",
    "not UTF-8": lambda line: line.replace(b"rat", b"r\xe9t"),
    "no body": lambda line: line.replace(b'"body"', b'"bodi"'),
    "a body of text": lambda line: line[: line.index(b"{", 1)] + b'"rat"}',
    "done by nobody": lambda line: line.replace(b'"by"', b'"bi"'),
    "no version": lambda line: line.replace(b'"v"', b'"w"'),
    "a number in quotes": lambda line: line.replace(b":11,", b':"11",'),
    "another number": lambda line: line.replace(b":11,", b":12,"),
    "another book": lambda line: line.replace(b'"shed', b'"barn'),
    "no day": lambda line: line.replace(b'"happened_at":"2026', b'"happened_at":"soon'),
    "never recorded": lambda line: line.replace(b'"recorded_at"', b'"recorded"'),
}


@pytest.mark.parametrize("made", ODD.values(), ids=ODD)
def test_a_line_that_is_no_entry_is_reported(busy: Shed, made):
    """Its hash is good, its bytes are not: a fault, never a traceback."""
    forge(busy, made(well_made(busy.head(), "bay 9").encode()))
    assert busy.name(11) in busy.where()


def test_a_line_of_over_64_kib_is_reported(busy: Shed):
    """Well made but for its length."""
    add_well_made(busy, "x" * 70_000)
    assert busy.where() == [busy.name(11)]


def test_an_opening_in_the_middle_of_a_book_is_reported(busy: Shed):
    """And so is a book that begins with anything else."""
    add_well_made(busy, "bay 9", "opening")
    assert busy.where() == [busy.name(11)]


def test_a_book_that_begins_without_its_opening_is_reported(busy: Shed):
    """A well-made chain, but no word of whose record it is."""
    line = well_made(Head("shed-aaaa", 0, ""), "bay 1")
    good = chain.follow(chain.start("shed-aaaa"), line.encode())
    with busy.plain() as db:
        db.execute(INSERT, ("shed-aaaa", 1, line, good))
    assert busy.where() == ["shed-aaaa/1"]


def test_a_record_without_one_line_is_reported(busy: Shed):
    """Emptied altogether, it has no chain that could be broken."""
    with busy.behind_its_back() as db:
        db.execute("delete from entry")
        db.execute("delete from mention")
    assert busy.where() == ["record"]


# what a chain alone cannot see


def cut_tail(shed: Shed, last: int) -> None:
    with shed.behind_its_back() as db:
        db.execute("delete from mention where seq > ?", (last,))
        db.execute("delete from entry where seq > ?", (last,))


def test_a_cut_tail_is_seen_with_a_head_and_in_no_other_way(busy: Shed):
    """The chain ends earlier, and that is all that it can tell."""
    printed = busy.head()
    cut_tail(busy, 8)
    assert busy.faults() == []
    (fault,) = busy.faults(printed)
    assert fault.where == f"{printed.book}/10"
    assert "is gone" in fault.what


def test_a_tail_cut_and_written_again_is_seen_with_a_head(busy: Shed):
    """The same number of lines, other lines."""
    printed = busy.head()
    cut_tail(busy, 8)
    for number in (1, 2):
        add_well_made(busy, f"other bay {number}")
    assert busy.faults() == []
    (fault,) = busy.faults(printed)
    assert "differs from the head" in fault.what


def test_a_well_made_extra_line_is_seen_with_a_head_and_in_no_other_way(busy: Shed):
    """A count and head printed after it would hold; one printed before does too,
    until it is compared with the count: so each PDF prints both."""
    printed = busy.head()
    add_well_made(busy, "bay 9")
    assert busy.faults() == []
    assert busy.faults(printed) == []
    assert busy.head().seq == printed.seq + 1


def test_a_well_made_line_in_the_middle_is_seen_with_a_head(busy: Shed):
    """Everything after it was worked out again."""
    printed = busy.head()
    cut_tail(busy, 8)
    for number in range(3):
        add_well_made(busy, f"bay {number}")
    assert busy.faults() == []
    assert busy.where(printed) == [f"{printed.book}/10"]


def test_a_book_that_is_gone_is_seen_with_its_head(busy: Shed):
    """A whole book taken out leaves the others good."""
    Shed(busy.path, busy.path.with_name("other"), busy.clock).write(rat("bay 9"))
    one, two = busy.heads()
    with busy.behind_its_back() as db:
        db.execute("delete from mention where book = ?", (two.book,))
        db.execute("delete from entry where book = ?", (two.book,))
    assert busy.faults(one) == []
    assert busy.where(one, two) == [f"{two.book}/{two.seq}"]


# heads as they are typed


def test_a_head_is_read_as_it_is_printed():
    """With blanks around it, in capitals, and from eight digits on."""
    full = Head("shed-k7q2", 1042, "0123456789abcdef" * 4)
    assert head_of(f" {full}\n") == full
    assert head_of("shed-k7q2/1042:01234567") == Head("shed-k7q2", 1042, "01234567")
    assert head_of("shed-k7q2/1042:ABCDEF01").hash == "abcdef01"


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "shed-k7q2",
        "shed-k7q2/1",
        "shed-k7q2/1:0123456",
        "shed-k7q2/x:01234567",
        "shed-k7q2/1:0123456g",
        "a b/1:01234567",
        f"x/{'9' * 19}:01234567",
        "x/1:",
        f"x/1:{'a' * 65}",
    ],
)
def test_what_is_no_head_is_said_to_be_none(typed: str):
    """Exit 2, with how it is printed."""
    with pytest.raises(NotAHead, match="BOOK/SEQ:HASH"):
        head_of(typed)


def test_the_first_digits_of_a_head_are_enough(busy: Shed):
    """Eight typed off the paper; a wrong one among them is found."""
    head = busy.head()
    assert busy.faults(head._replace(hash=head.hash[:8])) == []
    wrong = "0" if head.hash[7] != "0" else "1"
    assert busy.faults(head._replace(hash=head.hash[:7] + wrong)) != []


# what is no fault of the record


def test_a_locked_record_is_not_called_damaged(busy: Shed, monkeypatch):
    """Exit 7, try again; not 6."""
    monkeypatch.setattr("hygiene.book.record.WAIT_MS", 1)
    with busy.to_read() as record, busy.plain() as db:
        db.execute("begin exclusive")
        with pytest.raises(CannotUse, match="locked"):
            faults(record)


def test_verify_changes_nothing(busy: Shed):
    """Not one byte of the file, whatever it finds."""
    with busy.behind_its_back() as db:
        db.execute(
            "update entry set hash = substr(hash, 2) || substr(hash, 1, 1) "
            "where seq = 2"
        )
    before = busy.path.read_bytes()
    assert busy.faults()
    assert before == busy.path.read_bytes()


def test_a_backup_made_by_sqlite_verifies(busy: Shed):
    """A copy through SQLite's own backup has the same heads."""
    copy = Shed(busy.path.with_name("copy.db"), busy.keys)
    with busy.plain() as db, closing(sqlite3.connect(copy.path)) as target:
        db.backup(target)
    assert copy.faults(busy.head()) == []
    shutil.copy(copy.path, busy.path)
    assert busy.faults() == []
