"""Mould toxins in feed: a wet result at 12 % moisture, and what a limit does not say.

The limits of the EU are all at 12 % moisture. A clean result **never** clears mouldy
sprouted fodder: the toxins of the moulds that have killed stock on it (Aspergillus
clavatus above all) stand in no legal limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from hygiene.answers import Answer, Value, figure
from hygiene.errors import WronglyPut

SOURCE: Final = "Directive 2002/32/EC and Recommendation 2006/576/EC: at 12 % moisture"
NOT_COVERED: Final = (
    "No limit covers the toxins of sprout moulds (Aspergillus clavatus): a clean result"
    " never clears a mouldy batch.",
    "Thinning with clean feed to meet a limit is forbidden.",
)
_DRY_AT_12: Final = 88.0


class BadToxin(WronglyPut):
    """A result or a dry matter that cannot be."""

    sentence = "{what}"


@dataclass(frozen=True, slots=True)
class ToxinLimit:
    """A limit for one toxin in one sort of feed, in ug/kg at 12 % moisture."""

    toxin: str
    feed: str
    ug_per_kg: float
    source: str


_2002: Final = "2002/32/EC, limit"
_2006: Final = "2006/576/EC, guidance value"
LIMITS: Final = (
    ToxinLimit("aflatoxin B1", "feed material", 20.0, _2002),
    ToxinLimit("aflatoxin B1", "dairy feed", 5.0, _2002),
    ToxinLimit("deoxynivalenol", "cereals", 8000.0, _2006),
    ToxinLimit("deoxynivalenol", "complete feed", 5000.0, _2006),
    ToxinLimit("deoxynivalenol", "calves", 2000.0, _2006),
    ToxinLimit("zearalenone", "cereals", 2000.0, _2006),
    ToxinLimit("zearalenone", "calves and dairy feed", 500.0, _2006),
)
_SHORT: Final = {"don": "deoxynivalenol", "zea": "zearalenone", "zen": "zearalenone",
                 "aflatoxin": "aflatoxin B1", "afb1": "aflatoxin B1"}  # fmt: skip


def at_12_percent_moisture(
    measured_ug_per_kg: float, dry_matter_percent: float
) -> float:
    """Return a result as it would be at 12 % moisture, in ug/kg: x 88 / dry matter.

    Raises :class:`BadToxin`: below zero, dry matter not above 0 and up to 100 %.
    """
    if not (math.isfinite(measured_ug_per_kg) and measured_ug_per_kg >= 0):
        raise BadToxin(what="a result must be a plain number from 0 up")
    if not 0 < dry_matter_percent <= 100:
        raise BadToxin(what="dry matter lies above 0 and up to 100 %: write it as 15%")
    return measured_ug_per_kg * _DRY_AT_12 / dry_matter_percent


def limits_of(toxin: str) -> tuple[ToxinLimit, ...]:
    """Return the limits of ``toxin``, one for each sort of feed.

    Raises :class:`BadToxin` for a toxin that has none here.
    """
    name = _SHORT.get(toxin.strip().casefold(), toxin.strip())
    found = tuple(one for one in LIMITS if one.toxin.casefold() == name.casefold())
    if not found:
        known = ", ".join(dict.fromkeys(one.toxin for one in LIMITS))
        raise BadToxin(
            what=f"no limit for {toxin!r} here", way_out=f"There is: {known}."
        )
    return found


def toxin(
    measured_ug_per_kg: float,
    dry_matter_percent: float,
    *,
    sign: Literal["=", "<", ">"] = "=",
    name: str | None = None,
) -> Answer:
    """Work out a result at 12 % moisture; with ``name``, against its limits."""
    value = at_12_percent_moisture(measured_ug_per_kg, dry_matter_percent)
    mark = "" if sign == "=" else sign
    values: dict[str, Value] = {
        "at_12_percent_moisture_ug_per_kg": value,
        "sign": sign,
    }
    rows, findings = [], []
    for limit in limits_of(name) if name else ():
        word, finding = _against(value, sign, limit)
        rows.append(
            f"{limit.feed}: {figure(limit.ug_per_kg)} ug/kg ({limit.source}): {word}"
        )
        findings += [finding] if finding else []
    return Answer(
        values=values,
        says=(f"{mark}{figure(value)} ug/kg at 12 % moisture.", *rows),
        steps=(
            f"{figure(measured_ug_per_kg)} x 88 / {figure(dry_matter_percent)}"
            f" = {figure(value)} ug/kg",
        ),
        source=SOURCE,
        valid="The dry matter must be that of the very sample that was tested.",
        warnings=NOT_COVERED,
        findings=tuple(findings),
    )


def _against(
    value: float, sign: Literal["=", "<", ">"], limit: ToxinLimit
) -> tuple[str, str | None]:
    over = value > limit.ug_per_kg
    if sign == "<" and over:
        return "cannot tell", f"{limit.feed}: the test is too coarse for this limit"
    if sign == ">" and not over:
        return "cannot tell", f"{limit.feed}: the result does not decide this limit"
    if over:
        return "over", f"{limit.feed}: over {figure(limit.ug_per_kg)} ug/kg"
    return "within", None
