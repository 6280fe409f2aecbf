"""Readiness rules on doses, sowings and fodder: what was planned, and what was done.

What can be done again (too weak, too short, not washed) is silent once it was put
right, looked at again and closed. What cannot be undone is told for ever.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date
from decimal import Decimal
from typing import Any, Final, NamedTuple

from hygiene.inspection.seen import Item, Matter, Seen, few, shown
from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.rota.day import State
from hygiene.rota.schedule import moment_or_none

STRENGTH_MARKS: Final = frozenset(
    ("too-weak", "too-strong", "too-cold", "off-plan", "outside-label", "left-on-it",
     "above-no-rinse", "chlorate")
)  # fmt: skip
TIME_MARKS: Final = frozenset(("contact-short", "not-deep"))
ORDER_MARKS: Final = frozenset(
    ("not-washed", "not-rinsed", "not-emptied", "grows-below", "not-flushed", "spoils")
)
LEAVING_MARKS: Final = frozenset(
    ("not-looked-at", "no-document", "no-witness", "not-sampled")
)
PLAN_MARKS: Final = STRENGTH_MARKS | TIME_MARKS | ORDER_MARKS | LEAVING_MARKS
"""Marks of what can be done again, or added."""
TYPE_MARKS: Final = frozenset(("wrong-product-type", "not-for-this-use"))
HAND_MARKS: Final = frozenset(("untrained", "not-allowed"))
KIT_MARKS: Final = frozenset(("kit-out-of-date", "kit-reads-another", "no-kit"))
MEETING_MARKS: Final = frozenset(("must-not-meet", "two-products"))
FED_MARKS: Final = frozenset(("on-hold", "mould-record", "looked-or-smelt-bad"))
OFF: Final = Decimal("0.2")
"""So far two readings of one tub may differ: a strip is no better; common practice, no
source."""


def _words(marks: Collection[str]) -> str:
    return ", ".join(sorted(marks)).replace("-", " ")


def _item(seen: Seen, matter: Matter, entry: Entry, marks: Collection[str]) -> Item:
    day = seen.day(entry)
    says = f"{_told(entry)} of {shown(day)}: {_words(marks)}{_end(seen, matter)}"
    return Item(says, day, (entry.name,))


def _end(seen: Seen, matter: Matter) -> str:
    """What was done about it: still open, or closed, and on which day."""
    about = seen.about(matter.first)
    still = [acted.action.name for acted in about if acted.end is None]
    if still:
        return f"; {', '.join(still)} still open"
    ends = [acted.end for acted in about if acted.end is not None]
    if not ends:
        return "; nothing was done about it"
    last = ends[-1]
    return f"; closed {shown(seen.day(last))}: {last.get('did')}"


def _told(entry: Entry) -> str:
    what = {"sign_off": "task", "dose": "product", "sow": "batch", "water": "point"}
    said = entry.get(what.get(entry.kind, "batch"))
    kind = "" if entry.kind == "sign_off" else f"{entry.kind.replace('_', ' ')} "
    return f"{kind}{said or ''}".strip()


def _marked(seen: Seen, marks: frozenset[str], *kinds: str) -> Iterator[Item]:
    for matter in seen.of(*kinds):
        found = matter.marks & marks
        if found and matter.stands:
            yield _item(seen, matter, matter.stands, found)


def _not_settled(seen: Seen, marks: frozenset[str], *kinds: str) -> Iterator[Item]:
    for matter in seen.of(*kinds):
        found = matter.marks & marks
        if found and matter.stands and not seen.settled(matter.first):
            yield _item(seen, matter, matter.stands, found)


def strength(seen: Seen) -> Iterator[Item]:
    """Too weak, too strong or off the plan, and not put right; or two papers differ."""
    yield from _not_settled(seen, STRENGTH_MARKS, "dose")
    for signed in _signed_tubs(seen):
        read = [
            value
            for tub in signed.tubs
            for row in rows_of(tub.body, "readings")
            if (value := _number(row.get("value_mg_per_l"))) is not None
        ]
        yield from _differing(signed, "mg/L", read)


def time(seen: Seen) -> Iterator[Item]:
    """A contact shorter than planned, and not put right; or two papers differ."""
    yield from _not_settled(seen, TIME_MARKS, "dose")
    for signed in _signed_tubs(seen):
        stood = [_minutes(tub) for tub in signed.tubs]
        yield from _differing(signed, "min", [each for each in stood if each])


class _SignedTub(NamedTuple):
    """A sign-off that says strength and time, and the tubs of trays of its day."""

    state: State
    entry: Entry
    tubs: tuple[Entry, ...]

    def said(self, unit: str) -> list[Decimal]:
        """What was signed in a unit."""
        given = rows_of(self.entry.body, "answers")
        made = (_number(r.get("value")) for r in given if r.get("unit") == unit)
        return [value for value in made if value is not None]


def _signed_tubs(seen: Seen) -> Iterator[_SignedTub]:
    tubs: dict[date, list[Entry]] = {}
    for dose in seen.standing("dose"):
        if dose.get("target") == "tray":
            tubs.setdefault(seen.day(dose), []).append(dose)
    for state in seen.states:
        entry = state.entry
        if entry is not None and entry.kind == "sign_off":
            signed = _SignedTub(state, entry, tuple(tubs.get(seen.day(entry), ())))
            if signed.tubs and signed.said("mg/L") and signed.said("min"):
                yield signed


def _differing(
    signed: _SignedTub, unit: str, read: Collection[Decimal]
) -> Iterator[Item]:
    """What was signed and is nowhere near what any tub of the day says."""
    off = [
        f"{said:g}"
        for said in signed.said(unit)
        if read and all(abs(said - each) > OFF * max(said, each) for each in read)
    ]
    if off:
        due = signed.state.due
        says = (
            f"{due.code} of {shown(due.day)} says {', '.join(off)} {unit}; the dose of "
            f"that tub says {few([f'{each:g}' for each in read])}"
        )
        yield Item(says, due.day, (signed.entry.name, signed.tubs[0].name))


def _number(given: Any) -> Decimal | None:
    if isinstance(given, bool) or not isinstance(given, int | Decimal):
        return None
    return Decimal(given)


def _minutes(dose: Entry) -> Decimal | None:
    ended = moment_or_none(dose.get("ended_at"))
    if ended is None:
        return None
    return Decimal(round((ended - moment_of(dose.happened_at)).total_seconds() / 60))


def order(seen: Seen) -> Iterator[Item]:
    """Sanitised without washing, not rinsed, not emptied first, not flushed after."""
    return _not_settled(seen, ORDER_MARKS, "dose", "rinse")


def without_paper(seen: Seen) -> Iterator[Item]:
    """It left the shed without a look, a paper, a witness or a sample."""
    return _not_settled(seen, LEAVING_MARKS, "feed", "dispatch", "discard")


def fed_young(seen: Seen) -> Iterator[Item]:
    """It left for the animals before the growing days that the farm file wants."""
    sown = {
        str(sow.get("batch")): seen.day(sow)
        for sow in (*seen.sown_before, *seen.standing("sow"))
    }
    days = _fewest_days(seen)
    for left in seen.standing("feed", "dispatch"):
        day, since = seen.day(left), sown.get(str(left.get("batch")))
        if since is not None and 0 <= (day - since).days < days:
            says = f"{_told(left)} of {shown(day)}: day {(day - since).days} of {days}"
            yield Item(says, day, (left.name,))


def _fewest_days(seen: Seen) -> int:
    """The growing days; of several that the farm file ever said, the fewest."""
    ever = seen.farm.ever_said("farm", "growing_days").values()
    said = [int(text) for texts in ever for text in texts if text.isdecimal()]
    return min([*said, seen.farm.growing_days])


def product_type(seen: Seen) -> Iterator[Item]:
    """A product was used for what its type or its label does not allow."""
    return _marked(seen, TYPE_MARKS, "dose")


def expired_used(seen: Seen) -> Iterator[Item]:
    """A dose came out of a container past its last day."""
    return _marked(seen, frozenset(("expired",)), "dose")


def untrained(seen: Seen) -> Iterator[Item]:
    """Done or signed by somebody without the training, or without the right."""
    return _marked(seen, HAND_MARKS, "sign_off", "dose", "water")


def kit_used(seen: Seen) -> Iterator[Item]:
    """Read with a kit that was out of date or reads another thing, or with none."""
    return _marked(seen, KIT_MARKS, "dose", "water", "strength")


def against_rules(seen: Seen) -> Iterator[Item]:
    """Done though a rule of safety stood against it."""
    yield from _marked(seen, MEETING_MARKS, "dose")
    yield from _marked(seen, FED_MARKS, "feed", "dispatch")
    for matter in seen.of("sow"):
        if matter.marks and matter.stands:
            yield _item(seen, matter, matter.stands, matter.marks)
    yield from _found_by_then(seen)


def _found_by_then(seen: Seen) -> Iterator[Item]:
    """Fodder that left after a find that was not known here: no mark says it."""
    finds = [m for m in seen.matters.values() if m.versions[0].kind == "mould"]
    for matter in seen.of("feed", "dispatch"):
        left = matter.stands
        if left is None or "mould-record" in matter.marks:
            continue
        for find in finds:
            if _was_in(find, left):
                day = seen.day(left)
                says = (
                    f"{_told(left)} of {shown(day)}: mould was found in it by then, as "
                    f"was written here only later{_end(seen, find)}"
                )
                yield Item(says, day, (left.name, find.first))
                break


def _was_in(find: Matter, left: Entry) -> bool:
    return any(
        left.get("batch") in (version.get("batch"), *texts_of(version.body, "batches"))
        and moment_of(version.happened_at) <= moment_of(left.happened_at)
        for version in find.versions
        if version.kind == "mould"
    )
