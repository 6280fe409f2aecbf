"""The vet's sheet on one page: three weeks of fodder of a group, and its story."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final, NamedTuple

from hygiene.acts.codes import known
from hygiene.acts.vet_sheet import STATEMENTS, Eaten, VetSheet, vet_sheet
from hygiene.book.record import Record
from hygiene.farm.in_force import in_force
from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Entry, items, rows_of, texts_of
from hygiene.reports.dosing import treated
from hygiene.reports.frame import Frame, Who, frame_of, who
from hygiene.reports.period import Period, plain_day
from hygiene.reports.reading import Reading, read_only
from hygiene.reports.words import clock, count, listed
from hygiene.sanitising.containers import amount, drawn_of
from hygiene.tracing.eaten import DayFed

MOST: Final = 4
"""Entries of one sort before the rest is only counted: the sheet stays one page."""
MOST_GROWING: Final = 8
RING: Final = ("vet", "authority", "laboratory")


class Gathered(NamedTuple):
    """What the page is made from."""

    reading: Reading
    sheet: VetSheet


class Cell(NamedTuple):
    """A day of fodder: kilograms a head, and in all."""

    day: str
    month: str
    each: str
    whole: str


class Part(NamedTuple):
    """A part of the sheet: its title and its rows."""

    title: str
    rows: tuple[str, ...]


class Page(NamedTuple):
    """The sheet as values; ``report_templates/vet.html`` lays it out."""

    frame: Frame
    group: str
    what: str
    sick: tuple[str, ...]
    days: tuple[Cell, ...]
    found: tuple[str, ...]
    parts: tuple[Part, ...]
    know: tuple[str, ...]
    ring: tuple[tuple[str, str, str], ...]
    who: tuple[Who, ...]


def gather(
    record: Record, period: Period, printed_at: datetime, subject: str | None
) -> Gathered:
    """Read a group's sheet for the three weeks that end at the moment of printing."""
    setup = record.setup()
    group = known(in_force(setup, printed_at), "animals", str(subject))
    sheet = vet_sheet(record, setup, group, printed_at)
    return Gathered(
        read_only(record, Period(sheet.first, sheet.last), printed_at), sheet
    )


def page(gathered: Gathered) -> Page:
    """The sheet of the reading's three weeks."""
    reading, sheet = gathered
    body = sheet.animals
    shown = [*sheet.ill, *sheet.told]
    return Page(
        frame=frame_of(reading, "Sheet for the vet"),
        group=f"{sheet.group}: {body.get('name')}",
        what=f"{body.get('species')}, {body.get('head')} head when this was printed",
        sick=tuple(_sick(reading, sheet)),
        days=tuple(map(_cell, sheet.days)),
        found=tuple(_found(reading, sheet)),
        parts=tuple(_told_of(_parts(reading, sheet))),
        know=STATEMENTS,
        ring=tuple(
            (str(row.get("role")), str(row.get("name")), _number(row))
            for row in rows_of(sheet.farm, "contacts")
            if row.get("role") in RING
        ),
        who=tuple(who(reading.farm, {entry.by for entry in shown})),
    )


def _number(row: Any) -> str:
    return str(row.get("telephone") or row.get("email") or "no number written")


def _told_of(parts: Iterable[tuple[str, Iterable[str]]]) -> Iterator[Part]:
    """The parts that say something; those of which nothing is written, in one row."""
    silent = []
    for title, made in parts:
        rows = tuple(made)
        if rows:
            yield Part(title, rows)
        else:
            silent.append(title.lower())
    if silent:
        yield Part("Nothing written of", (", ".join(silent),))


def _parts(reading: Reading, sheet: VetSheet) -> Iterator[tuple[str, Iterable[str]]]:
    yield "Other batches eaten", _plain_batches(reading, sheet.eaten)
    yield "Seed of them", _seed(sheet.eaten)
    yield "Other finds of mould", _most(reading, sheet.other_finds, mould_words)
    yield "Room, heat and damp", _air(sheet)
    yield "Chemicals", _most(reading, sheet.chemicals, dose_words)
    yield "Pests and baits", _most(reading, sheet.pests, _pest)
    yield "Left to sample", _left(reading, sheet)
    yield "Milk and sales", _sold(reading, sheet)
    yield "Told", _most(reading, sheet.told, _told)


