"""Whether a kit, meter, thermometer or scale can be relied on at a moment.

The strictest reading of all versions of its checks counts: a check that any version
calls failed is a failed one, one that was ruled through proves nothing. Only a later
check that passed puts a kit back into use.
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any, NamedTuple

from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of, months_after


class Check(NamedTuple):
    """One check of a kit, by all its versions taken together."""

    at: datetime
    passed: bool
    failed: bool
    next_on: date | None
    expires_on: date | None
    entry: str


def checks(versions: Iterable[Entry], kit: str, zone: Any) -> list[Check]:
    """The checks of a kit in the order of time, from all versions of their entries."""
    matters: dict[str, list[Entry]] = {}
    for entry in versions:
        if entry.kind in ("calibrate", "strike"):
            matters.setdefault(entry.first, []).append(entry)
    found = [_check(found, zone) for found in matters.values() if _of(found, kit)]
    return sorted((c for c in found if c is not None), key=lambda c: (c.at, c.entry))


def _of(versions: list[Entry], kit: str) -> bool:
    return any(v.kind == "calibrate" and v.get("kit") == kit for v in versions)


def _check(versions: list[Entry], zone: Any) -> Check | None:
    said = [v for v in versions if v.kind == "calibrate"]
    if not said:
        return None
    struck = len(said) < len(versions)
    return Check(
        max(moment_of(v.happened_at) for v in said).astimezone(zone),
        passed=not struck and all(v.get("passed") is True for v in said),
        failed=any(v.get("passed") is not True for v in said),
        next_on=_first_day(v.get("next_on") for v in said),
        expires_on=_first_day(v.get("expires_on") for v in said),
        entry=said[0].first,
    )


def _first_day(given: Iterable[Any]) -> date | None:
    return min((day for day in map(_day, given) if day), default=None)


def _day(given: Any) -> date | None:
    try:
        return date.fromisoformat(given)
    except (TypeError, ValueError):
        return None


def fault(body: Mapping[str, Any], found: Iterable[Check], at: datetime) -> str | None:
    """Why a kit cannot be relied on at a moment, in words; None where it can.

    ``body`` is the kit as it stood then, ``found`` its checks; those after the moment
    are passed over.
    """
    before = [check for check in found if check.at <= at]
    day, until = at.date(), last_day(body, before)
    if before and before[-1].failed and not before[-1].passed:
        return f"failed its check on {before[-1].at:%Y-%m-%d}"
    if until is not None and until < day:
        return f"was in date up to {until} only"
    if body.get("check_every_months") and not any(c.passed for c in before):
        return "was never checked"
    return None


def last_day(body: Mapping[str, Any], found: Iterable[Check]) -> date | None:
    """The last day on which a kit is in date: by its expiry, and by its last check."""
    good = [check for check in found if check.passed]
    days = [_expiry(body, good), _next_check(body, good)]
    return min((day for day in days if day), default=None)


def _expiry(body: Mapping[str, Any], good: list[Check]) -> date | None:
    """The expiry that was said last: in the set-up, or with new strips or reagent."""
    said = [check.expires_on for check in good if check.expires_on]
    return max(
        [*said[-1:], *filter(None, [_day(body.get("expires_on"))])], default=None
    )


def _next_check(body: Mapping[str, Any], good: list[Check]) -> date | None:
    if not good:
        return None
    if good[-1].next_on:
        return good[-1].next_on
    months = body.get("check_every_months")
    if not isinstance(months, int):
        return None
    return months_after(good[-1].at.date(), months)
