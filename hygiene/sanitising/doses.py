"""Doses, rinses and labels as the record tells them: plain values, never raising.

``Told`` is a matter with every version of it that still counts. A correction or a
strike counts beside what it supersedes, so it can make a state worse and never better,
until a second person has looked at it: then it stands alone.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any, Final, NamedTuple

from hygiene.kinds.entry import Body, Entry, items, rows_of, texts_of
from hygiene.kinds.moments import moment_of

KEPT_UP_TO_MG_PER_L: Final = 5.0
"""Chlorine that stays in the water and is drunk: WHO's guideline value, 5 mg/L."""
_CHLORINE: Final = ("chlorine", "available chlorine", "active chlorine", "bleach")
IN_THE_TUB: Final = ("start", "mid", "end")


class Told(NamedTuple):
    """One matter: its first entry's name, the versions that count, what stands.

    ``last`` names the latest version, by which a second person looks at it.
    """

    name: str
    versions: tuple[Entry, ...]
    stands: Entry | None
    last: str


def told(history: Sequence[Entry], countersigns: Iterable[Entry] = ()) -> Told:
    """A matter from its history, first version first, and the second looks at it.

    A second look counts where it names the last version itself, not a whole day, by a
    person who wrote none of the versions.
    """
    first, last = history[0], history[-1]
    stands = None if last.kind == "strike" else last
    if len(history) == 1 and stands is not None:
        return Told(first.first, (first,), first, first.name)
    authors = {name for v in history for name in (v.by, v.written_by)}
    for look in countersigns:
        if (
            look.kind == "countersign"
            and look.get("how", "countersigned") == "countersigned"
            and look.get("day") is None
            and last.name in (items(look, "entries"))
            and not {look.by, look.written_by} & authors - {None}
        ):
            return Told(first.first, (stands,) if stands else (), stands, last.name)
    said = tuple(v for v in history if v.kind != "strike")
    return Told(first.first, said, stands, last.name)


class Read(NamedTuple):
    """A strength that was read; ``at`` where its moment was written."""

    spot: str
    mg_per_l: float
    sign: str | None
    kit: str | None
    at: datetime | None
    temp_c: float | None


class Dosed(NamedTuple):
    """One version of a dose; ``first`` names the matter, ``tub`` whose tub it was."""

    name: str
    first: str
    started: datetime
    ended: datetime | None
    product: str
    target: str
    trays: tuple[str, ...]
    line: str | None
    tank: str | None
    tools: tuple[str, ...]
    way: str | None
    tub: str
    target_mg_per_l: float | None
    volume_l: float | None
    readings: tuple[Read, ...]
    washed: bool | None
    deep: bool
    finds: frozenset[str]
    rinsed: bool | None
    tools_rinsed: bool | None
    dry: bool | None
    gear: tuple[str, ...]
    locked_off_by: str | None
    drawn: tuple[Mapping[str, Any], ...]
    marks: frozenset[str]

    @property
    def things(self) -> frozenset[str]:
        """Everything that the product touched: trays, line, tank, tools."""
        named = {self.line, self.tank, *self.trays, *self.tools}
        return frozenset(code for code in named if code)

    def was_rinsed(self, thing: str) -> bool:
        """Whether the dose itself says that clean water followed on a thing."""
        if thing in self.tools:
            return self.tools_rinsed is True
        return self.rinsed is True


class DoseTold(NamedTuple):
    """A dose as ``Told``, with its versions read."""

    name: str
    versions: tuple[Dosed, ...]
    stands: bool
    last: str


class Rinsed(NamedTuple):
    """One version of a rinse."""

    name: str
    first: str
    at: datetime
    doses: frozenset[str]
    things: frozenset[str]
    rinsed: bool
    dry: bool
    readings: tuple[Read, ...]
    timer_on: bool


class Label(NamedTuple):
    """What the farm file says of a product, from its label and its data sheet."""

    code: str
    name: str
    active: str | None
    least_mg_per_l: float | None
    most_mg_per_l: float | None
    contact_minutes: float | None
    rinse_needed: bool | None
    lowest_temp_c: float | None
    uses: tuple[str, ...]
    product_types: tuple[str, ...]
    authorisation: str | None
    gear: tuple[str, ...]

    @property
    def source(self) -> str:
        """Where this is written."""
        return f"the label of {self.name}"


def read_dose(entry: Entry) -> Dosed:
    """A version of a dose as plain values."""
    return Dosed(
        name=entry.name,
        first=entry.first,
        started=moment_of(entry.happened_at),
        ended=_moment(entry.get("ended_at")),
        product=str(entry.get("product")),
        target=str(entry.get("target")),
        trays=texts_of(entry.body, "trays"),
        line=text(entry.body, "line"),
        tank=text(entry.body, "tank"),
        tools=texts_of(entry.body, "tools"),
        way=text(entry.body, "way"),
        tub=text(entry.body, "tub") or entry.first,
        target_mg_per_l=number(entry.body, "target_mg_per_l"),
        volume_l=number(entry.body, "volume_l"),
        readings=_readings(entry.body),
        washed=yes_no(entry.body, "washed_before"),
        deep=entry.get("deep") is True,
        finds=frozenset(texts_of(entry.body, "finds")),
        rinsed=yes_no(entry.body, "rinsed"),
        tools_rinsed=yes_no(entry.body, "tools_rinsed"),
        dry=yes_no(entry.body, "dry"),
        gear=texts_of(entry.body, "gear"),
        locked_off_by=text(entry.body, "locked_off_by"),
        drawn=tuple(rows_of(entry.body, "drawn")),
        marks=frozenset(texts_of(entry.body, "marks")),
    )