# what is said of one thing


def _clock(reading: Reading, moment: str) -> str:
    return clock(moment, reading.rota.hours_on(reading.period.last), reading.period)


def _kg(grams: int) -> str:
    return f"{(Decimal(grams) / 1000).normalize():f} kg"


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def _cell(fed: DayFed) -> Cell:
    each = fed.kg_per_head
    if not fed.grams:
        return Cell(str(fed.day.day), f"{fed.day:%b}", "–", "")
    return Cell(
        str(fed.day.day),
        f"{fed.day:%b}",
        "?" if each is None else f"{each}",
        f"{(Decimal(fed.grams) / 1000).normalize():f}",
    )


def dose_words(entry: Entry) -> str:
    """A dose in a few words: product, amount, on what, and its marks."""
    drawn = [amount(unit, many) for _, unit, many in drawn_of(entry.body)]
    marks = [str(mark).replace("-", " ") for mark in items(entry, "marks")]
    said = f"{entry.get('product')} on {treated(entry.body)}"
    return "; ".join([", ".join([said, *drawn]), *marks])


def mould_words(entry: Entry) -> str:
    """A find of mould in a few words."""
    named = [entry.get("batch"), *texts_of(entry.body, "batches"), entry.get("rack")]
    trays = texts_of(entry.body, "trays")
    where = [str(name) for name in named if name] + ([ranges(trays)] if trays else [])
    share = entry.get("share_percent")
    said = [
        f"day {entry.get('growing_day')}"
        if entry.get("growing_day") is not None
        else "",
        f"{share} % of a tray" if share is not None else "",
        *(str(entry.get(key) or "") for key in ("colour", "place", "smell", "note")),
    ]
    told = ", ".join(part for part in said if part)
    return f"mould in {listed(where)}" + (f": {told}" if told else "")


def _pest(entry: Entry) -> str:
    did = f"; done: {entry.get('did')}" if entry.get("did") else ""
    return f"{entry.get('what')} at {entry.get('place')}{did}"


def _told(entry: Entry) -> str:
    return f"{entry.get('role')} {entry.get('who_told')}: {entry.get('what')}"


def _most(reading: Reading, entries: Sequence[Entry], said: Any) -> Iterator[str]:
    """The last few, each with its moment and its name; the earlier ones counted."""
    for entry in entries[-MOST:]:
        when = _clock(reading, entry.happened_at)
        yield f"{when}: {said(entry)} ({entry.name})"
    if len(entries) > MOST:
        yield f"and {len(entries) - MOST} more, earlier"


# the parts


def _sick(reading: Reading, sheet: VetSheet) -> Iterator[str]:
    for entry in sheet.ill:
        dead = f", {entry.get('head_dead')} dead" if entry.get("head_dead") else ""
        appetite = {True: "kept", False: "lost"}.get(
            entry.get("appetite_kept"), "not said"
        )
        yield (
            f"Since {entry.get('since')} {entry.get('head_ill')} of "
            f"{entry.get('head_at_risk')} at risk ill{dead}: {entry.get('signs')}. "
            f"Appetite {appetite}. Fodder stopped: "
            f"{entry.get('feeding_stopped') or 'NOT SAID'}. Other feed: "
            f"{entry.get('other_feed') or 'not said'}. ({entry.by}, {entry.name})"
        )
    for entry in sheet.counted:
        heads = f", {entry.get('head')}" if entry.get("head") is not None else ""
        said = "no more a group" if entry.kind == "retire" else f"heads counted{heads}"
        yield f"{_clock(reading, entry.happened_at)}: {said} ({entry.name})"
    for moved in sheet.came:
        home = moved.came_from or "outside, or was not written down before"
        when = _clock(reading, moved.entry.happened_at)
        yield f"{when}: {moved.tag} came from {home} ({moved.entry.name})"


