"""What every report says of itself: whose it is, of when, and from which record."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from hygiene import __version__
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import items
from hygiene.kinds.moments import stamp
from hygiene.reports.period import plain_day
from hygiene.reports.reading import Reading
from hygiene.reports.words import listed, short

SHORT_NAME = 48
SHORT_HASH = 12
"""How much of a head stands at the foot of each page; the whole one ends the report."""


class HeadLine(NamedTuple):
    """The end of a book: its last entry, and its hash in groups to compare."""

    entry: str
    short: str
    groups: tuple[str, ...]
    whole: str


class Who(NamedTuple):
    """A person as they sign, with their name."""

    code: str
    name: str
    roles: str


class Frame(NamedTuple):
    """The parts of a page that every report shares."""

    title: str
    period: str
    period_words: str
    farm: str
    farm_short: str
    address: str
    numbers: tuple[tuple[str, str], ...]
    printed: str
    printed_at: str
    entries: int
    heads: tuple[HeadLine, ...]
    demonstration: bool
    program: str


def frame_of(reading: Reading, title: str) -> Frame:
    """The frame of a report over this reading."""
    farm = reading.farm.farm or {}
    name = str(farm.get("name") or "A farm without a name")
    at = reading.printed_at
    return Frame(
        title=title,
        period=reading.period.title,
        period_words=reading.period.words,
        farm=name,
        farm_short=short(name, SHORT_NAME),
        address=str(farm.get("address") or ""),
        numbers=tuple(
            (said, str(farm[key]))
            for key, said in (
                ("holding_number", "Holding"),
                ("feed_registration", "Feed business"),
            )
            if farm.get(key)
        ),
        printed=f"{plain_day(at.date())}, {at:%H:%M}",
        printed_at=stamp(at),
        entries=sum(head.seq for head in reading.heads),
        heads=tuple(
            HeadLine(
                f"{head.book}/{head.seq}",
                f"{head.book}/{head.seq}:{head.hash[:SHORT_HASH]}",
                tuple(head.hash[n : n + 8] for n in range(0, len(head.hash), 8)),
                str(head),
            )
            for head in reading.heads
        ),
        demonstration=reading.demonstration,
        program=f"hygiene {__version__}",
    )


def who(farm: InForce, codes: Iterable[str]) -> list[Who]:
    """Everyone who signs on the page, with their name, even if they left since."""
    found = []
    for code in sorted(set(codes)):
        entry = farm.last_described("person", code)
        if entry is not None:
            roles = listed(map(str, items(entry, "roles") or ("worker",)))
            found.append(Who(code, str(entry.get("name") or code), roles))
        else:
            found.append(Who(code, "not known at the farm", ""))
    return found


def signers(reading: Reading) -> set[str]:
    """Everyone who did, saw or typed something that the page tells."""
    return {
        code
        for matter in reading.matters
        for entry in matter.history
        for code in (entry.by, entry.written_by)
        if code
    }
