"""The pest log: what was seen, where, what was done; how often somebody looked.

It answers 183/2005 Annex I A I 4(d) and A II 2(c), pests kept out and their occurrence
written down (from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.book.record import Record
from hygiene.kinds.entry import Entry
from hygiene.reports.logs import page as log
from hygiene.reports.logs.rounds import (
    rounds,
    rounds_counted,
    rounds_silent,
    rounds_told,
    with_rounds,
)
from hygiene.reports.logs.told import open_or_closed, told
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, read_only, span_of
from hygiene.reports.words import count, plain
from hygiene.rota.day import State
from hygiene.rota.schedule import Task

KINDS: Final = ("pest",)
HEADS: Final = ("What", "Where", "How many", "Done about it", "Action", "By", "Entry")


class Gathered(NamedTuple):
    """What the page is made from; ``papers`` are those about pests."""

    reading: Reading
    rounds: tuple[State, ...]
    papers: tuple[Entry, ...]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the pests of the period, and the rounds that look for them."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Gathered:
    """The rounds of the period that look for pests, and the contract."""
    _, end = span_of(reading.rota, reading.period)
    made = rounds(record, reading, _looks)
    papers = {
        (entry.get("sort"), entry.get("title")): entry
        for entry in record.entries(("file",), before=end)
        if entry.get("sort") == "pest-contract"
    }
    return Gathered(with_rounds(record, reading, made), made, tuple(papers.values()))


def _looks(task: Task) -> bool:
    return any(step.get("writes") == "pest" for step in task.steps)


def page(gathered: Gathered) -> log.Page:
    """The pest log of the period."""
    reading, made, papers = gathered
    pests = log.in_period(reading, "pest")
    acted = [m for m in pests if reading.answers(m, "action", struck=True)]
    return log.page_of(
        reading,
        "The pest log",
        nothing="No pest was written, and no round that looks for them was due.",
        summary=_summary(reading, pests, made),
        parts=(
            _places(pests),
            log.stories(
                "What was seen, and what was done about it",
                [
                    told(reading, m, _said(m.said), sign=_sign(reading, m))
                    for m in acted
                ],
            ),
            log.stories(
                "Rounds that found something wrong, or were missed",
                rounds_told(reading, made),
            ),
            log.sentences("Rounds of which nothing is written", rounds_silent(made)),
            log.listing(
                reading,
                HEADS,
                [_row(reading, m) for m in pests],
                ("find", "finds"),
                title="All that was seen",
                file=log.csv_name("pest", reading.period),
                right=("How many",),
            ),
            _papers(papers),
        ),
        matters=pests,
        attached=log.file_of(reading, "pest", pests),
    )


def _state(reading: Reading, pest: Matter) -> str:
    """What became of the actions about it, and about the round that found it."""
    return open_or_closed(reading, pest, *reading.answers(pest, "sign_off"))


def _sign(reading: Reading, matter: Matter) -> str:
    return "✔" if _state(reading, matter) == "action closed" else "▲"


def _said(entry: Entry) -> str:
    many = entry.get("count")
    number = "" if many is None else f", {plain(many)} of them"
    return f"{entry.get('what')}, {entry.get('place')}{number}"


def _row(reading: Reading, matter: Matter) -> log.Row:
    entry = matter.said
    state = _state(reading, matter)
    action = f"{_sign(reading, matter)} {state}" if state else "none"
    return log.Row(
        matter,
        (
            str(entry.get("what")),
            str(entry.get("place")),
            plain(entry.get("count")),
            str(entry.get("did") or "not said"),
            "– ruled through" if matter.struck else action,
            entry.by,
            matter.first.name,
        ),
        "struck" if matter.struck else "good",
    )


def _places(pests: Sequence[Matter]) -> log.Listing | None:
    """What was seen again in the same place."""
    found = Counter(
        (str(m.said.get("what")), str(m.said.get("place")))
        for m in pests
        if not m.struck
    )
    made = [
        (f"{many} times", what, place)
        for (what, place), many in found.most_common()
        if many > 1
    ]
    return log.figures(
        "Seen again and again", "How often", ("What", "Where"), made, right=()
    )


def _papers(papers: Sequence[Entry]) -> log.Listing | None:
    heads = ("Number", "Dated", "To be reviewed by", "Kept where", "Entry")
    made = [
        (
            str(entry.get("title")),
            *(
                plain(entry.get(k))
                for k in ("number", "dated", "review_on", "kept_where")
            ),
            entry.name,
        )
        for entry in papers
    ]
    return log.figures("Contract", "Title", heads, made, right=())


def _summary(
    reading: Reading, pests: Sequence[Matter], made: Sequence[State]
) -> Iterator[str]:
    standing = [m for m in pests if not m.struck]
    if standing:
        yield f"Pests or their traces were written {count(len(standing), 'time')}."
    elif made:
        yield "No pest, and no trace of one, was written in this time."
    waiting = sum(_state(reading, m) == "action open" for m in standing)
    if waiting:
        yield f"▲ {count(waiting, 'action')} about them still open."
    silent = sum(not m.said.get("did") and not _state(reading, m) for m in standing)
    if silent:
        yield f"▲ Of {count(silent, 'find')} it is not written what was done."
    yield from rounds_counted(made)
