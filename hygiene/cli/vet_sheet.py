"""The vet's sheet on one page of plain text, to be read out or handed over."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, tzinfo
from typing import Any

from hygiene.acts.vet_sheet import STATEMENTS, Eaten, VetSheet
from hygiene.cli.desk import entry_json
from hygiene.cli.screen import columns
from hygiene.cli.typed import kilograms
from hygiene.kinds.entry import Entry, items, rows_of
from hygiene.kinds.moments import moment_of
from hygiene.kinds.words import gist
from hygiene.tracing.eaten import DayFed

WIDTH = 78
MOST = 4
"""Rows of one sort before the rest is only counted: the sheet stays one page."""
COLUMNS = 3


def sheet_lines(sheet: VetSheet) -> list[str]:
    """The sheet's lines, 80 columns at most."""
    return [line.rstrip() for line in _lines(sheet)]


def _lines(sheet: VetSheet) -> Iterator[str]:
    zone = sheet.made_at.tzinfo
    body = sheet.animals
    yield f"SHEET FOR THE VET   {sheet.made_at:%d %B %Y, %H:%M}"
    if sheet.demonstration:
        yield "DEMONSTRATION RECORD: an invented farm, nothing here is real."
    holding = sheet.farm.get("holding_number")
    yield from _wrapped(
        f"{sheet.farm.get('name')}, {sheet.farm.get('address')}"
        + (f", holding {holding}" if holding else "")
    )
    yield from _wrapped(
        f"Group {sheet.group}: {body.get('name')}, {body.get('species')}, "
        f"{body.get('head')} head today"
    )
    yield from _part("SICK", _sick(sheet, zone))
    span = f"{_day(sheet.first)} to {_day(sheet.last)}, both days included"
    yield from _part(f"FODDER, kg a head by day, {span}", _fed(sheet.days), wrap=False)
    yield from _part("BATCHES EATEN", _eaten(sheet.eaten, zone))
    yield from _part("SEED OF THEM", _seed(sheet.eaten))
    yield from _part(
        "OTHER FINDS OF MOULD", _most(_dated(e, zone) for e in sheet.other_finds)
    )
    yield from _part("ROOM, heat and damp", _air(sheet))
    yield from _part("CHEMICALS", _most(_dated(e, zone) for e in sheet.chemicals))
    yield from _part("PESTS AND BAITS", _most(_dated(e, zone) for e in sheet.pests))
    yield from _part("LEFT TO SAMPLE", _left(sheet))
    yield from _part("MILK AND SALES", _sold(sheet, zone))
    yield from _part("TOLD", _most(_dated(e, zone) for e in sheet.told))
    yield from _part("KNOW", STATEMENTS)
    yield from _part("RING", _ring(sheet))


def _part(title: str, rows: Iterable[str], *, wrap: bool = True) -> Iterator[str]:
    found = list(rows)
    yield f"{title}{'' if found else ': nothing is written down'}"
    for row in found:
        if wrap:
            yield from _wrapped(row, "  ")
        else:
            yield f"  {row}"


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(
        text, columns(WIDTH), initial_indent=indent, subsequent_indent=indent + "  "
    )


def _most(rows: Iterable[str]) -> list[str]:
    found = list(rows)
    if len(found) <= MOST:
        return found
    return [*found[-MOST:], f"and {len(found) - MOST} more, earlier: hygiene log"]


def _sick(sheet: VetSheet, zone: tzinfo | None) -> Iterator[str]:
    for entry in sheet.ill:
        dead = f", {entry.get('head_dead')} dead" if entry.get("head_dead") else ""
        appetite = {True: "kept", False: "lost"}.get(
            entry.get("appetite_kept"), "not said"
        )
        yield (
            f"since {entry.get('since')}: {entry.get('head_ill')} of "
            f"{entry.get('head_at_risk')} at risk ill{dead}: {entry.get('signs')}; "
            f"appetite {appetite}; fodder stopped: "
            f"{entry.get('feeding_stopped') or 'NOT SAID'}; other feed: "
            f"{entry.get('other_feed') or 'not said'} ({entry.name})"
        )
    for entry in sheet.counted:
        at = moment_of(entry.happened_at).astimezone(zone)
        said = "no more a group" if entry.kind == "retire" else "heads counted"
        heads = f", {entry.get('head')}" if entry.get("head") is not None else ""
        yield f"{at:%d %b}: {said}{heads} ({entry.name})"
    for moved in sheet.came:
        at = moment_of(moved.entry.happened_at).astimezone(zone)
        home = (
            f"{moved.came_from}; for what it ate there: hygiene vet {moved.came_from}"
        )
        yield (
            f"{at:%d %b}: {moved.tag} came from "
            + (home if moved.came_from else "outside, or was not written down before")
            + f" ({moved.entry.name})"
        )


