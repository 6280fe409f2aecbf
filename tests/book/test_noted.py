"""What a report is made from, tied to the heads, and what does not agree with it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shed import Shed, rat

from hygiene.book import chain
from hygiene.book.carried import (
    PREFACE,
    Carried,
    Chain,
    Link,
    Links,
    NotAChain,
    followed,
    read_chains,
)
from hygiene.book.compare import alone, untied, with_heads, with_record
from hygiene.book.noted import DoesNotFit, carried, noting
from hygiene.book.record import Head, Record
from hygiene.kinds.action import Action, Close
from hygiene.kinds.book import Strike
from hygiene.kinds.find import Mould


def taken(shed: Shed, ask: Callable[[Record], object], most: int = 1000) -> Carried:
    """What is carried of a record that was asked something."""
    with shed.to_read() as record, noting(record) as noted:
        ask(record)
        return carried(record, noted, most)


def seqs(of: Carried) -> list[int]:
    return [seq for each in of.chains for seq, _ in each.carried()]


def pests(record: Record) -> object:
    return record.entries(["pest"])


def test_what_was_read_is_carried_byte_for_byte(busy: Shed):
    """The lines as they stand in the record, by book and number, and no others."""
    lines = {seq: line for _, seq, line, _ in busy.lines()}
    made = taken(busy, lambda r: (r.entry(busy.name(8)), r.entry(busy.name(7))))
    assert made.lines == (lines[7], lines[8])
    assert made.entries_text() == f"{lines[7]}\n{lines[8]}\n".encode()


def test_nothing_is_noted_unless_it_is_asked_for(busy: Shed):
    """Once a report was read, the record notes no further line."""
    with busy.to_read() as record:
        with noting(record) as noted:
            pass
        pests(record)
        assert record.noted is None
        assert noted.lines == {}


def test_what_supersedes_a_noted_entry_comes_along(busy: Shed):
    """Entry 2 was corrected by 4, so that who reads the lines sees that it was."""
    assert seqs(taken(busy, lambda r: r.entry(busy.name(2)))) == [2, 4]


def test_what_answers_comes_along_where_the_unanswered_were_asked_for(shed: Shed):
    """An action read by its name is not open again for want of the close."""
    (opened,) = shed.write(Action(problem="wet floor", about=shed.name(1)))
    shed.write(Close(action=opened.name, did="mopped", recheck=shed.name(1)))

    def ask(record: Record) -> object:
        return record.entry(opened.name), record.unanswered("action", "close")

    assert seqs(taken(shed, ask)) == [2, 3]
    assert seqs(taken(shed, lambda r: r.entry(opened.name))) == [2]


def test_what_is_read_is_of_one_moment(busy: Shed):
    """A writer waits meanwhile, so that no line is missed and no head is later."""
    with busy.to_read() as record, noting(record), busy.plain() as db:
        pests(record)
        db.execute("pragma busy_timeout = 0")
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            db.execute("insert into attachment values (printf('%064d', 1), x'00')")


def test_an_attached_file_that_was_read_is_noted(busy: Shed):
    """By its hash, with its bytes."""
    with busy.plain() as db:
        ((digest, content),) = db.execute("select * from attachment").fetchall()
    made = taken(busy, lambda r: (r.file(digest), r.file("0" * 64)))
    assert dict(made.files) == {digest: content}


def test_the_links_lead_to_the_head(busy: Shed):
    """By the rule of the chain, from the first carried line, over those left out."""
    made = taken(busy, lambda r: (r.entry(busy.name(3)), r.entry(busy.name(9))))
    (each,) = made.chains
    assert (each.loose, each.linked.after, len(each.linked.links)) == ((), 2, 8)
    assert followed(each.linked.before, each.linked.links) == busy.head().hash
    assert alone(made) == []


def test_the_first_line_follows_from_the_books_name(busy: Shed):
    """Nothing stands before it."""
    made = taken(busy, lambda r: r.entry(busy.name(1)))
    assert made.chains[0].linked.before == chain.start(busy.head().book)


def test_a_book_of_which_nothing_was_read_gives_its_head(busy: Shed):
    """Every head is told, with nothing to show for it."""
    made = taken(busy, lambda r: None)
    assert made.chains == (Chain(busy.head()),)
    assert alone(made) == []


def test_what_stands_too_far_before_the_head_has_no_links(busy: Shed):
    """Of 2, 4, 7 and 9 (head 10) at most five links tie 7 and 9; 2 and 4 are loose."""
    made = taken(busy, lambda r: [r.entry(busy.name(n)) for n in (2, 7, 9)], 5)
    (each,) = made.chains
    assert [seq for seq, _ in each.loose] == [2, 4]
    assert (each.linked.after, len(each.linked.links)) == (6, 4)
    (told,) = untied(made)
    assert "2 of the entries, up to " in told
    assert seqs(made) == [2, 4, 7, 9]
    assert alone(made) == []
    assert record_faults(busy, made) == []
    changed = tuple(line.replace("T1", "T3") for line in made.lines)
    assert where(alone(made._replace(lines=changed))) == ["2"]


def test_all_may_stand_too_far_before_the_head(busy: Shed):
    """Then nothing leads to it, and the record alone can tell."""
    made = taken(busy, lambda r: r.entry(busy.name(2)), 3)
    assert made.chains[0].linked is None
    assert seqs(made) == [2, 4]
    assert alone(made) == record_faults(busy, made) == []


def test_lines_that_do_not_fit_the_records_own_hash_are_not_carried(busy: Shed):
    """A report of a damaged record would prove nothing: it is told."""
    with busy.behind_its_back() as db:
        db.execute("update entry set line = replace(line, 'bay 1', 'bay 7')")
    with pytest.raises(DoesNotFit, match="do not fit"):
        taken(busy, pests)


HASH = st.text("0123456789abcdef", min_size=64, max_size=64)
LINKS = st.lists(st.builds(Link, st.booleans(), HASH), min_size=1, max_size=4)


@st.composite
def chains(draw: st.DrawFn) -> Carried:
    made = []
    for book in draw(st.sets(st.from_regex(r"\A[a-z]{1,5}-[a-z2-9]{4}\Z"), max_size=3)):
        numbers = sorted(draw(st.sets(st.integers(1, 10**6), max_size=3)))
        loose = tuple((n, draw(HASH)) for n in numbers)
        last = (numbers or [0])[-1] + draw(st.integers(0, 9))
        links = tuple(draw(LINKS)) if draw(st.booleans()) else ()
        linked = Links(last, draw(HASH), links) if links else None
        head = Head(book, last + len(links), draw(HASH))
        made.append(Chain(head, loose, linked))
    return Carried((), tuple(made))


@given(chains())
def test_chains_are_read_as_they_were_written(made: Carried):
    """Every chain, through its text and back."""
    assert read_chains(made.chain_text().decode()) == made.chains


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("book ", "boot ", "a book is to stand there"),
        ("book ", "book x 1\nbook ", "a book is to stand there"),
        ("after 0", "after -1", "it is not as"),
        ("after 0", "after 9" + "0" * 20, "it is not as"),
        ("\n+ ", "\n* ", "it is not as"),
        ("head 10", "head 11", "so many lines do not lead to it"),
        ("head 10", "head 9", "so many lines do not lead to it"),
        ("head 10", "# head 10", "has no head"),
        ("after 0", "loose 1", "it is not as"),
        ("\nhead 10", "\nafter 10 {hash}\nhead 10", "it is not as"),
        ("after 0", "loose 5 {hash}\nafter 0", "it goes back"),
        ("after 0", "loose 5 {hash}\nloose 5 {hash}\nafter 0", "it goes back"),
    ],
)
def test_a_text_that_is_no_chain_is_told_with_its_line(
    busy: Shed, old: str, new: str, said: str
):
    """Cut short, mistyped or counted wrongly."""
    text = taken(busy, lambda r: r.entry(busy.name(1))).chain_text().decode()
    assert text.count(old) >= 1
    text = text.removeprefix(PREFACE)
    with pytest.raises(NotAChain, match=said):
        read_chains(text.replace(old, new.format(hash="0" * 64)))


def test_the_text_says_how_an_auditor_checks_it(busy: Shed):
    """The rule of the chain stands in the file itself."""
    text = taken(busy, pests).chain_text().decode()
    assert r'hash(n) = sha256(hash(n-1) + "\n" + sha256(line n))' in text


# what does not agree


@pytest.fixture
def whole(busy: Shed) -> Carried:
    """The pests of the busy record (5 is ruled through by 6; 7 to 10 stand)."""
    return taken(busy, lambda r: (r.all_versions(["pest"]), r.entry(busy.name(1))))


def where(found: list) -> list[str]:
    return [fault.where.rpartition("/")[2] for fault in found]


def test_a_changed_line_is_named(whole: Carried):
    """Its hash is not the one in the chain."""
    lines = [line.replace("bay 2", "bay 3") for line in whole.lines]
    (fault,) = alone(whole._replace(lines=tuple(lines)))
    assert fault.where.endswith("/9")
    assert fault.what == "is not the line that was hashed"


def test_a_dropped_line_is_named(whole: Carried):
    """The chain has it as carried."""
    (fault,) = alone(whole._replace(lines=whole.lines[:-1]))
    assert (fault.where[-3:], fault.what) == ("/10", "was dropped from the file")


def test_an_added_line_is_named(busy: Shed, whole: Carried):
    """The chain leaves it out, or ends before it."""
    lines = {seq: line for _, seq, line, _ in busy.lines()}
    added = (whole.lines[0], lines[2], *whole.lines[1:])
    (fault,) = alone(whole._replace(lines=added))
    assert (fault.where[-2:], fault.what[:9]) == ("/2", "was added")


def test_a_line_twice_or_out_of_order_is_named(whole: Carried):
    """Each stands once, by book and number."""
    assert where(alone(whole._replace(lines=(*whole.lines, whole.lines[-1])))) == ["10"]
    swapped = (whole.lines[1], whole.lines[0], *whole.lines[2:])
    assert where(alone(whole._replace(lines=swapped))) == ["1"]


def test_what_is_no_line_is_named_by_its_place(whole: Carried):
    """Also a line whose name is no name."""
    odd = ('{"book":', '{"book":1,"seq":"x","kind":"a","happened_at":"b",'
           '"recorded_at":"c","by":"d","body":{}}')  # fmt: skip
    found = alone(whole._replace(lines=(*whole.lines, *odd)))
    many = len(whole.lines)
    assert [fault.where for fault in found] == [
        f"entries.jsonl, line {many + 1}",
        f"entries.jsonl, line {many + 2}",
    ]


def test_a_changed_line_with_its_hash_put_right_does_not_come_to_the_head(
    whole: Carried,
):
    """Who re-hashes cleverly must print another head."""
    (each,) = whole.chains
    line = whole.lines[-1].replace("bay 3", "bay 9")
    links = (*each.linked.links[:-1], Link(True, chain.line_hash(line.encode())))
    forged = each._replace(linked=each.linked._replace(links=links))
    made = Carried((*whole.lines[:-1], line), (forged,))
    assert where(alone(made)) == ["10"]
    end = followed(each.linked.before, links)
    made = made._replace(chains=(forged._replace(head=each.head._replace(hash=end)),))
    assert alone(made) == []
    assert where(list(with_heads(made, [each.head]).faults)) == ["10"]


def test_a_chain_that_begins_with_another_books_hash_is_named(whole: Carried):
    """The start hangs on the book's name."""
    (each,) = whole.chains
    forged = each._replace(linked=each.linked._replace(before="0" * 64))
    found = alone(Carried(whole.lines, (forged,)))
    assert where(found)[0] == "0"


