"""Whatever was asked of a record, the noted lines alone answer the same again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from random import Random

import pytest
from shed import MONDAY, Shed, rat

from hygiene.book.as_of import laid_out
from hygiene.book.compare import alone
from hygiene.book.noted import carried, noting, settled
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Unknown
from hygiene.kinds.action import Action, Close
from hygiene.kinds.book import Strike
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold, Mould, Release

KINDS = ("pest", "mould", "hold", "release", "action", "close", "strike")
BATCHES = ("B-1", "B-2", "B-3")

Ask = Callable[[Record], object]


def lived(shed: Shed, chance: Random, entries: int) -> list[Entry]:
    """A record in which things are written, corrected, struck, answered, reopened."""
    made: list[Entry] = []
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as writing:
        for _ in range(entries):
            shed.clock.moment += timedelta(hours=chance.randint(1, 9))
            made.append(_one(writing, chance, made))
    return made


def _one(writing: Writing, chance: Random, made: list[Entry]) -> Entry:
    some = chance.choice(made) if made else None
    firsts = [e for e in made if e.kind != "strike" and e.corrects is None]
    about = chance.choice(firsts) if firsts else None
    match chance.randrange(9):
        case 0 if about:
            first = writing.record.entry(about.name)
            strike = Strike(struck=first.kind)
            return writing.add(strike, by="AB", corrects=first.name, reason="wrong")
        case 1 | 2 if about and about.kind in ("mould", "pest"):
            thing = rat("bay") if about.kind == "pest" else _mould(chance)
            return writing.add(thing, by="AB", corrects=about.name, reason="misread")
        case 3 if some:
            hold = Hold(
                held=chance.choice(BATCHES), sort="batch", why="m", because=some.name
            )
            return writing.add(hold, by="AB")
        case 4 if about and about.kind == "hold":
            return writing.add(Release(hold=about.name, why="seen"), by="AB")
        case 5 if some:
            return writing.add(Action(about=some.name, problem="wet"), by="AB")
        case 6 | 7 if about and about.kind == "action":
            close = Close(action=about.name, did="dry", recheck=about.name)
            return writing.add(close, by="AB")
    return writing.add(chance.choice((rat("door"), _mould(chance))), by="AB")


def _mould(chance: Random) -> Mould:
    return Mould(batch=chance.choice(BATCHES), rack="R1")


def questions(chance: Random, made: list[Entry], until: datetime) -> list[Ask]:
    """A handful of every sort that a report may ask."""
    names = [chance.choice(made).name for _ in range(4)]
    kinds = tuple(chance.sample(KINDS, 2))
    codes = (chance.choice(BATCHES), names[0])
    span = until - MONDAY
    ends = sorted(MONDAY + span * chance.random() for _ in range(2))
    every: list[Ask] = [
        lambda r: r.heads(),
        lambda r: r.entries(kinds, since=ends[0], before=ends[1]),
        lambda r: r.all_versions(kinds, before=ends[1]),
        lambda r: r.versions(kinds, since=ends[0], before=ends[1]),
        lambda r: r.versions_naming(*codes),
        lambda r: r.mentioning(*codes),
        lambda r: r.mentioning(*codes, every_version=True),
        lambda r: r.latest(kinds[0], codes[0], before=ends[1], most=2),
        lambda r: r.newest(kinds[0]),
        lambda r: r.unanswered("hold", "release"),
        lambda r: r.unanswered("action", "close"),
        lambda r: r.entry(names[1]),
        lambda r: r.history(names[2]),
        lambda r: r.standing(names[3]),
        lambda r: r.histories([*names, "shed-none/7"]),
        lambda r: _or_none(r, "shed-none/7"),
    ]
    return chance.sample(every, chance.randint(1, 6))


def _or_none(record: Record, name: str) -> Entry | None:
    try:
        return record.entry(name)
    except Unknown:
        return None


@pytest.mark.parametrize("seed", range(4))
def test_the_noted_lines_answer_as_the_record_did(shed: Shed, seed: int):
    """Random records and questions: the answers, and what is noted, are the same."""
    chance = Random(seed)
    made = lived(shed, chance, 60)
    for _ in range(12):
        asked = questions(chance, made, shed.clock.moment)
        with shed.to_read() as record, noting(record) as noted:
            wanted = [ask(record) for ask in asked]
            lines = carried(record, noted)
        assert alone(lines) == []
        with laid_out(lines) as record, noting(record) as again:
            assert [ask(record) for ask in asked] == wanted
            assert len(settled(record, again)) == len(lines.lines)
