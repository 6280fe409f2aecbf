"""The walk of ``verify``: quick on plain lines, and never kinder than SQL on others."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from datetime import timedelta
from random import Random
from typing import Any

import pytest
from shed import Shed, rat

from hygiene.book import chain
from hygiene.book.schema import mentions_told, reference_names, statements
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


# whatever a body looks like

COUNT = 1000
SPOILS = (
    "delete from mention",
    "delete from mention where code = 'B-9'",
    "update or ignore mention set code = 'B-7' where code = 'T1'",
    "insert or ignore into mention select 'B-8', kind, book, seq from entry",
    "insert or ignore into mention select code, 'pest', book, seq from mention",
)


def value(dice: Random, deep: int = 2) -> Any:
    """A text, a number, or at most three of them in a list or under names."""
    sort = dice.choice("ttttnld"[: 7 if deep else 5])
    several = range(dice.randrange(1, 4))
    if sort == "l":
        return [value(dice, deep - 1) for _ in several]
    if sort == "d":
        return {dice.choice(("batch", "note")): value(dice, deep - 1) for _ in several}
    return dice.choice(("T1", "B-8", "B-9")) if sort == "t" else 7


def line_of(dice: Random) -> str:
    """A line of a right form, but for what its body says and what stands after it."""
    spacing = dice.choice([(",", ":")] * 4 + [(",", ": "), (" ,", ":"), (", ", ":")])
    keys = dice.sample(("batch", "trays", "note"), dice.randrange(1, 3))
    body = json.dumps({key: value(dice) for key in keys}, separators=spacing)
    more = {dice.choice(("batch", "note")): value(dice)}
    after = f',"more":{json.dumps(more, separators=spacing)}'
    return (
        '{"book":"shed-k7q2","seq":1,"v":1,"kind":"opening",'
        '"happened_at":"2026-03-02T07:00:00+00:00",'
        '"recorded_at":"2026-03-02T07:00:00+00:00",'
        f'"by":"AB","body":{body}{after if dice.random() < 0.3 else ""}}}'
    )


def test_the_walks_never_pass_what_sql_would_not():
    """Bodies of all forms, spaced anyhow, with something after them or not."""
    dice, seen = Random(2026), {True: 0, False: 0}
    kept = "select code, kind, book, seq from mention"
    ways = [f"{mentions_told()} except {kept}", f"{kept} except {mentions_told()}"]
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        for statement in statements():
            db.execute(statement)
        for _ in range(COUNT):
            line = line_of(dice)
            hashed = chain.follow(chain.start("shed-k7q2"), line.encode())
            db.execute("begin")
            db.execute(
                "insert into entry(book, seq, line, hash) values (?, 1, ?, ?)",
                ("shed-k7q2", line, hashed),
            )
            db.execute(dice.choice(SPOILS))
            first, second = said(db), told(db)
            passed = second.listed and set(first.aside) <= set(second.aside)
            right = not any(db.execute(way).fetchall() for way in ways)
            db.execute("rollback")
            assert first.broken == []
            assert right or not passed, line
            seen[right] += 1
    assert min(seen.values()) > COUNT / 5