def test_an_earlier_head_is_found_on_the_chain(busy: Shed, whole: Carried):
    """Any head that lies on the links; what lies beyond is said to be untold."""
    _, seq, _, hash_ = busy.lines()[5]
    book = busy.head().book
    assert with_heads(whole, [Head(book, seq, hash_[:8])]) == ((), ())
    wrong = Head(book, seq, "0" * 8)
    assert where(list(with_heads(whole, [wrong]).faults)) == ["6"]
    for head in (Head(book, 11, "0" * 8), Head("other-aaaa", 1, "0" * 8)):
        found = with_heads(whole, [head])
        assert found.faults == ()
        assert head.book in found.untold[0]


# the record


def record_faults(shed: Shed, of: Carried) -> list[tuple[str, str]]:
    with shed.to_read() as record:
        found = with_record(record, of)
    return [(f.where.rpartition("/")[2], f.what.partition(";")[0]) for f in found]


def test_a_record_that_has_grown_agrees(busy: Shed, whole: Carried):
    """What was written since changes nothing before it."""
    busy.write(rat("door"))
    assert record_faults(busy, whole) == []


def test_a_line_that_was_changed_in_the_record_is_named(busy: Shed, whole: Carried):
    """Carried or left out: the first one that is another."""
    with busy.behind_its_back() as db:
        db.execute("update entry set line = replace(line, 'misread', 'mistook')")
    assert record_faults(busy, whole) == [("4", "is another line in the record")]


