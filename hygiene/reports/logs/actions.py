"""The corrective actions: open ones first and in full, then those that are closed.

Of each: what went wrong, what was done about it, the recheck, the cause and the close.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from hygiene.book.record import Record
from hygiene.kinds.entry import Entry
from hygiene.kinds.words import looked
from hygiene.reports.lines import before
from hygiene.reports.logs import page as log
from hygiene.reports.logs.told import Told, called, clock_of, told_of, versions
from hygiene.reports.period import Period
from hygiene.reports.reading import (
    Matter,
    Reading,
    causes,
    further,
    read_only,
    span_of,
)
from hygiene.reports.stories import action_of
from hygiene.reports.words import count, length, listed, signed
from hygiene.rota.schedule import moment_or_none

KINDS: Final = ("action", "recheck", "close")
HEADS: Final = (
    "What went wrong", "Done at once", "Rechecked", "Closed with", "After", "Verdict",
    "By", "Entry",
)  # fmt: skip


def gather(record: Record, period: Period, printed_at: datetime) -> Reading:
    """Read the actions that were opened, looked at or closed in the period."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Reading:
    """Those of earlier days that are open, and what each action is about."""
    _, end = span_of(reading.rota, reading.period)
    waiting = record.unanswered("action", "close")
    answered = causes(record, reading.of_kind("recheck", "close"), "action")
    older = [e for e in (*waiting, *answered) if before(e, end)]
    reading = further(record, reading, older)
    about = causes(record, reading.of_kind("action"), "about")
    return further(record, reading, about)


def page(reading: Reading) -> log.Page:
    """The corrective actions that were open in the period."""
    found = [m for m in reading.of_kind("action") if _of_period(reading, m)]
    waiting = [m for m in found if not _closed(reading, m)]
    incidents = [m for m in found if _incident(m) and m not in waiting]
    over = [m for m in found if _closed(reading, m)]
    answers = {
        kind: log.once(a for m in found for a in reading.answers(m, kind, struck=True))
        for kind in KINDS[1:]
    }
    return log.page_of(
        reading,
        "Corrective actions",
        nothing="No corrective action was opened, looked at or closed in this time.",
        summary=_summary(reading, found, waiting),
        parts=(
            log.stories(
                "Still open when this was printed",
                [_story(reading, m) for m in waiting],
                log.csv_name("action", reading.period),
            ),
            log.stories(
                "Incidents that are closed", [_story(reading, m) for m in incidents]
            ),
            log.listing(
                reading,
                HEADS,
                [_row(reading, m) for m in over],
                ("action", "actions"),
                title="Every action that is closed",
                file=log.csv_name("action", reading.period),
                note="After: from the opening to the close.",
            ),
            _sorts(reading, found),
        ),
        matters=[*found, *(a for some in answers.values() for a in some)],
        attached=(
            *log.file_of(reading, "action", found),
            *log.file_of(reading, "recheck", answers["recheck"]),
            *log.file_of(reading, "close", answers["close"]),
        ),
    )


def _of_period(reading: Reading, action: Matter) -> bool:
    """Whether it was opened in the period, or earlier and not closed before it."""
    start, end = span_of(reading.rota, reading.period)
    if not before(action.first, end):
        return False
    ends = reading.answers(action, "close")
    return not any(before(e.said, start) for e in ends)


def _closed(reading: Reading, action: Matter) -> bool:
    return bool(reading.answers(action, "close"))


def _incident(action: Matter) -> bool:
    return any(version.get("incident") is True for version in versions(action))


def _story(reading: Reading, action: Matter) -> Told:
    entry = action.said
    sort = "Incident" if _incident(action) else "Action"
    waiting = not _closed(reading, action)
    said = [
        f"About {called(reading, entry.get('about'))}",
        f"Reason given: {action.first.reason}" if action.first.reason else "",
        *(
            f"Told: {each}"
            for each in told_of(reading, [action, *_about(reading, entry)])
        ),
        *_ended(reading, action),
    ]
    return Told(
        "▲" if waiting else "✔",
        clock_of(reading, entry.happened_at),
        f"{sort}: {entry.get('problem')}",
        tuple(says for says in said if says),
        signed(entry),
        action.first.name,
        (action_of(reading, action),),
    )


