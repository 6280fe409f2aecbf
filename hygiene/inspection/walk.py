"""The walk of the evening before: ten lines, with what the record knows of each.

The record cannot see whether a door is locked. It can say when somebody last ticked
that it was, which cards are current, and what is to stand apart.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from hygiene.inspection.seen import Seen, few, shown
from hygiene.kinds.moments import moment_of
from hygiene.sanitising.containers import last_day

MOST = 5


class Line(NamedTuple):
    """What to look at, and what the record knows of it, if anything."""

    look: str
    known: str = ""


def walk(seen: Seen) -> tuple[Line, ...]:
    """The ten lines, in the order of a walk through the shed."""
    return (
        Line(
            "Chemical store locked, key in its place, bleach apart from acids",
            _last(seen, "chemicals"),
        ),
        Line("Every can labelled and dated, the old ones gone", _cans(seen)),
        Line("Eye wash full and in date, spill kit there", _last(seen, "chemicals")),
        Line(
            "Mixing cards and checklists on the wall are the current ones",
            f"{_cards(seen)}; {_checklists(seen)}",
        ),
        Line("Strips and reagents in date, with their kits", _kits(seen)),
        Line(
            "Every seed bag bears its lot; dry, closed, off the floor",
            _last(seen, "seedstore"),
        ),
        Line("What is held stands apart and is marked", _held(seen)),
        Line(
            "Trays without mould or dry spots, drains run, no puddles",
            _last(seen, "walk", "floors"),
        ),
        Line(
            "Bait boxes closed, where the map shows them; doors and screens shut",
            _last(seen, "pests"),
        ),
        Line(
            "Registration, data sheets, assessments, certificates in one folder",
            _numbers(seen),
        ),
    )


def _last(seen: Seen, *tasks: str) -> str:
    """When tasks were last signed, by whom."""
    found = [
        state.entry
        for state in seen.states
        if state.due.code in tasks and state.entry and state.entry.kind == "sign_off"
    ]
    if not found:
        return f"{' and '.join(tasks)}: not signed in these days"
    last = max(found, key=lambda entry: moment_of(entry.happened_at))
    return f"{last.get('task')} last signed {shown(seen.day(last))} by {last.by}"


def _cans(seen: Seen) -> str:
    told = []
    for held in seen.containers:
        end = last_day(held, seen.farm.get("product", held.product))
        if held.left > 0:
            until = _until(end[0], seen) if end else "no last day"
            told.append((end is None, end, f"{held.code} {held.product} {until}"))
    ordered = [says for *_, says in sorted(told, key=lambda row: row[:2])]
    return few(ordered, MOST) if ordered else "nothing is left in any, by the record"


def _until(day: date, seen: Seen) -> str:
    return f"{'past its day,' if day < seen.today else 'by'} {shown(day)}"


def _cards(seen: Seen) -> str:
    """A card is current if it was printed since its product was last described."""
    days: dict[str, list[str]] = {}
    for code, body in seen.farm.things("product").items():
        entry = seen.farm.entry("product", code)
        if entry is not None and body.get("label_max_mg_per_l") is not None:
            days.setdefault(shown(seen.day(entry)), []).append(code)
    told = [f"{', '.join(codes)} since {day}" for day, codes in days.items()]
    return f"cards of {few(told, MOST)}" if told else "no product has a card"


def _checklists(seen: Seen) -> str:
    newer = [f"{t.code} {t.version}" for t in seen.tasks if t.version > 1]
    rest = len(seen.tasks) - len(newer)
    first = [f"the other {rest} version 1" if newer else f"all {rest} version 1"]
    return f"checklists {few([*newer, *(first if rest else [])], MOST)}"


def _kits(seen: Seen) -> str:
    bad = [f"{kit.code} {kit.why}" for kit in seen.kits]
    dated = [
        f"{code} to {body['expires_on']}"
        for code, body in seen.farm.things("kit").items()
        if body.get("expires_on") and code not in {kit.code for kit in seen.kits}
    ]
    return few([*bad, *dated], MOST)


def _held(seen: Seen) -> str:
    codes: Iterable[str] = dict.fromkeys(str(hold.get("held")) for hold in seen.holds)
    return few(list(codes), MOST) or "nothing is held"


def _numbers(seen: Seen) -> str:
    number = seen.body.get("feed_registration")
    confirmed = seen.body.get("activities_confirmed_on")
    told = f"registration {number}" if number else "no registration number is written"
    return f"{told}, activities confirmed {confirmed}" if confirmed else told
