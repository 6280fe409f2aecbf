"""Limits for water: published ones by use and region, and the farm's own on top.

The published ones stand in ``limits.toml``, each with its source and how that was
checked. The farm's own never replace them: a result is held against all that apply,
and the one that it does not meet is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final, NamedTuple

from hygiene.errors import HygieneError
from hygiene.water.parameters import BY_CODE, Parameter, Read, convert
from hygiene.water.results import Judgement, Limit, Verdict, judge

STATUSES: Final = ("SEEN", "SEEN-2nd", "MEMORY")
REGIONS_OF: Final[Mapping[str, tuple[str, ...]]] = {
    "uk": ("uk", "eu", "who"),
    "eu": ("eu", "who"),
    "us": ("us", "who"),
    "who": ("who",),
    "strictest": ("uk", "eu", "us", "who"),
}
"""Whose limits count; the UK keeps those of 98/83/EC, beside its own."""
REGION_OF_PROFILE: Final = {
    "uk-primary": "uk",
    "eu-primary": "eu",
    "us-sprout-strict": "us",
}
OWN: Final = "the farm's own limit"
_DOES_NOT_MEET: Final[tuple[Verdict, ...]] = ("over", "under", "cannot tell")


class BadLimits(HygieneError):
    """The file of limits that came with the program is wrong."""

    sentence = "limits.toml: {what}"


class WaterLimit(NamedTuple):
    """One limit: what it bounds, where it counts, and who says so.

    ``chlorinated`` True: only at points that are; False: only at those that are not;
    None: at all.
    """

    limit: Limit
    use: str
    regions: tuple[str, ...]
    status: str
    holds_sowing: bool
    chlorinated: bool | None
    own: bool = False

    @property
    def parameter(self) -> str:
        """The code of what it bounds."""
        return self.limit.name

    @property
    def says(self) -> str:
        """The limit in words, with its source."""
        return f"{bounds(self.limit)} ({self.limit.source})"


class Held(NamedTuple):
    """A result held against every limit that applies; None: there is none."""

    verdict: Verdict | None
    why: str
    against: WaterLimit | None
    holds_sowing: bool

    @property
    def meets(self) -> bool:
        """Whether nothing speaks against it; no limit at all speaks for nothing."""
        return self.verdict not in _DOES_NOT_MEET


def bounds(limit: Limit) -> str:
    """What a limit allows: ``6.5 to 9.5``, ``50 mg/L at most``."""
    low, high = limit.at_least, limit.at_most
    unit = f" {limit.unit}" if limit.unit else ""
    if low is not None and high is not None:
        return f"{low:f} to {high:f}{unit}"
    if low is not None:
        return f"{low:f}{unit} at least"
    return "no limit" if high is None else f"{high:f}{unit} at most"


def read_limits(values: Mapping[str, Any]) -> tuple[WaterLimit, ...]:
    """Read the published limits from the values of ``limits.toml``; ``BadLimits``."""
    return tuple(_published(row) for row in values.get("limit", ()))


def _published(row: Mapping[str, Any]) -> WaterLimit:
    parameter = BY_CODE.get(str(row.get("parameter")))
    if parameter is None or row.get("status") not in STATUSES or not row.get("source"):
        raise BadLimits(what=f"{dict(row)!r} lacks its parameter, source or status")
    made = limit_of(
        parameter,
        _number(row, parameter, "at_most"),
        _number(row, parameter, "at_least"),
        str(row["source"]),
    )
    chlorinated = True if row.get("chlorinated") else None
    return WaterLimit(
        made,
        str(row.get("use")),
        tuple(row.get("regions", ())),
        str(row["status"]),
        row.get("holds_sowing") is True,
        False if row.get("not_chlorinated") else chlorinated,
    )


def _number(row: Mapping[str, Any], parameter: Parameter, key: str) -> Decimal | None:
    if key not in row:
        return None
    return convert(parameter, Decimal(row[key]), str(row.get("unit", "")))


def limit_of(
    parameter: Parameter, most: Decimal | None, least: Decimal | None, source: str
) -> Limit:
    """A limit in the parameter's own unit."""
    return Limit(
        parameter.code,
        parameter.unit if parameter.unit != parameter.name else "",
        most,
        least,
        parameter.counted,
        parameter.per_ml,
        source,
    )


def region_of(farm: Mapping[str, Any]) -> str:
    """Whose limits count at a farm: as it says, else by its profile, else all."""
    given = farm.get("water_region") or REGION_OF_PROFILE.get(str(farm.get("profile")))
    return str(given) if given in REGIONS_OF else "strictest"


def limits_at(
    published: Iterable[WaterLimit],
    farm: Mapping[str, Any],
    point: Mapping[str, Any],
) -> tuple[WaterLimit, ...]:
    """Every limit that counts at a point of a farm, the farm's own last.

    ``farm`` and ``point`` are the bodies of the set-up that was in force then.
    """
    regions = REGIONS_OF[region_of(farm)]
    use, chlorinated = point.get("use", "drinking"), point.get("chlorinated") is True
    found = [
        limit
        for limit in published
        if limit.use == use
        and (not limit.regions or set(limit.regions) & set(regions))
        and limit.chlorinated in (None, chlorinated)
    ]
    return (*found, *_own(farm, str(point.get("code"))))


def _own(farm: Mapping[str, Any], point: str) -> Iterator[WaterLimit]:
    given = farm.get("water_limits")
    for row in given if isinstance(given, list | tuple) else ():
        if not isinstance(row, Mapping):
            continue
        parameter = BY_CODE.get(str(row.get("parameter")))
        named = row.get("at_points") or ()
        if parameter is None or (named and point not in named):
            continue
        why = f"{OWN}: {row['why']}" if row.get("why") else OWN
        made = limit_of(parameter, row.get("at_most"), row.get("at_least"), why)
        holds = row.get("holds_sowing") is True
        yield WaterLimit(made, "", (), "SEEN", holds, None, own=True)


def hold_against(limits: Iterable[WaterLimit], read: Read) -> Held:
    """Judge a result by every limit of its parameter; the one that it fails is named.

    A limit that is passed weighs more than one that the result cannot decide.
    """
    result = replace(read.result, as_written=read.shown)
    judged = [
        (limit, judge(result, limit.limit))
        for limit in limits
        if limit.parameter == read.parameter.code
    ]
    if not judged:
        return Held(None, "there is no limit for it here", None, False)
    limit, said = _worst(judged)
    passed = ("over", "under")
    holds = any(j.verdict in passed and one.holds_sowing for one, j in judged)
    return Held(said.verdict, said.why, limit, holds)


def _worst(
    judged: Sequence[tuple[WaterLimit, Judgement]],
) -> tuple[WaterLimit, Judgement]:
    for wanted in _DOES_NOT_MEET:
        for limit, said in judged:
            if said.verdict == wanted:
                return limit, said
    return min(judged, key=lambda pair: _room(pair[0].limit))


def _room(limit: Limit) -> Decimal:
    """How wide a limit is: of those that are met, the tightest is named."""
    return limit.at_most if limit.at_most is not None else Decimal("Infinity")
