"""Checks that several kinds share, in words a farm hand understands."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from hygiene.errors import CannotBe
from hygiene.kinds.entry import MOMENT

CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,31}")
RANGE = re.compile(r"([A-Za-z]*?)(\d+)\.\.([A-Za-z]*?)(\d+)")
MOST_IN_A_RANGE = 10_000
GRACE = re.compile(r"([0-9]{1,4}) ?(min|h|d)")
MOST_GRACE = {"min": 4320, "h": 72, "d": 31}


def need_code(of: Any, *keys: str) -> None:
    """Codes are short: letters, digits, dot, dash and underscore, 32 at most."""
    for key in keys:
        given = getattr(of, key)
        if given is not None and not CODE.fullmatch(given):
            raise CannotBe(
                key=key,
                what=f"{given!r} is no code: letters, digits, '.', '-' and '_' only, "
                "32 at most",
            )


def need_text(of: Any, *keys: str) -> None:
    """A text that must say something."""
    for key in keys:
        given = getattr(of, key)
        if given is not None and not given.strip():
            raise CannotBe(key=key, what="is empty")


def need_range(of: Any, key: str, low: float, high: float, unit: str = "") -> None:
    """A number that cannot lie outside ``low`` to ``high`` in the real world."""
    given: Decimal | int | None = getattr(of, key)
    if given is not None and not low <= given <= high:
        raise CannotBe(
            key=key,
            what=f"{given} cannot be: it lies from {low} to {high} {unit}".rstrip(),
        )


def need_one_of(of: Any, key: str, *allowed: str) -> None:
    """A word out of a short list."""
    given = getattr(of, key)
    if given is not None and given not in allowed:
        raise CannotBe(key=key, what=f"{given!r} is not one of {', '.join(allowed)}")


def need_order(of: Any, earlier: str, later: str) -> None:
    """Two dates of which one cannot lie before the other."""
    first: date | None = getattr(of, earlier)
    second: date | None = getattr(of, later)
    if first is not None and second is not None and second < first:
        raise CannotBe(key=later, what=f"{second} lies before {earlier} ({first})")


def expand(codes: str) -> tuple[str, ...]:
    """The codes of a range such as ``T001..T096``, or the one code that was given.

    Raises ``CannotBe`` where the ends do not match or the range runs backwards.
    """
    found = RANGE.fullmatch(codes)
    if found is None:
        if not CODE.fullmatch(codes):
            raise CannotBe(
                key="codes",
                what=f"{codes!r} is no code and no range such as T001..T096",
            )
        return (codes,)
    head, first, other_head, last = found.groups()
    if other_head not in ("", head) or int(last) < int(first):
        raise CannotBe(
            key="codes", what=f"the range {codes!r} runs from nowhere to there"
        )
    if int(last) - int(first) >= MOST_IN_A_RANGE:
        raise CannotBe(key="codes", what=f"the range {codes!r} is over 10,000 long")
    width = len(first)
    return tuple(f"{head}{n:0{width}d}" for n in range(int(first), int(last) + 1))


def ranges(codes: Iterable[str]) -> str:
    """Codes for a person, neighbours as ranges: ``T001..T012, T020``."""
    runs: list[list[str]] = []
    for code in sorted(codes, key=_by_number):
        if runs and _follows(runs[-1][-1], code):
            runs[-1].append(code)
        else:
            runs.append([code])
    return ", ".join(
        ", ".join(run) if len(run) < 3 else f"{run[0]}..{run[-1]}" for run in runs
    )


def _by_number(code: str) -> tuple[str, int, str]:
    """T9 stands before T10, though it is the later text."""
    head = code.rstrip("0123456789")
    number = code[len(head) :].lstrip("0")
    return head, len(number), number


def _follows(before: str, after: str) -> bool:
    head = before.rstrip("0123456789")
    digits = before[len(head) :]
    return bool(digits) and after == f"{head}{int(digits) + 1:0{len(digits)}d}"


def grace_parts(text: str) -> tuple[int, str]:
    """The number and the unit (min, h or d) of a grace; ``day`` is 0 days.

    Raises ``CannotBe`` (key ``grace``).
    """
    if text == "day":
        return 0, "d"
    found = GRACE.fullmatch(text)
    if found is None:
        raise CannotBe(
            key="grace", what=f"{text!r} is none; write day, or as 90 min, 4 h, 3 d"
        )
    number, unit = int(found[1]), found[2]
    if not 1 <= number <= MOST_GRACE[unit]:
        raise CannotBe(key="grace", what=f"runs from 1 to {MOST_GRACE[unit]} {unit}")
    return number, unit


def need_moment(of: Any, key: str) -> None:
    """A moment as the record writes it: RFC 3339 with seconds and offset."""
    given: str | None = getattr(of, key)
    if given is not None and not MOMENT.fullmatch(given):
        raise CannotBe(
            key=key, what=f"{given!r} is no moment such as 2026-03-31T07:00:00+01:00"
        )
