"""What a cell of a spreadsheet says: days, times, numbers, weights, codes, yes or no.

A number keeps its digits. A day is read in the order that is said, or in one that
leaves no doubt; what could mean two things is asked for, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime, time, timedelta, tzinfo
from decimal import Decimal
from typing import Any, Final, Literal, NamedTuple

from hygiene.errors import HygieneError, WronglyPut
from hygiene.kinds.base import CannotBe
from hygiene.kinds.checks import expand
from hygiene.kinds.codes import own_code as own_code
from hygiene.kinds.entry import YEARS
from hygiene.kinds.moments import NoSuchTime, TwiceThatTime, stamp, typed_moment
from hygiene.quantities import mass_g, volume_l

Order = Literal["dmy", "mdy", "ymd"]
Mark = Literal["comma", "point"]

ORDERS: Final[Mapping[str, str]] = {
    "dmy": "day, month, year",
    "mdy": "month, day, year",
    "ymd": "year, month, day",
}
MONTHS: Final = (
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
)  # fmt: skip
YES: Final = frozenset(
    ("yes", "y", "true", "x", "1", "ok", "done", "✓", "✔", "ja", "oui")
)
NO: Final = frozenset(("no", "n", "false", "0", "not done", "bad", "✗", "✘", "nein"))
EXCEL_FIRST: Final = date(1899, 12, 30)
"""Day 0 of a spreadsheet's serial dates (its 1900 system, from 1 March 1900 on)."""
SERIALS: Final = range(20_000, 80_000)
"""Days from 1954 to 2119."""
NOON: Final = time(12)
_SERIAL: Final = re.compile(r"(\d{5})(?:[.,](\d{1,12}))?")
_ISO: Final = re.compile(r"(\d{4})-(\d\d?)-(\d\d?)")
_THREE: Final = re.compile(r"(\d{1,4})[./ -](\d\d?)[./ -](\d{1,4})\.?")
_WORD: Final = re.compile(
    r"(?:(?P<day>\d\d?)(?:st|nd|rd|th|\.)?[ -]*(?P<month>[a-z]{3,9})\.?"
    r"|(?P<month2>[a-z]{3,9})\.?[ ]*(?P<day2>\d\d?)(?:st|nd|rd|th)?)"
    r"[ ,.-]*(?P<year>\d{4}|\d\d)"
)
_NUMBER: Final = re.compile(r"([+-]?)(\d[\d .,'\u00a0]*)")
_THOUSANDS: Final = re.compile(r"\d{1,3}(?P<mark>[ .,'\u00a0])\d{3}(?:(?P=mark)\d{3})*")
_CLOCK: Final = re.compile(r"(\d\d?)(?:[:.h](\d\d))(?:[:.](\d\d))? ?(am|pm)?", re.I)


_RUN: Final = re.compile(r" *(?:\.\.|–|—) *| +- +")


class BadCell(WronglyPut):
    """A cell that cannot be read: what is wrong, and ``way_out``, what is right."""

    sentence = "{what}"


def bad(what: str, remedy: str) -> BadCell:
    """A cell that is wrong, and what would be right."""
    return BadCell(what=what, way_out=remedy)


class Manner(NamedTuple):
    """How a file writes: the order of its dates, its decimal mark; the farm's clock."""

    order: Order | None
    mark: Mark | None
    zone: tzinfo
    now: datetime
    semicolons: bool = False
    """Parted by semicolons: a comma is then the decimal mark, as a rule."""


def day(manner: Manner, text: str) -> date:
    """A day, never one to come; raises ``BadCell``."""
    made = any_day(manner, text)
    if made > manner.now.astimezone(manner.zone).date():
        raise bad(f"{text!r} ({made:%d %B %Y}) has not come yet", "write a day gone by")
    return made


