"""When the next water sample is due at a point, by rule, and why.

A laboratory's sample counts; a reading with a kit does not. A sample is due so many
months after the last one, at once after a repair or a flood, and at once where the
last one was out of limit and was not taken again.
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any, Final, NamedTuple

from hygiene.kinds.moments import months_after

UPSET: Final = "upset"
RESAMPLE: Final = "resample"
NEVER: Final = "never"
ROUTINE: Final = "routine"


class Sampled(NamedTuple):
    """A laboratory's sample: of which point, when (local), by which entry."""

    point: str
    at: datetime
    entry: str


class Upset(NamedTuple):
    """Something that may have changed the water at points, such as a flood."""

    points: tuple[str, ...]
    at: datetime
    sort: str
    entry: str


class Failed(NamedTuple):
    """A result out of limit of which no resample has passed."""

    point: str
    day: date
    what: str
    entry: str


class SampleDue(NamedTuple):
    """A sample that is due: where, on which day, by which rule, and in words."""

    point: str
    day: date
    rule: str
    why: str
    entry: str | None = None


def samples_due(
    points: Mapping[str, Mapping[str, Any]],
    samples: Iterable[Sampled],
    upsets: Iterable[Upset],
    failures: Iterable[Failed],
    today: date,
) -> list[SampleDue]:
    """The next sample of every point that has a rule or a reason, the first due first.

    ``points`` are the bodies of the set-up by code. A point without
    ``sample_every_months`` has no routine. Where several rules apply the earliest
    counts.
    """
    latest: dict[str, Sampled] = {}
    for sample in samples:
        before = latest.get(sample.point)
        if before is None or sample.at >= before.at:
            latest[sample.point] = sample
    upset, failed = list(upsets), list(failures)
    found = []
    for code, body in points.items():
        last = latest.get(code)
        dues = [
            # of one day, what failed says more than what is due
            *_to_take_again(code, failed),
            *_after_upsets(code, upset, last),
            *_routine(code, body.get("sample_every_months"), last, today),
        ]
        found += sorted(dues, key=_by_day)[:1]
    return sorted(found, key=_by_day)


def _by_day(due: SampleDue) -> tuple[date, str]:
    return due.day, due.point


def _routine(
    code: str, months: Any, last: Sampled | None, today: date
) -> Iterable[SampleDue]:
    if not isinstance(months, int) or months < 1:
        return
    if last is None:
        yield SampleDue(code, today, NEVER, "no laboratory has tested it yet")
        return
    taken = last.at.date()
    why = f"every {months} months; the last was on {taken}"
    yield SampleDue(code, months_after(taken, months), ROUTINE, why, last.entry)


def _after_upsets(
    code: str, upsets: Iterable[Upset], last: Sampled | None
) -> Iterable[SampleDue]:
    for upset in upsets:
        if code in upset.points and (last is None or last.at <= upset.at):
            day = upset.at.date()
            why = f"{upset.sort.replace('-', ' ')} on {day}, no sample since"
            yield SampleDue(code, day, UPSET, why, upset.entry)


def _to_take_again(code: str, failures: Iterable[Failed]) -> Iterable[SampleDue]:
    for failed in failures:
        if failed.point == code:
            why = f"{failed.what}; not taken again yet"
            yield SampleDue(code, failed.day, RESAMPLE, why, failed.entry)
