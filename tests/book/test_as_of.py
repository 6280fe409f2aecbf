"""A record as it was: by earlier heads, by a moment, or of carried lines alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from shed import MONDAY, Shed, rat

from hygiene.book.as_of import NotAtHead, cut, heads_at, laid_out
from hygiene.book.carried import Carried, Chain
from hygiene.book.noted import carried, noting
from hygiene.book.record import Head, Record, Unreadable
from hygiene.errors import Damaged
from hygiene.kinds.find import Mould

KINDS = ("mould", "pest", "hold", "strike", "opening")


def asked(record: Record) -> list[object]:
    """Something of every way in which a record is read."""
    book = record.heads()[0].book
    ways = [
        record.heads(),
        record.count(),
        record.entries(KINDS),
        record.all_versions(KINDS),
        record.versions(KINDS, since=MONDAY, before=MONDAY + timedelta(days=1)),
        record.versions_naming("B-1"),
        record.mentioning("B-1", f"{book}/2"),
        record.mentioning("B-1", every_version=True),
        record.latest("mould", "B-1", before=MONDAY + timedelta(days=1)),
        record.newest("pest"),
        record.unanswered("hold", "release"),
        record.history(f"{book}/2"),
        record.demonstration(),
    ]
    return list(ways)


def test_a_record_is_read_as_of_an_earlier_head(busy: Shed, tmp_path):
    """Whatever is asked, the answers are those that it gave then."""
    lines = busy.lines()
    for book, seq, _, hash_ in lines[1:]:
        then = Shed(tmp_path / f"{seq}.db", busy.keys)
        then.path.write_bytes(busy.path.read_bytes())
        with then.behind_its_back() as db:
            db.execute("delete from entry where seq > ?", (seq,))
            db.execute("delete from mention where seq > ?", (seq,))
        with then.to_read() as record:
            wanted = asked(record)
        with busy.to_read() as record:
            assert cut(record, [Head(book, seq, hash_[:8])]) == (
                Head(book, seq, hash_),
            )
            assert asked(record) == wanted


def test_reading_as_of_a_head_changes_nothing(busy: Shed):
    """The record that another reads is whole, and its bytes are the same."""
    before = busy.path.read_bytes()
    book, seq, _, hash_ = busy.lines()[2]
    with busy.to_read() as record:
        cut(record, [Head(book, seq, hash_)])
        assert len(busy.lines()) == 10
        with pytest.raises(Exception, match="readonly"):
            record.db.execute("delete from attachment")
    assert busy.path.read_bytes() == before
    assert busy.faults() == []


def test_a_book_without_a_head_was_not_there(busy: Shed):
    """One that was opened since says nothing of then."""
    first = busy.head()
    other = replace(busy, keys=busy.path.with_name("other-keys"))
    other.write(rat("door"))
    with busy.to_read() as record:
        cut(record, [first])
        assert record.heads() == [first]
        assert len(record.entries(["pest"])) == 4


def test_a_head_that_is_gone_or_differs_is_refused(busy: Shed):
    """Exit code 6: the record is not what it was."""
    book, seq, _, _ = busy.lines()[2]
    with busy.to_read() as record:
        with pytest.raises(NotAtHead, match="is gone"):
            cut(record, [Head(book, 99, "0" * 8)])
        with pytest.raises(NotAtHead, match="differs"):
            cut(record, [Head(book, seq, "0" * 8)])
    assert NotAtHead.exit_code == 6


def test_a_moment_gives_the_last_line_written_by_then(busy: Shed):
    """By the place in the book: a clock that ran ahead earlier hides nothing."""
    lines = busy.lines()
    moments = [busy.clock.moment]
    with busy.to_read() as record:
        (head,) = heads_at(record, moments[0])
        assert head.seq == 10
        assert heads_at(record, MONDAY - timedelta(days=1)) == ()
    busy.clock.moment += timedelta(days=9)
    busy.write(rat("ahead"))
    busy.clock.moment -= timedelta(days=8)
    busy.write(rat("right again"))
    with busy.to_read() as record:
        (head,) = heads_at(record, busy.clock.moment)
        assert (head.book, head.seq) == (lines[0][0], 12)


def test_carried_lines_answer_as_the_record_did(busy: Shed):
    """Laid out alone, they give the same answers, with the heads that are stated."""

    def ask(record: Record) -> list[object]:
        return [
            record.heads(),
            record.entries(["mould"]),
            record.all_versions(["mould"]),
            record.unanswered("hold", "release"),
        ]

    with busy.to_read() as record, noting(record) as noted:
        wanted = ask(record)
        made = carried(record, noted)
    assert len(made.lines) == 3
    with laid_out(made) as record:
        assert ask(record) == wanted


def test_carried_files_are_there_again(busy: Shed):
    """By their hash."""
    with laid_out(Carried((), (), {"a" * 64: b"photo"})) as record:
        assert record.file("a" * 64) == b"photo"


@pytest.mark.parametrize("line", ["{", '{"book":"a"}', '{"book":"a","seq":1}'])
def test_a_line_that_no_record_holds_is_refused(line: str):
    """What a stranger hands over is checked as every line is."""
    with pytest.raises(Damaged):
        laid_out(Carried((line,), ()))


def test_a_line_that_stands_twice_is_refused(busy: Shed):
    """A record has each once."""
    line = busy.lines()[0][2]
    with pytest.raises(Unreadable):
        laid_out(Carried((line, line), (Chain(busy.head()),)))


def test_a_correction_without_its_first_entry_stands(busy: Shed):
    """Only what was read travels: the entry that it puts right need not."""
    with busy.to_read() as record, noting(record) as noted:
        (wanted,) = record.entries(["mould"])
        made = carried(record, noted)
    assert len(made.lines) == 1
    with laid_out(made) as record:
        assert record.entries(["mould"]) == [wanted]
        assert wanted.get("rack") == Mould(batch="B-1", rack="R2").rack