def read_told(dose: Told) -> DoseTold:
    """A dose with the versions that count, read once."""
    versions = tuple(map(read_dose, dose.versions))
    return DoseTold(dose.name, versions, dose.stands is not None, dose.last)


def read_rinse(entry: Entry) -> Rinsed:
    """A version of a rinse as plain values."""
    single = (text(entry.body, "line"), text(entry.body, "tank"))
    return Rinsed(
        name=entry.name,
        first=entry.first,
        at=moment_of(entry.happened_at),
        doses=frozenset(texts_of(entry.body, "doses")),
        things=frozenset(
            code
            for code in (
                *single,
                *texts_of(entry.body, "trays"),
                *texts_of(entry.body, "tools"),
            )
            if code
        ),
        rinsed=entry.get("rinsed", True) is True,
        dry=entry.get("dry") is True,
        readings=_readings(entry.body),
        timer_on=entry.get("timer_on") is True,
    )


def firm(rinse: Told) -> Rinsed:
    """A rinse as far as every version of it goes; each reading of each one counts."""
    versions = [read_rinse(version) for version in rinse.versions]
    if not versions:
        return _NO_RINSE._replace(name=rinse.name, first=rinse.name)
    stands = rinse.stands is not None
    return Rinsed(
        name=rinse.name,
        first=rinse.name,
        at=max(each.at for each in versions),
        doses=frozenset[str]().union(*(each.doses for each in versions)),
        things=versions[0].things.intersection(*(each.things for each in versions)),
        rinsed=stands and all(each.rinsed for each in versions),
        dry=stands and all(each.dry for each in versions),
        readings=tuple(read for each in versions for read in each.readings),
        timer_on=stands and all(each.timer_on for each in versions),
    )


_NO_RINSE: Final = Rinsed(
    "",
    "",
    datetime.max.replace(tzinfo=UTC),
    frozenset(),
    frozenset(),
    False,
    False,
    (),
    False,
)
"""A rinse that was struck, which a second person has looked at: it says nothing."""


def read_label(body: Body) -> Label:
    """A product of the farm file as plain values."""
    actives = rows_of(body, "actives")
    return Label(
        code=str(body.get("code")),
        name=str(body.get("name")),
        active=text(actives[0], "name") if actives else None,
        least_mg_per_l=number(body, "label_min_mg_per_l"),
        most_mg_per_l=number(body, "label_max_mg_per_l"),
        contact_minutes=number(body, "contact_minutes"),
        rinse_needed=yes_no(body, "rinse_needed"),
        lowest_temp_c=number(body, "lowest_temp_c"),
        uses=texts_of(body, "uses"),
        product_types=texts_of(body, "product_types"),
        authorisation=text(body, "authorisation"),
        gear=texts_of(body, "gear"),
    )


def kept_in_the_water(dose: Dosed, active: str | None) -> bool:
    """Whether this dose stays in the water and is drunk: a little chlorine, no shock.

    Every level that is known of it counts; where none is, it is taken for a shock.
    """
    known = [read.mg_per_l for read in dose.readings]
    known += [dose.target_mg_per_l] if dose.target_mg_per_l is not None else []
    return (
        dose.target in ("line", "tank")
        and is_chlorine(active)
        and bool(known)
        and max(known) <= KEPT_UP_TO_MG_PER_L
    )


def is_chlorine(active: str | None) -> bool:
    """Whether an active is free chlorine, by a name that a label uses."""
    name = " ".join((active or "").lower().split())
    return "hypochlor" in name or name in _CHLORINE


def _readings(body: Body) -> tuple[Read, ...]:
    made = []
    for row in rows_of(body, "readings"):
        value = number(row, "value_mg_per_l")
        if value is not None:
            made.append(
                Read(
                    str(row.get("spot")),
                    value,
                    text(row, "sign"),
                    text(row, "kit"),
                    _moment(row.get("read_at")),
                    number(row, "temp_c"),
                )
            )
    return tuple(made)


def _moment(given: Any) -> datetime | None:
    try:
        made = moment_of(given)
    except (TypeError, ValueError):
        return None
    return made if made.tzinfo else None


def number(body: Body, key: str) -> float | None:
    """A field that holds a number, or None."""
    given = body.get(key)
    if isinstance(given, bool) or not isinstance(given, int | Decimal):
        return None
    return float(given)


def text(body: Body, key: str) -> str | None:
    """A field that holds a text, or None."""
    given = body.get(key)
    return given if isinstance(given, str) else None


def yes_no(body: Body, key: str) -> bool | None:
    """A field that says yes or no, or None where it does not say."""
    given = body.get(key)
    return given if isinstance(given, bool) else None
