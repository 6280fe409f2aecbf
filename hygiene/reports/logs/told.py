"""What went wrong or was held, told to its end: holds, actions, and who was told."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.words import gist
from hygiene.reports.lines import before
from hygiene.reports.reading import Matter, Reading, span_of
from hygiene.reports.stories import Action, actions_about
from hygiene.reports.words import clock, listed, signed


class Told(NamedTuple):
    """Something told to its end: sentences, then the corrective actions about it."""

    sign: str
    when: str
    title: str
    told: tuple[str, ...]
    by: str
    entry: str
    actions: tuple[Action, ...] = ()


def told(
    reading: Reading,
    matter: Matter,
    title: str,
    sentences: Iterable[str] = (),
    sign: str = "▲",
) -> Told:
    """A matter with what is said of it, and its corrective actions."""
    entry = matter.said
    ruled = ("It is ruled through, which ends nothing",) if matter.struck else ()
    return Told(
        sign,
        clock_of(reading, entry.happened_at),
        title,
        (*ruled, *(says for says in sentences if says)),
        signed(entry),
        matter.first.name,
        actions_about(reading, matter),
    )


def versions(matter: Matter) -> list[Entry]:
    """Every version that says something, struck or put right since as well."""
    return [entry for entry in matter.history if entry.kind == matter.first.kind]


def marks_of(matter: Matter) -> list[str]:
    """The rules that any version of it stands against, for ever."""
    return list(
        dict.fromkeys(m for each in versions(matter) for m in texts_of(each, "marks"))
    )


def against(
    reading: Reading, matters: Iterable[Matter], said: Callable[[Entry], str]
) -> list[Told]:
    """Those that stand against a rule or opened an action, with the reason given.

    ``said`` puts an entry into a few words.
    """
    found = []
    for matter in matters:
        marks = marks_of(matter)
        if not marks and not reading.answers(matter, "action", struck=True):
            continue
        rules = listed(mark.replace("-", " ") for mark in marks)
        sentences = [f"Told: {says}" for says in told_of(reading, [matter])]
        if matter.first.reason:
            sentences.insert(0, f"Reason given: {matter.first.reason}")
        title = f"{said(matter.said)}: {rules or 'an action was opened'}"
        found.append(told(reading, matter, title, sentences))
    return found


def clock_of(reading: Reading, moment: str) -> str:
    """A moment by the farm's clock, as much of it as the page needs."""
    return clock(moment, reading.rota.hours_on(reading.period.last), reading.period)


def cited(reading: Reading, entry: Entry) -> str:
    """When, by whom, and the entry's name."""
    when = clock_of(reading, entry.happened_at)
    return f"{when}, {signed(entry)} ({entry.name})"


# holds


def held_title(hold: Matter) -> str:
    """What is held, and why."""
    entry = hold.first
    return f"{entry.get('sort')} {entry.get('held')}, {entry.get('why')}"


def stood(reading: Reading) -> list[Matter]:
    """The holds that stood at any time of the period: only a release ends one."""
    start, end = span_of(reading.rota, reading.period)
    return [
        hold
        for hold in reading.of_kind("hold")
        if before(hold.first, end)
        and not any(before(e.said, start) for e in reading.answers(hold, "release"))
    ]


def hold_told(reading: Reading, hold: Matter) -> Told:
    """A hold from its reason to its release: how far it reaches, who was told."""
    ended = reading.answers(hold, "release")
    return told(
        reading,
        hold,
        f"Held: {held_title(hold)}",
        hold_sentences(reading, hold),
        sign="✔" if ended else "▲",
    )


def hold_sentences(reading: Reading, hold: Matter) -> Iterator[str]:
    """What a hold follows from, how far it reaches, and how it ended."""
    entry = hold.first
    if entry.get("because"):
        yield f"Follows from {called(reading, entry.get('because'))}"
    trays = texts_of(entry, "trays")
    if trays:
        yield f"Narrowed to the trays {ranges(trays)}"
    if entry.get("stops"):
        yield f"Stops {entry.get('stops')} only"
    for look in reading.answers(hold, "assess"):
        paper = f", {look.said.get('document')}" if look.said.get("document") else ""
        yield f"Assessed {cited(reading, look.said)}: {look.said.get('found')}{paper}"
    yield from (f"Told: {says}" for says in told_of(reading, [hold]))
    ends = reading.answers(hold, "release")
    yield from (f"Released {_release(reading, end.said)}" for end in ends)
    if not ends:
        yield "Still held when this was printed"


def called(reading: Reading, name: object) -> str:
    """An entry by what it says, where that was read, and by its name."""
    found = reading.called(name)
    if found is None:
        return str(name)
    return f"{gist(found.first)} ({name})"


def _release(reading: Reading, entry: Entry) -> str:
    word = entry.get("word_of")
    role = f" ({entry.get('word_role')})" if entry.get("word_role") else ""
    on = [
        f"on the word of {word}{role}" if word else "",
        f"on {entry.get('document')}" if entry.get("document") else "",
    ]
    said = ", ".join(part for part in on if part)
    why = f"{entry.get('why')}{', ' if said else ''}{said}"
    return f"{cited(reading, entry)}: {why}"


def told_of(reading: Reading, matters: Iterable[Matter]) -> list[str]:
    """Who was told of any of these matters, once each."""
    found = {
        notice.first.name: notice.said
        for matter in matters
        for notice in reading.answers(matter, "notify")
    }
    return [notice(reading, entry) for entry in found.values()]


def notice(reading: Reading, entry: Entry) -> str:
    """Who was told, how, what, and when."""
    how = f" by {entry.get('how')}" if entry.get("how") else ""
    return (
        f"{entry.get('role')} {entry.get('who_told')}{how}, "
        f"{cited(reading, entry)}: {entry.get('what')}"
    )


def open_or_closed(reading: Reading, *matters: Matter) -> str:
    """What became of the actions about any of these matters, in a word."""
    found = [a for m in matters for a in reading.answers(m, "action", struck=True)]
    if not found:
        return ""
    waiting = [a for a in found if not reading.answers(a, "close")]
    return "action open" if waiting else "action closed"


def names(codes: Iterable[object]) -> str:
    """Codes as a list, each once."""
    return listed(dict.fromkeys(str(code) for code in codes if code))