def any_day(manner: Manner, text: str) -> date:
    """A day, gone by or to come, such as a last day; raises ``BadCell``."""
    low = text.strip().lower()
    serial = _SERIAL.fullmatch(low)
    if serial and int(serial[1]) in SERIALS:
        return EXCEL_FIRST + timedelta(days=int(serial[1]))
    if found := _ISO.fullmatch(low):
        return _date(text, *map(int, found.groups()))
    if found := _WORD.fullmatch(low):
        return _worded(text, found)
    if found := _THREE.fullmatch(low):
        return _three(manner, text, [int(part) for part in found.groups()], found[1])
    raise bad(f"{text!r} is no day", f"write it as {_example(manner)}")


def _worded(text: str, found: re.Match[str]) -> date:
    name = (found["month"] or found["month2"])[:3]
    if name not in MONTHS:
        raise bad(f"{text!r} names no month", "write it as 3 Apr 2026 or 2026-04-03")
    number = int(found["day"] or found["day2"])
    return _date(text, _year(int(found["year"])), MONTHS.index(name) + 1, number)


def _three(manner: Manner, text: str, parts: list[int], first: str) -> date:
    a, b, c = parts
    if len(first) == 4:
        return _date(text, a, b, c)
    if manner.order == "ymd":
        return _date(text, _year(a), b, c)
    order = manner.order or _only(a, b)
    if order is None:
        raise bad(
            f"{text!r} could be {_named(a, b)} or {_named(b, a)}",
            "say which with --dates dmy or --dates mdy",
        )
    number, month = (a, b) if order == "dmy" else (b, a)
    if month > 12 and number <= 12:
        raise bad(
            f"{text!r} has no month {month} ({ORDERS[order]})",
            f"put it right, or say --dates {'mdy' if order == 'dmy' else 'dmy'}",
        )
    return _date(text, _year(c), month, number)


def _only(a: int, b: int) -> Order | None:
    """The one order that two numbers can have, or None where both are open."""
    if a == b:
        return "dmy"
    if a > 12 >= b:
        return "dmy"
    return "mdy" if b > 12 >= a else None


def _named(number: int, month: int) -> str:
    name = MONTHS[month - 1].capitalize() if 1 <= month <= 12 else f"month {month}"
    return f"{number} {name}"


def _year(given: int) -> int:
    return given + 2000 if given < 100 else given


def _date(text: str, year: int, month: int, number: int) -> date:
    try:
        made = date(year, month, number)
    except ValueError:
        made = None
    if made is None or made.year not in YEARS:
        raise bad(f"{text!r} is no day of the calendar", "look at the paper again")
    return made


def _example(manner: Manner) -> str:
    return {
        "dmy": "3.4.2026 or 2026-04-03",
        "mdy": "4/3/2026 or 2026-04-03",
        "ymd": "2026-04-03",
    }.get(manner.order or "", "2026-04-03")


