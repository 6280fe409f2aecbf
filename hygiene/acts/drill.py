"""A drill: what an inspector would ask of a lot, both ways, and what was found of it.

The lot is drawn by the date, so that nobody chooses an easy one and everybody who runs
it on that day has the same. The right answers are the record's own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from random import Random
from typing import Final, NamedTuple

from hygiene.acts.balance import add_up, of_code
from hygiene.acts.codes import meant
from hygiene.acts.how import How
from hygiene.acts.subject import A_YEAR, Subject, subject_of
from hygiene.acts.trace import Trace, trace
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Unknown
from hygiene.farm.in_force import in_force
from hygiene.kinds.action import Action
from hygiene.kinds.codes import WrongCode, read_minted
from hygiene.kinds.drill import Drill, DrillWay
from hygiene.kinds.entry import Entry, rows_of
from hygiene.tracing.balance import Balance
from hygiene.tracing.lineage import Link, Node

Stopwatch = Callable[[], float]
"""Seconds of a clock that only runs forward."""

WITHIN: Final = timedelta(hours=4)
WITHIN_SOURCE: Final = (
    "within 4 hours is what private standards commonly ask (from memory, no source); "
    "the law says on demand (178/2002 Article 18)"
)


class NothingToDrill(Unknown):
    """No lot whose fodder has gone anywhere."""

    sentence = "{what}"


class Question(NamedTuple):
    """One way of a drill: what is asked, the right codes, and the trace's own time."""

    way: str
    asks: str
    right: tuple[str, ...]
    record_ms: int


class Drilled(NamedTuple):
    """A drill laid out: the lot's trace, both questions, and whether it adds up."""

    lot: str
    trace: Trace
    questions: tuple[Question, ...]
    balance: Balance


class Written(NamedTuple):
    """What a drill wrote: the drill, and the action where something was not found."""

    drill: Entry
    action: Entry | None = None
    already: bool = False


def lay_out(
    record: Record,
    setup: list[Entry],
    given: str | None,
    now: datetime,
    stopwatch: Stopwatch,
) -> Drilled:
    """The questions of a drill; the lot is drawn by the day unless it is given.

    Raises ``NothingToDrill`` where no fodder of it was fed or sent yet.
    """
    lot = meant(record, "lot", given) if given else _drawn(record, setup, now)
    subject = Subject("lot", lot, (), (Node("lot", lot),))
    started = stopwatch()
    forward = trace(record, setup, subject, now)
    took = stopwatch() - started
    out = [link for link in forward.forward if link.how in ("fed", "sent")]
    if not out:
        raise NothingToDrill(
            what=f"nothing of {lot} was fed or sent yet",
            way_out="name a lot that was: hygiene drill LOT",
        )
    went = Question(
        "forward",
        f"Which groups and which buyers got fodder of lot {lot}?",
        tuple(sorted({link.target.code for link in out})),
        round(took * 1000),
    )
    came = _back(record, setup, lot, out, now, stopwatch)
    made = add_up(record, of_code(record, "lot", lot), now)
    return Drilled(lot, forward, (went, came), made)


def _drawn(record: Record, setup: list[Entry], now: datetime) -> str:
    """A lot that was sown in the last year and went out: by chance, from the date."""
    zone = in_force(setup, now).zone
    sown = record.entries(["sow"], since=now - A_YEAR)
    lots = sorted({str(r.get("lot")) for sow in sown for r in rows_of(sow, "seeds")})
    if not lots:
        raise NothingToDrill(
            what="no lot was sown in the last year",
            way_out="name one: hygiene drill LOT",
        )
    Random(f"drill {now.astimezone(zone).date()}").shuffle(lots)
    return next((lot for lot in lots if _went_out(record, lot)), lots[0])


def _went_out(record: Record, lot: str) -> bool:
    sown = [e for e in record.mentioning(lot) if e.kind == "sow"]
    codes = [str(entry.get("batch")) for entry in sown]
    named = record.mentioning(*codes) if codes else []
    return any(entry.kind in ("feed", "dispatch") for entry in named)


def _back(
    record: Record,
    setup: list[Entry],
    lot: str,
    out: list[Link],
    now: datetime,
    stopwatch: Stopwatch,
) -> Question:
    """From animals or a buyer on one day back to the seed."""
    farm = in_force(setup, now)
    link = Random(f"{lot} {now.astimezone(farm.zone).date()}").choice(out)
    day = link.at.astimezone(farm.zone).date()
    started = stopwatch()
    subject = subject_of(record, farm, link.target.code, now, day, day)
    found = trace(record, setup, subject, now)
    took = stopwatch() - started
    lots = {each.source.code for each in found.back if each.source.sort == "lot"}
    verb = "ate" if link.target.sort == "animals" else "was sent"
    return Question(
        "back",
        f"{link.target.code} {verb} fodder on {day}. From which seed lots did it grow?",
        tuple(sorted(lots)),
        round(took * 1000),
    )


def answered(question: Question, given: Iterable[str], seconds: int) -> DrillWay:
    """What was found of what there is; codes are read in any case."""
    found = {_code(text) for text in given if text.strip()}
    right = {code.upper(): code for code in question.right}
    return DrillWay(
        way=question.way,
        asked=question.asks,
        seconds=seconds,
        record_ms=question.record_ms,
        found_count=len(found & right.keys()),
        right_count=len(right),
        missed=tuple(code for upper, code in right.items() if upper not in found),
        wrong=tuple(sorted(found - right.keys())),
    )


def _code(text: str) -> str:
    try:
        return read_minted(text) or text.strip().upper()
    except WrongCode:
        return text.strip().upper()


def drill(
    writing: Writing, laid: Drilled, ways: tuple[DrillWay, ...], how: How
) -> Written:
    """Write a drill as it went; what was not found opens a corrective action."""
    marks = tuple(_marks(laid, ways))
    thing = Drill(code=laid.lot, ways=ways, adds_up=not laid.balance.gaps, marks=marks)
    before = how.retried(writing, thing)
    if before is not None:
        return Written(before, already=True)
    made = how.add(writing, thing)
    if not marks:
        return Written(made)
    said = [_missing(way) for way in ways if way.missed or way.wrong]
    said += ["slower than 4 hours"] * ("slow" in marks)
    said += ["seed or trays not accounted for"] * bool(laid.balance.gaps)
    problem = f"drill of {laid.lot}: {'; '.join(said)}"
    action = Action(about=made.name, problem=problem)
    return Written(made, how.add(writing, action))


def _marks(laid: Drilled, ways: Iterable[DrillWay]) -> Iterable[str]:
    found = list(ways)
    if any(way.missed for way in found):
        yield "missed"
    if any(way.wrong for way in found):
        yield "wrong"
    if sum(way.seconds for way in found) > WITHIN.total_seconds():
        yield "slow"
    if laid.balance.gaps:
        yield "does-not-add-up"


def _missing(way: DrillWay) -> str:
    said = [f"not found {way.way}: {', '.join(way.missed)}"] if way.missed else []
    said += [f"wrong: {', '.join(way.wrong)}"] if way.wrong else []
    return ", ".join(said)
