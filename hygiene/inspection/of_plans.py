"""Readiness rules on doses, sowings and fodder: what was planned, and what was done.

What can be done again (too weak, too short, not washed) is silent once it was put
right, looked at again and closed. What cannot be undone is told for ever.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from decimal import Decimal
from typing import Any, Final

from hygiene.inspection.seen import Item, Matter, Seen, rows, shown
from hygiene.kinds.entry import Entry

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
    still = [a.action.name for a in seen.about(matter.first) if a.end is None]
    tail = f"; {', '.join(still)} still open" if still else ""
    says = f"{_told(entry)} of {shown(day)}: {_words(marks)}{tail}"
    return Item(says, day, (entry.name,))


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
    doses: dict[Any, list[Entry]] = {}
    for dose in seen.standing("dose"):
        if dose.get("target") == "tray":
            doses.setdefault(seen.day(dose), []).append(dose)
    for state in seen.states:
        entry = state.entry
        if entry is None or entry.kind != "sign_off":
            continue
        for row in rows(entry.body, "answers"):
            value, tubs = row.get("value"), doses.get(seen.day(entry), [])
            if row.get("unit") == "mg/L" and value and _differs(value, tubs):
                says = (
                    f"{state.due.code} of {shown(state.due.day)} says {value} mg/L; "
                    "the dose of that tub says otherwise"
                )
                yield Item(says, state.due.day, (entry.name, tubs[0].name))


def _differs(value: Any, tubs: list[Entry]) -> bool:
    """Whether none of the day's tubs was read as anything near that."""
    read = [
        number
        for tub in tubs
        for row in rows(tub.body, "readings")
        if isinstance(number := row.get("value_mg_per_l"), int | Decimal)
    ]
    said = Decimal(value)
    return bool(read) and all(abs(said - each) > OFF * max(said, each) for each in read)


def time(seen: Seen) -> Iterator[Item]:
    """It stood for less than its label, or the plan after mould, asks for."""
    return _not_settled(seen, TIME_MARKS, "dose")


def order(seen: Seen) -> Iterator[Item]:
    """Sanitised without washing, not rinsed, not emptied first, not flushed after."""
    return _not_settled(seen, ORDER_MARKS, "dose", "rinse")


def without_paper(seen: Seen) -> Iterator[Item]:
    """It left the shed without a look, a paper, a witness or a sample."""
    return _not_settled(seen, LEAVING_MARKS, "feed", "dispatch", "discard")


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
