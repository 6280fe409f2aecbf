"""What is read to see what an inspector would find. Read only, by index, bounded.

A stretch of days is read by kind and moment, and what answers it by mention; so a year
of a long record costs what the year holds. What is as of now is asked for as the page
of the day asks for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.balance import all_of_days
from hygiene.acts.clauses import clauses
from hygiene.acts.clearance import rules_of
from hygiene.acts.day import EARLY, drill_due
from hygiene.acts.elsewhere import backup_due, last_backup
from hygiene.acts.sampling import kits_due, next_samples, papers_due
from hygiene.acts.standing import growing_batches
from hygiene.acts.store import LONGEST_KEPT
from hygiene.book.record import Record, UnknownEntry, Version
from hygiene.farm.in_force import InForce, in_force
from hygiene.inspection.clauses import Clause
from hygiene.inspection.readiness import Ready, look
from hygiene.inspection.seen import Acted, KitNow, Matter, PaperNow, Seen, by_kind
from hygiene.kinds import FOLDED, HOMES
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of
from hygiene.rota.day import states, written
from hygiene.rota.schedule import Rota, read_rota
from hygiene.sanitising.containers import Container, balance, read_containers
from hygiene.sanitising.doses import read_label
from hygiene.sanitising.labels import Fault, register_faults

WRITTEN: Final = tuple(
    kind for kind in HOMES if kind not in (*FOLDED, "opening", "strike")
)
"""Every kind that says what happened."""
LATER: Final = ("sign_off", "miss", "countersign")
"""What may be written about a day long after it."""
AT_ONCE: Final = 500
"""How many names are asked for in one query."""
MOMENT: Final = timedelta(seconds=1)
GROWS_AT_MOST: Final = timedelta(days=15)
"""A farm file allows fourteen days of growing."""


class Looked(NamedTuple):
    """What was read, what the farm must answer, and what the rules found."""

    seen: Seen
    clauses: tuple[Clause, ...]
    ready: Ready


def readiness(
    record: Record,
    first: date,
    last: date,
    now: datetime,
    setup: list[Entry] | None = None,
) -> Looked:
    """Look at the days from ``first`` to ``last``, both included, as they stand now.

    ``now`` is aware, by the farm's clock; days to come are not looked at.
    """
    said = record.setup() if setup is None else setup
    farm, rota = in_force(said, now), read_rota(said)
    found = read_seen(record, said, farm, rota, first, min(last, now.date()), now)
    asked = clauses(farm)
    return Looked(found, asked, look(found, asked))


def read_seen(
    record: Record,
    setup: list[Entry],
    farm: InForce,
    rota: Rota,
    first: date,
    last: date,
    now: datetime,
) -> Seen:
    """All that the rules look at."""
    start, end = rota.starts(first), rota.starts(last + timedelta(days=1))
    until = now + MOMENT
    before = min(end, until)
    lines = record.versions(HOMES, since=start, before=before)
    around = [
        *record.versions(("sign_off", "miss"), since=start - EARLY, before=start),
        *record.versions(LATER, since=before, before=until),
    ]
    told = (version for version in lines if version.entry.kind in WRITTEN)
    matters = _matters(record, [*around, *told])
    acted = tuple(_acted(record, matters, before))
    mine = {
        name: matter
        for name, matter in matters.items()
        if _within(matter, start, before)
    }
    stands = [m.stands for m in matters.values() if m.stands is not None]
    dues = states(rota, rota.dues(first, last), written(stands), now)
    of_dues = {state.entry.first for state in dues if state.entry is not None}
    held = _containers(record, now)
    found = all_of_days(record, start, before, now)
    last_copy = last_backup(record)
    return Seen(
        first,
        last,
        now,
        farm,
        states=tuple(dues),
        matters={**mine, **{name: matters[name] for name in sorted(of_dues)}},
        by_kind=by_kind(mine.values()),
        acted=acted,
        looks=tuple(e for e in stands if e.kind == "countersign"),
        gaps=found.gaps,
        trays=found.trays,
        growing=tuple(growing_batches(record, now)),
        sown_before=tuple(
            record.entries(["sow"], since=start - GROWS_AT_MOST, before=start)
        ),
        containers=tuple(held.values()),
        store_odd=tuple(balance(held.values())),
        samples=tuple(next_samples(record, farm, now)),
        kits=tuple(_kits(record, farm, now)),
        papers=tuple(
            PaperNow(paper.title, paper.review_on, paper.entry)
            for paper in papers_due(record, farm, now)
            if paper.review_on < now.date()
        ),
        register=tuple(_register(record, setup, farm, held, now)),
        tasks=tuple(rota.in_force(now).values()),
        holds=tuple(record.unanswered("hold", "release")),
        drill_due=drill_due(record, now),
        backup=last_copy,
        backup_due=backup_due(last_copy, now),
        lines=tuple(version.entry for version in lines),
    )


def _within(matter: Matter, start: datetime, end: datetime) -> bool:
    entry = matter.stands or matter.versions[0]
    return start <= moment_of(entry.happened_at) < end


def _matters(record: Record, versions: Iterable[Version]) -> dict[str, Matter]:
    """By the first entry's name; one that was put right is read with its history."""
    made: dict[str, Matter] = {}
    several: dict[str, None] = {}
    for entry, stands in versions:
        if stands and entry.corrects is None:
            made.setdefault(entry.name, Matter(entry.name, entry, (entry,)))
        else:
            several[entry.first] = None
    for first in several:
        history = record.history(first)
        last = history[-1]
        said = tuple(e for e in history if e.kind != "strike")
        made[first] = Matter(first, None if last.kind == "strike" else last, said)
    return made