def _found(reading: Reading, sheet: VetSheet) -> Iterator[str]:
    """The batches eaten with a find, a hold or a hot room, in full."""
    until = max((exposed.until for exposed in sheet.exposed), default=None)
    for eaten in sheet.eaten:
        if _found_in(eaten):
            yield _in_full(reading, eaten)
    hot = [each for each in sheet.eaten if each.air and not _found_in(each)]
    if hot:
        yield "room out of limit while they grew: " + ", ".join(
            f"{each.batch.code} ({_sown(reading, each)}, {_kg(each.grams)})"
            for each in hot
        )
    if until is not None:
        yield f"The exposure stays flagged until {plain_day(until)}."


def _found_in(eaten: Eaten) -> bool:
    return bool(eaten.moulds or eaten.held)


def _speaks(eaten: Eaten) -> bool:
    return _found_in(eaten) or bool(eaten.air)


def _sown(reading: Reading, eaten: Eaten) -> str:
    return f"sown {_day(eaten.batch.sown.astimezone(reading.printed_at.tzinfo).date())}"


def _in_full(reading: Reading, eaten: Eaten) -> str:
    finds = {mould.first: mould for mould in eaten.moulds}
    said = [
        f"{eaten.batch.code}, {_sown(reading, eaten)} from "
        f"{listed(eaten.batch.lots)}, {_kg(eaten.grams)} eaten",
        *(f"{mould_words(mould)} ({name})" for name, mould in finds.items()),
        *(f"on hold: {why}" for why in eaten.held),
    ]
    if eaten.air:
        said.append(f"room out of limit {count(len(eaten.air), 'time')} meanwhile")
    return "; ".join(said)


def _plain_batches(reading: Reading, eaten: Iterable[Eaten]) -> Iterator[str]:
    sown = [
        f"{each.batch.code} {_sown(reading, each)}"
        for each in eaten
        if not _speaks(each)
    ]
    if sown:
        yield f"no find in {listed(sown)}"


def _seed(eaten: Iterable[Eaten]) -> Iterator[str]:
    lots = {str(body.get("lot")): body for each in eaten for body in each.lots}
    for code, body in lots.items():
        seen, dressing = body.get("untreated_seen_by"), body.get("dressing")
        how = f"DRESSED with {dressing}" if dressing else "no dressing seen"
        untreated = (
            f"untreated seen by {seen}" if seen else "NOBODY SAW IT IS UNTREATED"
        )
        yield (
            f"{code} of {body.get('supplier')}, their lot {body.get('supplier_lot')}: "
            f"{how}, {untreated}"
        )


def _air(sheet: VetSheet) -> Iterator[str]:
    for air in sheet.air:
        yield (
            f"{air.room}: {air.low} to {air.high} {air.unit}, {air.readings} readings, "
            f"{air.out_of_limit} out of limit"
        )


def _left(reading: Reading, sheet: VetSheet) -> Iterator[str]:
    left = sheet.left
    if left.growing:
        some = (
            f"{code} ({count(many, 'tray')})"
            for code, many in left.growing[:MOST_GROWING]
        )
        yield f"growing: {', '.join(some)}"
    if left.lots:
        stores = [f"{lot} {_kg(grams)}" for lot, grams in left.lots if grams > 0]
        yield f"seed in store: {', '.join(stores) or 'none is left of these lots'}"
    kept: dict[str, list[str]] = {}
    for entry in left.samples[-MOST:]:
        places = [entry.get("frozen_at"), entry.get("chilled_at")]
        of = entry.get("batch") or entry.get("lot")
        where = listed(str(place) for place in places if place)
        kept.setdefault(where, []).append(f"{of} ({entry.name})")
    for where, samples in kept.items():
        yield f"kept at {where}: {', '.join(samples)}"


def _sold(reading: Reading, sheet: VetSheet) -> Iterator[str]:
    makes = listed(map(str, items(sheet.animals, "produces")))
    yield f"the group gives {makes or 'nothing that is written down'}"
    for entry in sheet.ill:
        yield (
            f"milk: {entry.get('milk') or 'not said'}; animals or meat sold: "
            f"{entry.get('sales') or 'not said'}"
        )
    for entry in sheet.sent[-MOST:]:
        when = _clock(reading, entry.happened_at)
        grams = entry.get("grams")
        many = _kg(grams) if isinstance(grams, int) else "?"
        what = f"{many} of {entry.get('batch')} to {entry.get('buyer')}"
        yield f"fodder sent {when}: {what}"
