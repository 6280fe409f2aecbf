"""A laboratory's result as it was written, and what it says against a limit.

``<1``, ``>2419`` and ``not detected`` are kept: they are not numbers, and turning them
into one hides what the test could and could not see. Where a result cannot decide a
limit the judgement says so, it never guesses.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from hygiene.errors import WronglyPut

Sign = Literal["=", "<", "<=", ">", ">=", "not detected", "detected", "too many"]
Verdict = Literal["within", "over", "under", "cannot tell"]


class BadResult(WronglyPut):
    """A text that is not a result of a test."""

    sentence = "{given!r} is not a result: write 12, 0.6, <1, >200 or not detected"


@dataclass(frozen=True, slots=True)
class Result:
    """One result: its sign, its value where it has one, and the text as written."""

    value: Decimal | None
    sign: Sign
    as_written: str
    of_ml: Decimal | None = None
    """The volume that was searched, where a text such as "absent in 50 ml" says it."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit: at most, at least, or both; ``counted`` for whole organisms.

    ``per_ml`` is the volume that a count's limit speaks of (0 in 100 ml: 100).
    """

    name: str
    unit: str
    at_most: Decimal | None = None
    at_least: Decimal | None = None
    counted: bool = False
    per_ml: Decimal = Decimal(100)
    source: str = ""


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a result says of a limit, and why in a line."""

    verdict: Verdict
    why: str


_SIGNS: Final[dict[str, Sign]] = {
    "<": "<", "less than": "<", "below": "<", "under": "<", "fewer than": "<",
    "<=": "<=", "≤": "<=", "=<": "<=", "at most": "<=", "up to": "<=",
    ">": ">", "more than": ">", "above": ">", "over": ">", "greater than": ">",
    ">=": ">=", "≥": ">=", "=>": ">=", "at least": ">=", "=": "=",
}  # fmt: skip
_NUMBER: Final = re.compile(
    rf"({'|'.join(map(re.escape, sorted(_SIGNS, key=len, reverse=True)))})?\s*"
    r"(\d{1,12}(?:\.\d{1,9})?)(?![\d.,eE])\s*([^\d<>=]{0,3}.*)",
    re.IGNORECASE | re.ASCII,
)
_ABSENT: Final = re.compile(
    r"(not detected|none detected|not found|none found|absent|absence|nil|none|"
    r"n\.?d\.?|negative)(?:\W*(?:in|per|/)?\W*(\d+(?:\.\d+)?)\s*ml)?",
    re.IGNORECASE | re.ASCII,
)
_PRESENT: Final = re.compile(
    r"(detected|present|presence|positive|found)(?:\W*(?:in|per|/)?\W*\d*\s*ml)?",
    re.IGNORECASE | re.ASCII,
)
_MANY: Final = re.compile(
    r"(tntc|too (?:many|numerous) to count|confluent(?: growth)?|uncountable)",
    re.IGNORECASE,
)


def read_result(text: str) -> Result:
    """Read a result as a laboratory writes it; a unit after the number may stand.

    Raises :class:`BadResult`: no number, a comma in it, an exponent, below zero.
    """
    written = " ".join(text.split())
    if found := _ABSENT.fullmatch(written):
        searched = Decimal(found[2]) if found[2] else None
        return Result(None, "not detected", written, searched)
    if _PRESENT.fullmatch(written):
        return Result(None, "detected", written)
    if _MANY.fullmatch(written):
        return Result(None, "too many", written)
    number = _NUMBER.fullmatch(written)
    if number is None or len(written) > 60:
        raise BadResult(given=written[:40])
    return Result(Decimal(number[2]), _SIGNS[(number[1] or "=").lower()], written)


def judge(result: Result, limit: Limit) -> Judgement:
    """Hold ``result`` against ``limit``; "cannot tell" where it does not decide it."""
    verdicts = []
    if limit.at_most is not None:
        verdicts.append(_against_most(result, limit, limit.at_most))
    if limit.at_least is not None:
        verdicts.append(_against_least(result, limit, limit.at_least))
    for wanted in ("over", "under", "cannot tell"):
        for judged in verdicts:
            if judged.verdict == wanted:
                return judged
    return verdicts[0] if verdicts else Judgement("cannot tell", "there is no limit")


def _against_most(result: Result, limit: Limit, most: Decimal) -> Judgement:
    bound = f"{most:f} {limit.unit}".strip()
    if result.value is None:
        return _without_value(result, limit, most)
    value, sign = result.value, result.sign
    if sign in ("=", "<=", "<") and value <= most:
        return Judgement("within", f"{result.as_written} is within {bound}")
    if (
        sign == "="
        or (sign == ">" and value >= most)
        or (sign == ">=" and value > most)
    ):
        return Judgement("over", f"{result.as_written} is over {bound}")
    if sign == "<" and limit.counted and value <= 1:
        return Judgement("within", f"{result.as_written}: none was found")
    if sign in ("<", "<="):
        why = f"{result.as_written} cannot show {bound}: ask for a finer test"
        return Judgement("cannot tell", why)
    why = (
        f"{result.as_written} does not say whether it is over {bound}: test it diluted"
    )
    return Judgement("cannot tell", why)


def _against_least(result: Result, limit: Limit, least: Decimal) -> Judgement:
    bound = f"{least:f} {limit.unit}".strip()
    value, sign = result.value, result.sign
    if value is None:
        if sign == "not detected" and least > 0:
            return Judgement("under", f"{result.as_written}: less than {bound}")
        return Judgement("cannot tell", f"{result.as_written} is no amount")
    if sign in ("=", ">=", ">") and value >= least:
        return Judgement("within", f"{result.as_written} is at least {bound}")
    if (
        sign == "="
        or (sign == "<" and value <= least)
        or (sign == "<=" and value < least)
    ):
        return Judgement("under", f"{result.as_written} is less than {bound}")
    return Judgement("cannot tell", f"{result.as_written} does not decide {bound}")


def _without_value(result: Result, limit: Limit, most: Decimal) -> Judgement:
    bound = f"{most:f} {limit.unit}".strip()
    if result.sign == "too many":
        return Judgement("over", "too many to count: over the limit until recounted")
    if result.sign == "detected":
        if most == 0:
            return Judgement("over", f"{result.as_written}: none is allowed")
        return Judgement("cannot tell", f"{result.as_written} is no amount")
    if not limit.counted:
        why = f"{result.as_written}: ask down to what level the test sees"
        return Judgement("cannot tell", why)
    if result.of_ml is not None and result.of_ml < limit.per_ml:
        why = f"only {result.of_ml:f} ml was searched; {bound} speaks of more"
        return Judgement("cannot tell", why)
    return Judgement("within", f"{result.as_written}: none was found")