def _acted(
    record: Record, matters: Mapping[str, Matter], before: datetime
) -> Iterator[Acted]:
    """The actions of the days, and every open one, with what answers them."""
    firsts = {m.first: m.versions[0] for m in matters.values() if _is_action(m)}
    for entry in record.unanswered("action", "close"):
        if moment_of(entry.happened_at) < before:
            firsts.setdefault(entry.name, entry)
    answers = _answers(record, list(firsts))
    for name, entry in firsts.items():
        matter = matters.get(name)
        stands = matter.stands if matter and matter.stands else entry
        found = answers.get(name, [])
        looks = tuple(e for e in found if e.kind == "recheck")
        ends = [e for e in found if e.kind == "close"]
        about = _first_of(record, matters, str(entry.get("about")))
        yield Acted(stands, about, looks, ends[-1] if ends else None)


def _is_action(matter: Matter) -> bool:
    return matter.versions[0].kind == "action"


def _answers(record: Record, names: Sequence[str]) -> dict[str, list[Entry]]:
    """The rechecks and closes that stand, by the action that they name."""
    made: dict[str, list[Entry]] = {}
    for place in range(0, len(names), AT_ONCE):
        for entry in record.mentioning(*names[place : place + AT_ONCE]):
            if entry.kind in ("recheck", "close"):
                made.setdefault(str(entry.get("action")), []).append(entry)
    return made


def _first_of(record: Record, matters: Mapping[str, Matter], name: str) -> str:
    if name in matters:
        return name
    try:
        return record.entry(name).first
    except UnknownEntry:
        return name


def _containers(record: Record, now: datetime) -> dict[str, Container]:
    """What came in within three years, as it stands; older cans are long gone."""
    came = record.entries(["container"], since=now - LONGEST_KEPT, before=now + MOMENT)
    codes = sorted({str(entry.get("container")) for entry in came})
    return read_containers(record.mentioning(*codes)) if codes else {}


def _kits(record: Record, farm: InForce, now: datetime) -> Iterator[KitNow]:
    """A kit with a check is checked; strips and reagent are bought anew."""
    for due in kits_due(record, farm, now):
        if due.fault is not None:
            body = farm.get("kit", due.kit) or {}
            to_order = not body.get("check_every_months") and "failed" not in due.fault
            yield KitNow(due.kit, due.name, due.fault, to_order)


def _register(
    record: Record,
    setup: list[Entry],
    farm: InForce,
    held: Mapping[str, Container],
    now: datetime,
) -> Iterator[tuple[str, Fault]]:
    """What does not hang together in the products of which something is there."""
    there = {each.product for each in held.values() if each.left > 0}
    rules = rules_of(record, setup, farm, now)
    for code, body in farm.things("product").items():
        if code in there:
            yield from ((code, f) for f in register_faults(read_label(body), rules))