def _about(reading: Reading, entry: Entry) -> list[Matter]:
    found = reading.called(entry.get("about"))
    return [] if found is None else [found]


def _ended(reading: Reading, action: Matter) -> Iterator[str]:
    """What the close of an incident says beside what was done and the cause."""
    for end in reading.answers(action, "close"):
        for word, key in (("Cleaned", "cleaned"), ("What shows it", "effect")):
            if end.said.get(key):
                yield f"{word}: {called(reading, end.said.get(key))}"


def _row(reading: Reading, action: Matter) -> log.Row:
    entry = action.said
    looks = [look.said for look in reading.answers(action, "recheck")]
    ends = [end.said for end in reading.answers(action, "close")]
    state = "closed, incident" if _incident(action) else "closed"
    return log.Row(
        action,
        (
            str(entry.get("problem")),
            str(entry.get("did") or ""),
            "; ".join(_look(look) for look in looks) or "none",
            "; ".join(_end(end) for end in ends),
            _after(entry, ends),
            f"✔ {state}",
            entry.by,
            action.first.name,
        ),
    )


def _look(entry: Entry) -> str:
    return f"{looked(entry)}: {entry.get('seen')} ({entry.by})"


def _end(entry: Entry) -> str:
    cause = f"; cause: {entry.get('cause')}" if entry.get("cause") else ""
    return f"{entry.get('did')}{cause} ({entry.by})"


def _span(entry: Entry, ends: Sequence[Entry]) -> timedelta | None:
    opened = moment_or_none(entry.happened_at)
    closed = moment_or_none(ends[-1].happened_at) if ends else None
    return closed - opened if opened and closed else None


def _after(entry: Entry, ends: Sequence[Entry]) -> str:
    span = _span(entry, ends)
    return length(span) if span is not None else "?"


def _sorts(reading: Reading, found: Sequence[Matter]) -> log.Listing | None:
    """How many actions of each sort of entry, and how many of them wait."""
    every: Counter[str] = Counter()
    waiting: Counter[str] = Counter()
    for action in found:
        about = reading.called(action.said.get("about"))
        sort = about.first.kind.replace("_", " ") if about else "not in this record"
        if sort == "sign off" and about:
            sort = f"task {about.first.get('task')}"
        every[sort] += 1
        waiting[sort] += not _closed(reading, action)
    made = [(sort, str(many), str(waiting[sort])) for sort, many in every.most_common()]
    return log.figures("What they are about", "About", ("Actions", "Open"), made)


def _summary(
    reading: Reading, found: Sequence[Matter], waiting: Sequence[Matter]
) -> Iterator[str]:
    if not found:
        return
    opened = [m for m in found if reading.happened_in(m)]
    parts = [
        f"{len(opened):,} opened in this time",
        f"{len(found) - len(opened):,} open from earlier" * (len(found) > len(opened)),
        f"{len(found) - len(waiting):,} closed",
        f"{len(waiting):,} still open when this was printed",
    ]
    yield f"{count(len(found), 'corrective action')}: {listed(parts)}."
    incidents = [m for m in found if _incident(m)]
    if incidents:
        open_ = sum(m in waiting for m in incidents)
        yield f"▲ {count(len(incidents), 'incident')} among them, {open_} still open."
    spans = sorted(
        span
        for m in found
        if (span := _span(m.said, [e.said for e in reading.answers(m, "close")]))
    )
    if spans:
        middle, most = length(spans[len(spans) // 2]), length(spans[-1])
        yield f"From the opening to the close: half within {middle}, all within {most}."
    bare = [m for m in found if m not in waiting and not reading.answers(m, "recheck")]
    if bare:
        yield f"▲ {count(len(bare), 'action')} closed without a recheck that stands."
