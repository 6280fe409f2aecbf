"""Whose record it is: the farm, its people, whom to ring, its places, its animals."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

from hygiene.farm.in_force import InForce
from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Body, items, rows_of
from hygiene.reports.reading import Reading
from hygiene.reports.words import count, listed, short
from hygiene.reports.words import plain as whole

LONGEST: Final = 300
"""So many letters of a text stand on the page; the whole of it is in its entry."""


class Contact(NamedTuple):
    """Whom to ring: the role, the name, and every way to reach them."""

    role: str
    name: str
    reached: str


class Person(NamedTuple):
    """Who signs here, in what roles, and what they were trained in until when."""

    code: str
    name: str
    roles: str
    training: str


class Holding(NamedTuple):
    """The chapter as values."""

    facts: tuple[tuple[str, str], ...]
    contacts: tuple[Contact, ...]
    people: tuple[Person, ...]
    places: tuple[tuple[str, str], ...]
    partners: tuple[tuple[str, str], ...]


def holding(reading: Reading) -> Holding:
    """The farm as it stood at the end of the period."""
    farm = reading.farm
    body = farm.farm or {}
    return Holding(
        tuple((what, says) for what, says in _facts(farm, body) if says),
        tuple(map(_contact, rows_of(body, "contacts"))),
        tuple(_people(farm)),
        tuple((what, says) for what, says in _places(farm) if says),
        tuple((what, says) for what, says in _partners(farm) if says),
    )


def plain(value: Any) -> str:
    """A value of the set-up on one line, as long as there is room."""
    return short(whole(value), LONGEST)


def _facts(farm: InForce, body: Body) -> Iterator[tuple[str, str]]:
    yield "Name", plain(body.get("name"))
    yield "Address", plain(body.get("address"))
    yield "Holding number", plain(body.get("holding_number"))
    yield "Registered as a feed business", plain(body.get("feed_registration"))
    since = body.get("activities_confirmed_on")
    confirmed = f"; confirmed by the authority on {since}" if since else ""
    given = plain(body.get("activities"))
    yield "What it does", f"{given}{confirmed}" if given else ""
    yield "Rules it goes by", plain(body.get("profile"))
    zone = plain(body.get("time_zone"))
    yield "Clock", f"{zone}; the working day ends {farm.day_ends}" if zone else ""
    yield "The shed runs", "; ".join(_stretches(farm))
    days = body.get("growing_days")
    yield "Grown for", f"{days} days from sowing to feeding" if days else ""
    years = body.get("keep_years")
    yield "Records are kept", f"{years} years" if years else ""


def _stretches(farm: InForce) -> Iterator[str]:
    for first, last in farm.season:
        yield f"{first} to {last}" if last else f"since {first}"


def _contact(row: Mapping[str, Any]) -> Contact:
    ways = (row.get(key) for key in ("telephone", "email", "address"))
    return Contact(
        plain(row.get("role")).capitalize(),
        plain(row.get("name")),
        " · ".join(plain(way) for way in ways if way),
    )


def _people(farm: InForce) -> Iterator[Person]:
    for code, body in sorted(farm.people.items()):
        yield Person(
            code,
            plain(body.get("name")),
            listed(map(str, items(body, "roles") or ("worker",))),
            "; ".join(map(_training, farm.trainings(code))) or "none written",
        )


def _training(row: Mapping[str, Any]) -> str:
    until = f", counts until {row.get('until')}" if row.get("until") else ""
    return f"{plain(row.get('topic'))} {plain(row.get('had_on'))}{until}"


def _places(farm: InForce) -> Iterator[tuple[str, str]]:
    yield "Rooms", _named(farm, "room")
    racks = farm.things("rack")
    levels = sum(int(b.get("levels") or 1) for b in racks.values() if _whole(b))
    yield "Racks", f"{listed(racks)}, {count(levels, 'level')} in all" if racks else ""
    trays = farm.trays()
    yield "Trays", f"{len(trays):,}: {ranges(list(trays))}" if trays else ""
    yield "Water lines", _named(farm, "line")
    yield "Tanks", _named(farm, "tank")
    yield "Sample points", _named(farm, "point")
    yield "Meters and kits", _named(farm, "kit")


def _whole(body: Body) -> bool:
    return isinstance(body.get("levels") or 1, int)


def _named(farm: InForce, kind: str) -> str:
    things = farm.things(kind).items()
    return "; ".join(
        f"{code} {plain(body.get('name'))}".strip() for code, body in things
    )


def _partners(farm: InForce) -> Iterator[tuple[str, str]]:
    yield "Animals", "; ".join(_animals(farm))
    yield "Seed from", "; ".join(_partner(farm, "supplier"))
    yield "Fodder to", "; ".join(_partner(farm, "buyer"))


def _animals(farm: InForce) -> Iterator[str]:
    for code, body in farm.things("animals").items():
        head = f", {body.get('head')} head" if body.get("head") else ""
        sort = plain(body.get("species") or body.get("sort"))
        yield " ".join(p for p in (code, plain(body.get("name")), sort) if p) + head


def _partner(farm: InForce, kind: str) -> Iterator[str]:
    for code, body in farm.things(kind).items():
        told = (body.get(key) for key in ("name", "address", "registration"))
        yield f"{code}: {', '.join(plain(t) for t in told if t)}"
