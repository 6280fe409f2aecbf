"""Cards for the wall and a sheet for the door: mould, emergency, visitors.

They are read by somebody who is frightened, or in gloves: few words, large letters,
nothing that only a colour says. What they say of care and first aid stands in the
program already; whom to ring stands in the farm file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.finds import CAUTIONS
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Body, rows_of
from hygiene.reports.frame import Frame, frame_of
from hygiene.reports.period import Period
from hygiene.reports.reading import Reading, read_only
from hygiene.sanitising.cautions import first_aid
from hygiene.sanitising.chemistries import between
from hygiene.sanitising.incompatible import meetings_among

ROLES: Final = {
    "emergency": "At the farm, day and night",
    "poison": "Poisons line",
    "vet": "Vet",
    "authority": "Feed authority",
    "laboratory": "Laboratory",
}
"""Whom to ring, in the order in which a hurry asks for them."""
NEVER: Final = (
    ("bleach", "descaler"),
    ("bleach", "vinegar"),
    ("bleach", "peracetic acid"),
    ("bleach", "ammonia"),
    ("bleach", "hydrogen peroxide"),
)
"""What is kept in most sheds, and kills: said also where the farm file has none."""
VISITORS: Final = 11
"""Rows of the sheet for the door."""


class Contact(NamedTuple):
    """Somebody to ring."""

    role: str
    name: str
    telephone: str


class Mould(NamedTuple):
    """The card for the wall of the growing room."""

    frame: Frame
    cautions: tuple[str, ...]
    vet: tuple[Contact, ...]


class Emergency(NamedTuple):
    """The card by the telephone and on the door of the store."""

    frame: Frame
    where: str
    contacts: tuple[Contact, ...]
    missing: tuple[str, ...]
    aid: tuple[tuple[str, str], ...]
    never: tuple[tuple[str, str], ...]


class Visitors(NamedTuple):
    """The sheet by the door."""

    frame: Frame
    rows: tuple[int, ...]
    people: tuple[str, ...]


def gather(record: Record, printed_at: datetime) -> Reading:
    """Read the set-up alone, as it stands on the day of printing."""
    zone = printed_at.tzinfo
    day = printed_at.astimezone(zone).date()
    return read_only(record, Period(day, day), printed_at)


def mould(reading: Reading) -> Mould:
    """What to do on finding mould."""
    contacts = _contacts(reading.farm)
    return Mould(
        frame_of(reading, "Mould found"),
        CAUTIONS,
        tuple(c for c in contacts if c.role == ROLES["vet"]),
    )


def emergency(reading: Reading) -> Emergency:
    """Whom to ring, first aid, and what must not meet."""
    farm = reading.farm
    contacts = tuple(_contacts(farm))
    there = {contact.role for contact in contacts}
    wanted = ("emergency", "poison", "vet", "authority")
    return Emergency(
        frame=frame_of(reading, "Emergency"),
        where=str((farm.farm or {}).get("address") or ""),
        contacts=contacts,
        missing=tuple(ROLES[r] for r in wanted if ROLES[r] not in there),
        aid=(
            ("Splashed, swallowed", first_aid("splash")[0]),
            ("Gas, choking smell", first_aid("gas")[0]),
        ),
        never=tuple(_never(farm)),
    )


def visitors(reading: Reading) -> Visitors:
    """Who came in, to be written by hand."""
    frame = frame_of(reading, "Visitors")
    return Visitors(frame, tuple(range(VISITORS)), tuple(reading.farm.people))


def _contacts(farm: InForce) -> Iterator[Contact]:
    listed = rows_of(farm.farm or {}, "contacts")
    order = list(ROLES)
    known = [row for row in listed if row.get("role") in ROLES]
    for row in sorted(known, key=lambda row: order.index(str(row["role"]))):
        yield _contact(row)


def _contact(row: Mapping[str, Any]) -> Contact:
    return Contact(
        ROLES[str(row["role"])],
        str(row.get("name") or ""),
        str(row.get("telephone") or "no number written"),
    )


def _never(farm: InForce) -> Iterator[tuple[str, str]]:
    """The farm's own products that must not meet, then what every shed has."""
    products: list[Body] = list(farm.things("product").values())
    for place, one in enumerate(products):
        for other in products[place + 1 :]:
            meeting = between(one, other)
            if meeting is not None and meeting.dangerous:
                what = meeting.says.rpartition(": ")[2]
                yield f"{one.get('name')} + {other.get('name')}", what
    for pair in NEVER:
        for found in meetings_among(*pair):
            yield f"{found.first.capitalize()} + {found.second}", found.forms