def test_a_line_that_was_dropped_from_the_record_is_named(busy: Shed, whole: Carried):
    """From the midst."""
    with busy.behind_its_back() as db:
        db.execute("delete from entry where seq = 7")
    assert record_faults(busy, whole) == [("7", "is gone from the record")]


def test_a_cut_tail_is_named(busy: Shed, whole: Carried):
    """The file itself is the head at hand."""
    with busy.behind_its_back() as db:
        db.execute("delete from entry where seq = 10")
    assert record_faults(busy, whole)[0][0] == "10"


def test_an_exchanged_hash_is_named(busy: Shed, whole: Carried):
    """All lines the same, and a head that is not."""
    with busy.behind_its_back() as db:
        db.execute("update entry set hash = ? where seq = 10", ("0" * 64,))
    assert record_faults(busy, whole) == [
        ("10", "has another hash in the record than in the file")
    ]


def test_a_line_that_was_added_in_the_record_is_named(busy: Shed, whole: Carried):
    """One put in between, and all that follow moved on: the first that differs."""
    with busy.behind_its_back() as db:
        rows = db.execute("select book, seq, line from entry where seq >= 8").fetchall()
        db.execute("delete from entry where seq >= 8")
        moved = [
            (book, seq + 1, line.replace(f'"seq":{seq}', f'"seq":{seq + 1}'))
            for book, seq, line in rows
        ]
        added = (*rows[0][:2], rows[0][2].replace("bay 1", "bay 6"))
        db.executemany(
            "insert into entry(book, seq, line, hash) "
            "values (?, ?, ?, hex(zeroblob(32)))",
            [added, *moved],
        )
    assert record_faults(busy, whole) == [("8", "is another line in the record")]


def test_the_record_of_another_farm_is_told(tmp_path, whole: Carried):
    """None of its books is there."""
    (tmp_path / "other").mkdir()
    other = Shed.create(tmp_path / "other")
    (found,) = record_faults(other, whole)
    assert found[1] == "none of its lines is in the record: is it another's?"


def test_struck_and_corrected_lines_of_two_books_are_carried(busy: Shed):
    """Each book has its own chain."""
    other = replace(busy, keys=busy.path.with_name("other-keys"))
    (mine,) = other.write(Mould(batch="B-1", rack="R3"))
    other.write(Strike(struck="mould"), corrects=mine.name, reason="wrong rack")
    made = taken(busy, lambda r: r.all_versions(["mould"]))
    assert len(made.chains) == 2
    assert len(made.lines) == 4
    assert alone(made) == []
    assert record_faults(busy, made) == []