def clock(text: str) -> time:
    """A time of day: 7:30, 07.30, 7:30 pm, or a spreadsheet's part of a day."""
    found = _CLOCK.fullmatch(text.strip())
    if found:
        hour, minute, second = (int(part or 0) for part in found.groups()[:3])
        half = (found[4] or "").lower()
        if half:
            hour = hour % 12 + 12 * (half == "pm") if 1 <= hour <= 12 else 24
        if hour < 24 and minute < 60 and second < 60:
            return time(hour, minute, second)
    part = re.fullmatch(r"0?[.,](\d{1,12})", text.strip())
    if part:
        minutes = round(float(f"0.{part[1]}") * 24 * 60)
        return time(minutes // 60 % 24, minutes % 60)
    raise bad(f"{text!r} is no time of day", "write it as 07:30")


def moment(manner: Manner, said_day: date, at: time | None) -> datetime:
    """A day and a time by the farm's clock; noon where no time was written."""
    local = datetime.combine(said_day, at or NOON)
    try:
        made = _plain_moment(local, manner.zone) or typed_moment(
            f"{local:%Y-%m-%d %H:%M:%S}", manner.now, manner.zone
        )
    except NoSuchTime as failure:
        raise bad(str(failure), "write the time before, or an hour later") from failure
    except TwiceThatTime as failure:
        raise bad(str(failure), "write a time outside that hour") from failure
    if made > manner.now:
        if at is None and made.date() == manner.now.astimezone(manner.zone).date():
            return manner.now.astimezone(manner.zone)
        raise bad(f"{local:%d %b %Y, %H:%M} has not come yet", "write a time gone by")
    return made


def _plain_moment(local: datetime, zone: tzinfo) -> datetime | None:
    """The moment of a local time that there was just once, as nearly all are."""
    made = local.replace(tzinfo=zone)
    return made if made.utcoffset() == made.replace(fold=1).utcoffset() else None


def day_and_time(manner: Manner, text: str) -> tuple[date, time | None]:
    """A day, with its time where one stands beside it in the same cell."""
    clean = text.strip()
    serial = _SERIAL.fullmatch(clean)
    if serial and serial[2] and int(serial[2]):
        return day(manner, serial[1]), clock(f"0.{serial[2]}")
    head, gap, tail = clean.replace("T", " ", 1).partition(" ")
    if gap and _CLOCK.fullmatch(tail.strip()) and not tail.strip().isdigit():
        return day(manner, head), clock(tail)
    parts = clean.rsplit(" ", 1)
    if len(parts) == 2 and ":" in parts[1]:
        return day(manner, parts[0]), clock(parts[1])
    return day(manner, clean), None


def number(manner: Manner, text: str) -> Decimal:
    """A number with its digits; ``1,234`` is asked for where it could be two."""
    clean = text.strip()
    found = _NUMBER.fullmatch(clean)
    if found is None:
        raise bad(f"{text!r} is no number", "write figures only, as 12.5 or 12,5")
    digits = _digits(manner, text, found[2].strip())
    if len(digits) > 30:
        raise bad(f"{text[:40]!r} is no number of this world", "write fewer figures")
    return Decimal(found[1] + digits)


def _digits(manner: Manner, text: str, digits: str) -> str:
    points, commas = digits.count("."), digits.count(",")
    if points + commas == 0 and digits.isdigit():
        return digits
    grouped = _THOUSANDS.fullmatch(digits)
    if grouped and grouped["mark"] in " '\u00a0":
        return re.sub(r"\D", "", digits)
    if points and commas:
        last = max(digits.rfind("."), digits.rfind(","))
        whole, rest = digits[:last], digits[last + 1 :]
        if _THOUSANDS.fullmatch(whole) and digits[last] not in whole:
            return f"{re.sub(r'[^0-9]', '', whole)}.{rest}"
        raise bad(f"{text!r} is no number", "write it as 1234.5 or 1234,5")
    if not re.fullmatch(r"\d+[.,]\d+(?:[.,]\d+)*", digits):
        raise bad(f"{text!r} is no number", "write figures only, as 12.5 or 12,5")
    mark: Mark = "comma" if commas else "point"
    if points + commas > 1:
        if grouped and manner.mark != mark:
            return re.sub(r"\D", "", digits)
        raise bad(f"{text!r} is no number", "write it as 1234.5 or 1234,5")
    doubtful = manner.mark is None and (commas or manner.semicolons)
    if doubtful and grouped and not digits.startswith("0"):
        part, bare = digits.replace(",", "."), re.sub(r"\D", "", digits)
        raise bad(
            f"{text!r} could be {part} or {bare}",
            "say which with --decimal comma or --decimal point",
        )
    if grouped and manner.mark is not None and manner.mark != mark:
        return re.sub(r"\D", "", digits)
    return digits.replace(",", ".")


def whole(manner: Manner, text: str) -> int:
    """A whole number; 12.0, as a spreadsheet writes it, is 12."""
    made = number(manner, text)
    if made != made.to_integral_value():
        raise bad(f"{text!r} is no whole number", "write it without a fraction")
    return int(made)


def yes(manner: Manner, text: str) -> bool:
    """Yes or no, as people tick it."""
    word = text.strip().lower()
    if word in YES:
        return True
    if word in NO:
        return False
    raise bad(f"{text!r} is neither yes nor no", "write yes or no")


def grams(manner: Manner, text: str) -> int:
    """A weight in whole grams; a bare number is kilograms."""
    clean, unit = _with_unit(manner, text)
    try:
        made = Decimal(clean) * 1000 if not unit else Decimal(str(mass_g(clean + unit)))
    except HygieneError:
        made = Decimal(0)
    if made <= 0 or made != made.to_integral_value():
        raise bad(f"{text!r} is no weight", "write kilograms as 84 or 12.5, or 500 g")
    return int(made)


def amount(manner: Manner, text: str) -> dict[str, int]:
    """Tenths of a millilitre of a liquid, or milligrams of a solid."""
    clean, unit = _with_unit(manner, text)
    for reader, factor, key in ((volume_l, 10_000, "tenth_ml"), (mass_g, 1000, "mg")):
        try:
            many = round(reader(f"{clean} {unit}") * factor)
        except HygieneError:
            continue
        if many >= 1:
            return {key: many}
    raise bad(
        f"{text!r} is no amount", "write it with its unit, as 20 L, 96 ml or 5 kg"
    )


def litres(manner: Manner, text: str) -> Decimal:
    """A volume in litres; a bare number is litres."""
    clean, unit = _with_unit(manner, text)
    try:
        made = volume_l(f"{clean} {unit or 'L'}")
    except HygieneError as failure:
        raise bad(
            f"{text!r} is no volume", "write litres as 60, or 500 ml"
        ) from failure
    return Decimal(str(round(made, 6)))


def _with_unit(manner: Manner, text: str) -> tuple[str, str]:
    found = re.fullmatch(r"([+-]?[\d.,' \u00a0]*\d)\s*(\D*)", text.strip())
    if found is None:
        raise bad(f"{text!r} is no amount", "write figures, and the unit behind them")
    return f"{number(manner, found[1]):f}", found[2].strip()


def words(manner: Manner, text: str) -> tuple[str, ...]:
    """Words with commas or semicolons between, each once."""
    parts = (part.strip() for part in re.split(r"[,;]", text))
    return tuple(dict.fromkeys(part for part in parts if part))


def codes(manner: Manner, text: str) -> tuple[str, ...]:
    """Codes and ranges such as ``T001..T006 T010``, also ``T001-T006``."""
    made: list[str] = []
    for part in re.split(r"[,; ]+", _RUN.sub("..", text.strip())):
        try:
            made += expand(_range(part.upper())) if part else ()
        except CannotBe as odd:
            raise bad(
                str(odd.details["what"]), "write codes as T001..T006 T010"
            ) from odd
    return tuple(dict.fromkeys(made))


def _range(part: str) -> str:
    found = re.fullmatch(r"([A-Z]*\d+)-([A-Z]*\d+)", part)
    return f"{found[1]}..{found[2]}" if found else part


def later(manner: Manner, began: datetime, text: str) -> str:
    """A time of day after something began, as the record writes it."""
    at = clock(text)
    local = began.astimezone(manner.zone)
    made = datetime.combine(local.date() + timedelta(days=at < local.time()), at)
    return stamp(typed_moment(f"{made:%Y-%m-%d %H:%M}", manner.now, manner.zone))


def plain(manner: Manner, text: str) -> str:
    """A text, as it stands."""
    return text


def lower(manner: Manner, text: str) -> str:
    """A word out of a short list."""
    return text.strip().lower()


Reader = Callable[[Manner, str], Any]
READERS: Final[Mapping[str, Reader]] = {
    "text": plain,
    "word": lower,
    "code": plain,
    "codes": codes,
    "words": words,
    "number": number,
    "whole": whole,
    "yes": yes,
    "day": any_day,
    "grams": grams,
    "amount": amount,
    "litres": litres,
}
"""How a column is read, by the sort that its form says."""
