"""The clause map: each clause with the chapters that answer it, or that none does.

A clause counts as answered where something of the kinds that answer it is written in
the period, or stands at the farm: whether that is enough is for the reader to judge.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final, NamedTuple

from hygiene.inspection.clauses import PRACTICE, Clause
from hygiene.kinds import SETUP
from hygiene.reports.reading import Reading
from hygiene.reports.words import count, listed

CHAPTER_OF: Final = {
    "sign_off": "months",
    "miss": "exceptions",
    "countersign": "months",
    "checklist": "months",
    "dose": "dosing",
    "rinse": "dosing",
    "product": "store",
    "container": "store",
    "opened": "store",
    "lost": "store",
    "strength": "store",
    "water": "water",
    "point": "water",
    "disturbance": "water",
    "seed": "seed",
    "germination": "seed",
    "scrap": "seed",
    "sow": "batches",
    "move": "batches",
    "discard": "batches",
    "sample": "batches",
    "feed": "feeding",
    "dispatch": "feeding",
    "mould": "mould",
    "hold": "exceptions",
    "release": "exceptions",
    "assess": "exceptions",
    "notify": "exceptions",
    "ill": "exceptions",
    "accident": "exceptions",
    "action": "exceptions",
    "recheck": "exceptions",
    "close": "exceptions",
    "pest": "pests",
    "visitor": "visitors",
    "train": "training",
    "person": "holding",
    "kit": "calibration",
    "calibrate": "calibration",
    "file": "papers",
    "drill": "seal",
    "backup": "seal",
    "opening": "seal",
}
"""The chapter that shows a kind; the set-up's others stand in ``holding``."""
INSTEAD: Final = {
    "seed": "glance",
    "batches": "glance",
    "feeding": "glance",
    "mould": "exceptions",
    "pests": "exceptions",
    "visitors": "holding",
    "training": "holding",
    "calibration": "holding",
    "water": "glance",
    "dosing": "glance",
    "store": "holding",
}
"""Where to look if a pack has no such chapter."""


IN_SHORT: Final = {
    "holding": "The farm",
    "exceptions": "Exceptions",
    "glance": "At a glance",
    "seal": "What this proves",
}
"""Titles that are too long for the map."""


class Link(NamedTuple):
    """A chapter to go to: the id of its heading, and its title."""

    chapter: str
    title: str


class Answer(NamedTuple):
    """A clause of the map: what it asks, how that was checked, and what answers it."""

    clause: str
    says: str
    checked: str
    state: str
    told: str
    links: tuple[Link, ...]
    own: bool


class Heap(NamedTuple):
    """The clauses of one jurisdiction."""

    title: str
    answers: tuple[Answer, ...]


def answering(
    reading: Reading,
    clauses: Iterable[Clause],
    beside: Mapping[str, int],
    titles: Mapping[str, str],
) -> tuple[Heap, ...]:
    """The map; ``beside`` counts kinds that the reading has not, ``titles`` names the
    chapters of the pack by their ids.
    """
    known: dict[str, int] = dict(beside)
    heaps: dict[str, list[Answer]] = {}
    for clause in clauses:
        for kind in clause.answered_by:
            if kind not in known:
                known[kind] = _written(reading, kind)
        heaps.setdefault(clause.jurisdiction, []).append(_answer(clause, known, titles))
    return tuple(Heap(_heap(title), tuple(rows)) for title, rows in heaps.items())


def _heap(jurisdiction: str) -> str:
    return "Common practice: no law" if jurisdiction == PRACTICE else jurisdiction


def _written(reading: Reading, kind: str) -> int:
    if kind in SETUP:
        return 1 if kind == "farm" else len(reading.farm.things(kind))
    if kind == "train":
        return sum(len(reading.farm.trainings(code)) for code in reading.farm.people)
    return sum(map(reading.happened_in, reading.of_kind(kind)))


def _answer(
    clause: Clause, written: Mapping[str, int], titles: Mapping[str, str]
) -> Answer:
    state, told = _state(clause, written)
    found = [kind for kind in clause.answered_by if written.get(kind)]
    shown = dict.fromkeys(_chapter(kind, titles) for kind in found)
    return Answer(
        clause.clause,
        clause.says,
        clause.how_checked,
        state,
        told,
        tuple(Link(c, IN_SHORT.get(c, titles[c])) for c in shown if c in titles),
        clause.own,
    )


def _state(clause: Clause, written: Mapping[str, int]) -> tuple[str, str]:
    if not clause.applies:
        return "does not apply", f"The farm says that it does not apply: {clause.why}"
    parts = [
        count(written[kind], *_names(kind))
        for kind in clause.answered_by
        if written.get(kind)
    ]
    if parts:
        return "answered", listed(parts)
    if not clause.answered_by:
        return "unanswered", "No record of this program answers it."
    kinds = listed(_names(kind)[0] for kind in clause.answered_by)
    return "unanswered", f"Unanswered: nothing is written of {kinds}."


def _names(kind: str) -> tuple[str, str]:
    """A kind as a noun, one and many."""
    one = WORDS.get(kind, kind.replace("_", " "))
    return one, MANY.get(kind, f"{one}s")


WORDS: Final = {
    "train": "training",
    "sow": "sowing",
    "feed": "feeding",
    "ill": "report of sick animals",
    "seed": "seed lot",
    "mould": "find of mould",
    "pest": "find of pests",
    "water": "water test",
    "assess": "assessment",
    "notify": "notice to others",
    "calibrate": "check of a meter",
    "countersign": "second look",
    "file": "filed paper",
    "germination": "germination test",
    "opened": "opening of a container",
    "opening": "opening of the record",
    "lost": "loss from a container",
    "disturbance": "disturbance of the water",
    "scrap": "scrapping of seed",
    "farm": "farm profile",
    "animals": "group of animals",
    "strength": "test of a strength",
    "close": "closing of an action",
    "action": "corrective action",
    "miss": "miss with its reason",
    "point": "sample point",
    "move": "moving of trays",
    "line": "water line",
    "backup": "checked backup",
}
MANY: Final = {
    "person": "people",
    "dispatch": "dispatches",
    "ill": "reports of sick animals",
    "mould": "finds of mould",
    "pest": "finds of pests",
    "notify": "notices to others",
    "calibrate": "checks of meters",
    "opened": "openings of containers",
    "opening": "openings of the record",
    "lost": "losses from containers",
    "disturbance": "disturbances of the water",
    "scrap": "scrappings of seed",
    "animals": "groups of animals",
    "strength": "tests of strength",
    "close": "closings of actions",
    "miss": "misses with their reasons",
    "move": "movings of trays",
}


def _chapter(kind: str, titles: Mapping[str, str]) -> str:
    wanted = CHAPTER_OF.get(kind, "holding")
    return wanted if wanted in titles else INSTEAD.get(wanted, wanted)


def tally(heaps: Iterable[Heap]) -> Iterator[str]:
    """How many clauses there are, and how many are not answered."""
    every = [answer for heap in heaps for answer in heap.answers]
    for state in ("answered", "unanswered", "does not apply"):
        many = sum(answer.state == state for answer in every)
        if many:
            yield f"{many} {state}"
