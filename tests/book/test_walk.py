"""The walk of ``verify``: quick on plain lines, and never kinder than SQL on others."""

from __future__ import annotations

import json
import re
from datetime import timedelta

import pytest
from shed import Shed, rat

from hygiene.book import chain
from hygiene.book.schema import reference_names
from hygiene.book.stream import STRETCH, versions
from hygiene.book.walk import Told, any_of, said, told, told_by_another
from hygiene.kinds.find import Mould, Pest

BODY = '{"batch":"B-9","trays":["T1","T2"]}'


def walked(shed: Shed) -> Told:
    """What the lines of a record without a broken chain mention."""
    with shed.to_read() as record:
        assert said(record.db).broken == []
        return told(record.db)


def forge(shed: Shed, body: str, after: str = "", **envelope: object) -> str:
    """A line whose chain is right, with this body; the trigger lists what it names."""
    head = shed.head()
    said = {
        "book": head.book, "seq": head.seq + 1, "v": 1, "kind": "mould",
        "happened_at": "2026-03-02T07:00:00+00:00",
        "recorded_at": "2026-03-02T07:00:00+00:00", "by": "AB", **envelope,
    }  # fmt: skip
    line = json.dumps(said, separators=(",", ":"))[:-1] + f',"body":{body}{after}}}'
    with shed.plain() as db:
        db.execute("pragma ignore_check_constraints = on")
        db.execute(
            "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)",
            (head.book, head.seq + 1, line, chain.follow(head.hash, line.encode())),
        )
    return f"{head.book}/{head.seq + 1}"


def test_plain_lines_are_all_told_by_the_walk(busy: Shed):
    """What they mention comes to the same sum as the table of mentions."""
    assert walked(busy) == Told(aside=[], files=False, listed=True)


def test_another_process_tells_the_same(busy: Shed):
    """Of a long record it makes the second walk; what it lacks is told here."""
    busy.write(Mould(batch="B-1", trays=("T1",), note='a "grey" spot'))
    assert told_by_another(busy.path) == walked(busy)
    assert told_by_another(busy.path.with_name("no.db")) is None


@pytest.mark.parametrize(
    "thing",
    [
        Mould(batch="B-1", trays=("T1",), note='a "grey" spot'),
        Mould(batch="B-1", trays=("T1",), note="a back\\slash"),
        Pest(what="rat [two", place="bay 1"),
    ],
)
def test_a_line_that_is_not_plain_is_put_aside_and_is_no_fault(
    shed: Shed, thing: Mould | Pest
):
    """A quote, a backslash or a bracket in a text asks SQL of this line alone."""
    (made,) = shed.write(thing)
    assert walked(shed) == Told([(made.book, made.seq)], files=False, listed=True)
    assert shed.faults() == []


@pytest.mark.parametrize(
    "body",
    [
        BODY,
        '{"batch" : "B-9", "trays":["T1","T2"]}',
        '{"batch": "B-9"}',
        '{"trays":["T1", "T2"]}',
        '{"trays":[ "T1"]}',
        '{"trays":["T1",7,"T2"]}',
        '{"trays":[7,"T2"]}',
        '{"trays":[{"batch":"B-9"}]}',
        '{"trays":[["T1"]],"batch":"B-9"}',
        '{"trays":["T1"],"places":[{"deep":[{"tray":"T3"}]}]}',
        '{"note":"\\"batch\\":\\"B-8\\"","batch":"B-9"}',
        '{"batch":""}',
        '{"batch":"B-9","batch":"B-10"}',
    ],
)
def test_a_mention_that_was_taken_away_is_found_however_it_was_written(
    shed: Shed, body: str
):
    """One of them or all, and nothing is found before that."""
    name = forge(shed, body)
    assert shed.faults() == []
    with shed.plain() as db:
        code = db.execute("select min(code) from mention").fetchone()
        db.execute("delete from mention where code = ?", code)
        assert name in shed.where()
        db.execute("delete from mention")
        assert name in shed.where()


@pytest.mark.parametrize(
    "after",
    [',"more":{"batch":"B-8"}', ' ,"batch":"B-8","z":{}', ',"body":{"batch":"B-8"}'],
)
def test_what_a_line_says_beside_its_body_is_no_mention(shed: Shed, after: str):
    """A mention of it that was added is found, though the line is not as ours are."""
    name = forge(shed, BODY, after)
    assert shed.faults() == []
    with shed.plain() as db:
        head = shed.head()
        db.execute(
            "insert into mention values ('B-8', 'mould', ?, ?)", (head.book, head.seq)
        )
    assert name in shed.where()


def test_a_body_that_stands_before_the_kind_is_found_too(shed: Shed):
    """The order of a line's keys is no rule of JSON."""
    name = forge(shed, BODY, ',"by":"AB"')
    assert shed.faults() == []
    with shed.plain() as db:
        db.execute("delete from mention where code = 'T2'")
    assert name in shed.where()


@pytest.mark.parametrize(
    "envelope",
    [
        {"happened_at": "2026-13-02T07:00:00+00:00"},
        {"recorded_at": "2026-03-02T25:00:00+00:00"},
        {"by": None},
        {"v": None},
        {"kind": "opening"},
        {"seq": "2"},
        {"book": "shed-zzzz"},
    ],
)
def test_what_every_line_says_is_asked_of_each(shed: Shed, envelope: dict[str, object]):
    """Its chain may be right: what it says of itself is not."""
    assert forge(shed, BODY, **envelope) in shed.where()


def test_every_name_that_refers_and_no_other_fits_their_pattern():
    """Also not their beginnings, nor longer ones."""
    fits = re.compile(any_of(reference_names())).fullmatch
    for name in reference_names():
        assert fits(name)
    others = {n[:-1] for n in reference_names()} | {f"{n}x" for n in reference_names()}
    assert not [name for name in others - reference_names() if fits(name)]


def test_a_period_read_in_stretches_is_the_period_read_at_once(shed: Shed):
    """In the same order, corrected ones as well, on both sides of every seam."""
    began = shed.clock.moment
    for place in range(6):
        (made,) = shed.write(rat(f"bay {place}"))
        shed.write(rat("bay 9"), corrects=made.name, reason="misread")
        shed.clock.on(seconds=STRETCH.total_seconds() / 2)
    until = began + timedelta(days=400)
    with shed.to_read() as record:
        for kinds in (["pest"], ["pest", "mould"], ["mould"]):
            at_once = record.versions(kinds, since=began, before=until)
            assert list(versions(record, kinds, began, until)) == at_once