def _fed(days: Sequence[DayFed]) -> Iterator[str]:
    rows = -(-len(days) // COLUMNS)
    for row in range(rows):
        yield "".join(f"{_cell(day):<23}  " for day in days[row::rows]).rstrip()


def _cell(day: DayFed) -> str:
    if not day.grams:
        return f"{day.day:%d %b}  none"
    head = day.kg_per_head
    each = "heads ?" if head is None else f"{head}"
    return f"{day.day:%d %b} {each:>6} ({kilograms(day.grams)})"


def _eaten(eaten: Sequence[Eaten], zone: tzinfo | None) -> Iterator[str]:
    """Every batch; those with a find, a hold or a hot room first, and in full."""
    yield from (_in_full(e, zone) for e in eaten if e.moulds or e.held or e.air)
    plain = [e.batch for e in eaten if not (e.moulds or e.held or e.air)]
    if plain:
        sown = (f"{b.code} sown {b.sown.astimezone(zone):%d %b}" for b in plain)
        yield "no find in: " + "; ".join(sown)


def _in_full(eaten: Eaten, zone: tzinfo | None) -> str:
    batch = eaten.batch
    finds = {mould.first: mould for mould in eaten.moulds}
    said = [
        f"{batch.code}, sown {batch.sown.astimezone(zone):%d %b} from "
        f"{' and '.join(batch.lots)}, {kilograms(eaten.grams)} eaten",
        *(f"MOULD {name}: {gist(mould)}" for name, mould in finds.items()),
        *(f"HELD: {why}" for why in eaten.held),
    ]
    if eaten.air:
        said.append(f"room out of limit {len(eaten.air)} times while it grew")
    return "; ".join(said)


def _seed(eaten: Sequence[Eaten]) -> Iterator[str]:
    lots = {str(body.get("lot")): body for e in eaten for body in e.lots}
    for code, body in lots.items():
        seen, dressing = body.get("untreated_seen_by"), body.get("dressing")
        yield (
            f"{code} of {body.get('supplier')}, their lot {body.get('supplier_lot')}: "
            + (f"DRESSED with {dressing}" if dressing else "no dressing seen")
            + (
                f", untreated seen by {seen}"
                if seen
                else ", NOBODY SAW IT IS UNTREATED"
            )
        )


def _air(sheet: VetSheet) -> Iterator[str]:
    for air in sheet.air:
        yield (
            f"{air.room}: {air.low} to {air.high} {air.unit}, {air.readings} readings, "
            f"{air.out_of_limit} out of limit"
        )


def _dated(entry: Entry, zone: tzinfo | None) -> str:
    at = moment_of(entry.happened_at).astimezone(zone)
    return f"{at:%d %b %H:%M} {gist(entry)} ({entry.name})"


def _left(sheet: VetSheet) -> Iterator[str]:
    left = sheet.left
    if left.growing:
        yield "growing: " + ", ".join(f"{c} ({n} trays)" for c, n in left.growing[:8])
    if left.lots:
        stores = (f"{lot} {kilograms(max(g, 0))}" for lot, g in left.lots)
        yield f"seed in store: {', '.join(stores)}"
    for entry in left.samples[-3:]:
        yield f"kept: {gist(entry)} ({entry.name})"


def _sold(sheet: VetSheet, zone: tzinfo | None) -> Iterator[str]:
    makes = ", ".join(map(str, items(sheet.animals, "produces")))
    yield f"the group gives {makes or 'nothing that is written down'}"
    for entry in sheet.ill:
        yield (
            f"milk: {entry.get('milk') or 'not said'}; animals or meat sold: "
            f"{entry.get('sales') or 'not said'}"
        )
    for entry in sheet.sent[-3:]:
        yield f"fodder sent: {_dated(entry, zone)}"


def _ring(sheet: VetSheet) -> Iterator[str]:
    for row in rows_of(sheet.farm, "contacts"):
        if row.get("role") in ("vet", "authority", "laboratory"):
            yield (
                f"{row.get('role')}: {row.get('name')}, "
                f"{row.get('telephone') or row.get('email') or 'no number'}"
            )


def _day(day: date) -> str:
    return f"{day:%d %B}"


def sheet_json(sheet: VetSheet) -> dict[str, Any]:
    """The sheet for a program."""
    return {
        "animals": sheet.group,
        "at": sheet.made_at,
        "from": sheet.first,
        "to": sheet.last,
        "ill": [entry_json(entry) for entry in sheet.ill],
        "days": [
            {**day._asdict(), "kg_per_head": day.kg_per_head} for day in sheet.days
        ],
        "eaten": [
            {
                "batch": eaten.batch.code,
                "grams": eaten.grams,
                "lots": [dict(lot) for lot in eaten.lots],
                "mould": sorted({mould.first for mould in eaten.moulds}),
                "held": list(eaten.held),
                "room_out_of_limit": [r.sign_off.name for r in eaten.air],
            }
            for eaten in sheet.eaten
        ],
        "other_finds": [entry.name for entry in sheet.other_finds],
        "flagged_until": max((e.until for e in sheet.exposed), default=None),
        "room": [air._asdict() for air in sheet.air],
        "chemicals": [entry_json(entry) for entry in sheet.chemicals],
        "pests": [entry_json(entry) for entry in sheet.pests],
        "left": {
            "growing_trays": dict(sheet.left.growing),
            "in_store_grams": dict(sheet.left.lots),
            "samples": [entry.name for entry in sheet.left.samples],
        },
        "told": [entry_json(entry) for entry in sheet.told],
        "know": list(STATEMENTS),
    }
