"""What stands at the farm: each entry is a thing as it is from that moment on.

Nothing is deleted. A thing that is no more is retired, and a past day is read with
what was in force then.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import (
    expand,
    need_code,
    need_one_of,
    need_order,
    need_range,
    need_text,
)

ROLES = ("manager", "worker", "vet", "adviser", "visitor")
PROFILES = ("uk-primary", "eu-primary", "us-sprout-strict", "local")
PRODUCT_TYPES = ("PT2", "PT3", "PT4", "PT5")
TOOLS = ("jug", "syringe", "sprayer", "tube", "pump", "tub", "drain", "other")
USES = ("tray", "feed-contact", "water-line", "floor", "tool", "seed")
REGIONS = ("uk", "eu", "us", "who", "strictest")
KITS = ("strip", "kit", "meter", "thermometer", "scale")


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """Whom to ring: ``role`` is vet, authority, laboratory, poison or emergency."""

    role: str
    name: str
    telephone: str | None = None
    email: str | None = None
    address: str | None = None

    def __post_init__(self) -> None:
        need_one_of(
            self, "role", "vet", "authority", "laboratory", "poison", "emergency"
        )
        need_text(self, "name", "telephone")


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """A stretch of days in which the shed runs, both included; no end: still runs."""

    first: date
    last: date | None = None

    def __post_init__(self) -> None:
        need_order(self, "first", "last")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLimit:
    """A limit of the farm's own for its water, which stands beside the published ones.

    It is in the parameter's unit, at all points or at those in ``at_points``;
    ``holds_sowing`` stops sowing from the point's line where it is passed.
    """

    parameter: str
    at_most: Decimal | None = None
    at_least: Decimal | None = None
    at_points: tuple[str, ...] = ()
    why: str | None = None
    holds_sowing: bool = False

    def __post_init__(self) -> None:
        need_code(self, "parameter")
        need_text(self, "why")
        low, high = self.at_least, self.at_most
        if low is None and high is None:
            raise CannotBe(key="at_most", what="say at_most, at_least or both")
        if low is not None and high is not None and high < low:
            raise CannotBe(key="at_most", what=f"{high} is below at_least ({low})")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnClause:
    """A rule that the farm goes by, which wins over a published one of its ``code``.

    ``applies`` false says that a published clause does not apply here, and ``why``.
    ``answered_by`` names kinds of entry, ``reports`` the pages that show them.
    """

    code: str
    clause: str | None = None
    says: str | None = None
    answered_by: tuple[str, ...] = ()
    reports: tuple[str, ...] = ()
    applies: bool = True
    why: str | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "clause", "says", "why")
        if not self.applies and self.why is None:
            raise CannotBe(key="why", what="say why it does not apply here")


@dataclass(frozen=True, slots=True, kw_only=True)
class Farm(Kind):
    """The farm itself: who it is, where it is registered, how its day runs.

    ``feed_registration`` and ``activities_confirmed_on`` answer Regulation (EC)
    183/2005 Article 9(2). ``day_ends`` is the end of the working day (HH:MM), the
    default grace of a task. ``gallon`` says which gallon a bare ``gal`` means;
    ``reference_samples`` asks for a small sample of every batch. ``water_region``
    chooses whose limits for water count, else the profile does.

    A tray stays cleared for ``clear_days``; after mould it stands ``deep_minutes``.
    ``on_expired``, ``on_empty`` and ``on_stale_sds`` say whether a dose planned from
    such a container is refused or warned about; a data sheet is stale when nobody has
    checked it for ``sds_months``. ``dosing_training`` is the topic that whoever doses
    must hold. Prices are in ``currency``. A day's page is to be looked at by a second
    person within ``review_days``; ``clauses`` are the farm's own rules.
    """

    kind = "farm"
    name: str
    address: str
    time_zone: str
    holding_number: str | None = None
    feed_registration: str | None = None
    activities: tuple[str, ...] = ()
    activities_confirmed_on: date | None = None
    profile: str = "local"
    units: str = "metric"
    gallon: str | None = None
    day_ends: str = "20:00"
    growing_days: int = 7
    season: tuple[Season, ...] = ()
    contacts: tuple[Contact, ...] = ()
    keep_years: int = 5
    reference_samples: bool = False
    water_region: str | None = None
    water_limits: tuple[OwnLimit, ...] = ()
    clear_days: int = 3
    deep_minutes: int = 30
    on_expired: str = "refuse"
    on_empty: str = "refuse"
    on_stale_sds: str = "refuse"
    sds_months: int = 12
    dosing_training: str | None = None
    currency: str | None = None
    water_price_per_m3: Decimal | None = None
    labour_price_per_hour: Decimal | None = None
    review_days: int | None = None
    clauses: tuple[OwnClause, ...] = ()

    def __post_init__(self) -> None:
        need_text(self, "name", "address", "time_zone", "dosing_training", "currency")
        need_one_of(self, "water_region", *REGIONS)
        need_one_of(self, "profile", *PROFILES)
        need_one_of(self, "units", "metric", "us", "imperial")
        need_one_of(self, "gallon", "us", "imp")
        need_range(self, "growing_days", 3, 14, "days")
        need_range(self, "keep_years", 1, 100, "years")
        need_range(self, "clear_days", 1, 30, "days")
        need_range(self, "deep_minutes", 1, 1440, "minutes")
        need_range(self, "sds_months", 1, 120, "months")
        need_range(self, "review_days", 1, 365, "days")
        need_range(self, "water_price_per_m3", 0, 1_000_000)
        need_range(self, "labour_price_per_hour", 0, 1_000_000)
        for key in ("on_expired", "on_empty", "on_stale_sds"):
            need_one_of(self, key, "refuse", "warn")
        _need_clock_time(self.day_ends, "day_ends")


def _need_clock_time(given: str, key: str) -> None:
    hours, _, minutes = given.partition(":")
    good = hours.isdigit() and minutes.isdigit() and len(given) == 5
    if not (good and int(hours) < 24 and int(minutes) < 60):
        raise CannotBe(key=key, what=f"{given!r} is not a time such as 07:00")


@dataclass(frozen=True, slots=True, kw_only=True)
class Training:
    """A training that a person has had; ``until`` is the last day it counts."""

    topic: str
    had_on: date
    until: date | None = None
    given_by: str | None = None

    def __post_init__(self) -> None:
        need_text(self, "topic")
        need_order(self, "had_on", "until")


@dataclass(frozen=True, slots=True, kw_only=True)
class Person(Kind):
    """Somebody who works here: the code is what they sign with."""

    kind = "person"
    code: str
    name: str
    roles: tuple[str, ...] = ("worker",)
    training: tuple[Training, ...] = ()
    telephone: str | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "name")
        for role in self.roles:
            if role not in ROLES:
                raise CannotBe(
                    key="roles", what=f"{role!r} is not one of {', '.join(ROLES)}"
                )


@dataclass(frozen=True, slots=True, kw_only=True)
class Room(Kind):
    """A room of the shed."""

    kind = "room"
    code: str
    name: str

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "name")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack(Kind):
    """A rack in a room, with its levels counted from the floor."""

    kind = "rack"
    code: str
    room: str
    levels: int = 1
    line: str | None = ref(default=None)

    def __post_init__(self) -> None:
        need_code(self, "code", "room", "line")
        need_range(self, "levels", 1, 40, "levels")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tray(Kind):
    """Trays by range: ``code`` is one code, or a range such as ``T001..T096``."""

    kind = "tray"
    code: str
    area_m2: Decimal | None = None
    material: str | None = None

    def __post_init__(self) -> None:
        _need_trays(self.code)
        need_range(self, "area_m2", 0.001, 20, "m2")
        need_text(self, "material")


def _need_trays(codes: str) -> None:
    try:
        trays = expand(codes)
    except CannotBe as failure:
        raise CannotBe(key="code", what=failure.details["what"]) from failure
    # dots may stand in a code, so a range that was not understood looks like one code
    if len(trays) == 1 and ".." in trays[0]:
        raise CannotBe(
            key="code",
            what=f"{codes!r} is no range: write letters and digits, as T001..T096",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Line(Kind):
    """A water line: its pipe runs (``25mm SDR11 x 40m``), tank, room and nozzles."""

    kind = "line"
    code: str
    name: str
    runs: tuple[str, ...] = ()
    tank: str | None = ref(default=None)
    room: str | None = None
    nozzles: int | None = None
    flow_l_per_min: Decimal | None = None

    def __post_init__(self) -> None:
        need_code(self, "code", "tank", "room")
        need_text(self, "name")
        need_range(self, "nozzles", 0, 10_000, "nozzles")
        need_range(self, "flow_l_per_min", 0.001, 10_000, "L/min")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tank(Kind):
    """A water tank."""

    kind = "tank"
    code: str
    name: str
    volume_l: Decimal

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_range(self, "volume_l", 0.1, 1_000_000, "L")


@dataclass(frozen=True, slots=True, kw_only=True)
class Point(Kind):
    """A place where water is sampled; ``use`` chooses the limit set.

    Limits for what is left of chlorine count only where it is ``chlorinated``.
    """

    kind = "point"
    code: str
    name: str
    line: str | None = ref(default=None)
    source: str | None = None
    use: str = "drinking"
    chlorinated: bool = False
    sample_every_months: int | None = None

    def __post_init__(self) -> None:
        need_code(self, "code", "line")
        need_text(self, "name", "source")
        need_one_of(self, "use", "drinking", "livestock", "irrigation")
        need_range(self, "sample_every_months", 1, 60, "months")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit(Kind):
    """What is measured with: strips, a drop or colour kit, a meter, a scale ...

    ``reads`` are the water parameters that it reads, such as free and ph. It is in
    date up to ``expires_on`` (strips, reagent), and where it is checked
    ``check_every_months``, only while its last check counts.
    """

    kind = "kit"
    code: str
    name: str
    sort: str
    reads: tuple[str, ...] = ()
    expires_on: date | None = None
    check_every_months: int | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "name")
        need_one_of(self, "sort", *KITS)
        need_range(self, "check_every_months", 1, 60, "months")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool(Kind):
    """What sanitisers go through: a jug, syringe, sprayer, suction tube, tub, drain."""

    kind = "tool"
    code: str
    name: str
    sort: str | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "name")
        need_one_of(self, "sort", *TOOLS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Active:
    """One active substance: ``strength`` with its basis, as ``calc`` reads it."""

    name: str
    strength: str
    density_kg_per_l: Decimal | None = None

    def __post_init__(self) -> None:
        need_text(self, "name", "strength")
        need_range(self, "density_kg_per_l", 0.5, 2.5, "kg/L")


@dataclass(frozen=True, slots=True, kw_only=True)
class Product(Kind):
    """A sanitiser or cleaner, copied from its label and its safety data sheet.

    The program knows none of this by itself. ``product_types`` are those of the
    Biocidal Products Regulation (EU) 528/2012 Annex V; label strengths are mg/L of
    the first active.
    """

    kind = "product"
    code: str
    name: str
    actives: tuple[Active, ...] = ()
    solid: bool = False
    authorisation: str | None = None
    product_types: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()
    label_min_mg_per_l: Decimal | None = None
    label_max_mg_per_l: Decimal | None = None
    contact_minutes: Decimal | None = None
    rinse_needed: bool | None = None
    lowest_temp_c: Decimal | None = None
    hazards: tuple[str, ...] = ()
    pictograms: tuple[str, ...] = ()
    sds_date: date | None = None
    sds_checked_on: date | None = None
    assessment: str | None = None
    assessment_review_on: date | None = None
    gear: tuple[str, ...] = ()
    incompatible_with: tuple[str, ...] = ()
    keeps_days_opened: int | None = None
    price_per_container: Decimal | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "name", "authorisation", "assessment")
        for key, allowed in (("product_types", PRODUCT_TYPES), ("uses", USES)):
            for given in getattr(self, key):
                if given not in allowed:
                    raise CannotBe(
                        key=key, what=f"{given!r} is not one of {', '.join(allowed)}"
                    )
        for key in ("label_min_mg_per_l", "label_max_mg_per_l"):
            need_range(self, key, 0, 1_000_000, "mg/L")
        need_range(self, "contact_minutes", 0, 10_080, "minutes")
        need_range(self, "lowest_temp_c", -10, 100, "C")
        need_range(self, "keeps_days_opened", 1, 3_650, "days")
        need_range(self, "price_per_container", 0, 1_000_000)
        low, high = self.label_min_mg_per_l, self.label_max_mg_per_l
        if low is not None and high is not None and high < low:
            raise CannotBe(
                key="label_max_mg_per_l", what=f"{high} is below the minimum {low}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Animals(Kind):
    """A group of animals that is fed together, with its head count.

    ``members`` are ear tags, where the farm keeps them. An animal that changes its
    group is a new set-up of both from that day on, so a past day keeps its own.
    """

    kind = "animals"
    code: str
    name: str
    species: str
    head: int
    produces: tuple[str, ...] = ()
    members: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "name", "species")
        need_range(self, "head", 0, 1_000_000, "head")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trader:
    """What is kept of a business one step back or forward (178/2002 Article 18)."""

    code: str
    name: str
    address: str
    registration: str | None = None
    telephone: str | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "name", "address")


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplier(Trader, Kind):
    """Who supplied seed, products or other inputs."""

    kind = "supplier"


@dataclass(frozen=True, slots=True, kw_only=True)
class Buyer(Trader, Kind):
    """Who was supplied with fodder."""

    kind = "buyer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Retire(Kind):
    """A thing of the set-up that is no more from that moment on; never deleted."""

    kind = "retire"
    sort: str
    code: str

    def __post_init__(self) -> None:
        need_text(self, "sort", "code")
