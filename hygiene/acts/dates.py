"""Every date that is to come by the record: for a calendar, without an end of sight.

The page of the day says the same of the next two weeks; the same functions answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.day import LOOK_BACK, next_drill
from hygiene.acts.kits import checks_of
from hygiene.acts.sampling import next_samples, papers
from hygiene.acts.store import LONGEST_KEPT, containers_since
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.farm.kits import last_day as kit_lasts
from hygiene.kinds.moments import months_after
from hygiene.sanitising.containers import last_day

EARLY: Final = {
    "sample": 3, "kit": 7, "container": 14, "training": 30, "paper": 14, "sds": 14,
    "drill": 7, "registration": 14,
}  # fmt: skip
"""How many days before each sort somebody is reminded: common practice, no source."""
SDS_MONTHS: Final = 12


class Dated(NamedTuple):
    """Something on a day: ``sort`` and ``key`` say for good which one this is."""

    sort: str
    key: str
    day: date
    title: str
    told: str

    @property
    def early_days(self) -> int:
        """How long before it somebody is reminded."""
        return EARLY[self.sort]


def dates(record: Record, farm: InForce, now: datetime) -> list[Dated]:
    """Samples, checks, last days, trainings, reviews and the drill, by their day."""
    found = [
        *_samples(record, farm, now),
        *_kits(record, farm, now),
        *_containers(record, farm, now),
        *_trainings(farm),
        *_papers(record),
        *_products(farm),
        *_registration(farm),
        *_drill(record, now),
    ]
    return sorted(found, key=lambda each: (each.day, each.sort, each.key))


def _samples(record: Record, farm: InForce, now: datetime) -> Iterator[Dated]:
    for due in next_samples(record, farm, now):
        yield Dated(
            "sample",
            f"{due.point} {due.rule}",
            due.day,
            f"Water sample at {due.point}",
            f"{due.why}. Then: hygiene water {due.point} NAME=RESULT ...",
        )


def _kits(record: Record, farm: InForce, now: datetime) -> Iterator[Dated]:
    for code, body in farm.things("kit").items():
        last = kit_lasts(body, checks_of(record, farm, code, now))
        if last is not None:
            name = str(body.get("name") or code)
            yield Dated(
                "kit",
                code,
                last,
                f"Check or replace {code}",
                f"{name} is in date up to this day. "
                f"Then: hygiene calibrate {code} --against TEXT --passed",
            )


def _containers(record: Record, farm: InForce, now: datetime) -> Iterator[Dated]:
    for code, held in containers_since(record, now - LONGEST_KEPT).items():
        product = farm.get("product", held.product)
        last = last_day(held, product) if held.left > 0 else None
        if last is not None:
            name = str((product or {}).get("name") or held.product)
            yield Dated(
                "container",
                code,
                last[0],
                f"Last day of {code}, {name}",
                f"Not to be used after this day: {last[1]}.",
            )


def _trainings(farm: InForce) -> Iterator[Dated]:
    for person in farm.people:
        until: dict[str, date | None] = {}
        for row in farm.trainings(person):
            topic, last = str(row.get("topic")), _day(row.get("until"))
            before = until.get(topic, date.min)
            open_ended = last is None or before is None
            until[topic] = (
                None if open_ended else max(before or date.min, last or date.min)
            )
        for topic, day in until.items():
            if day is not None:
                yield Dated(
                    "training",
                    f"{person} {topic}",
                    day,
                    f"Training of {person} in {topic} ends",
                    f"Then: hygiene train {person} {topic}",
                )


def _papers(record: Record) -> Iterator[Dated]:
    for entry in papers(record):
        day = _day(entry.get("review_on"))
        sort, title = str(entry.get("sort")), str(entry.get("title"))
        if day is not None:
            yield Dated(
                "paper",
                f"{sort} {title.casefold()}",
                day,
                f"Review the {sort}: {title}",
                f'Then: hygiene file {sort} --title "{title}" --review DATE',
            )


def _products(farm: InForce) -> Iterator[Dated]:
    months = (farm.farm or {}).get("sds_months")
    whole = months if isinstance(months, int) else SDS_MONTHS
    for code, body in farm.things("product").items():
        name = str(body.get("name") or code)
        looked = _day(body.get("sds_checked_on")) or _day(body.get("sds_date"))
        if looked is not None:
            yield Dated(
                "sds",
                f"{code} sheet",
                months_after(looked, whole),
                f"Look for a newer data sheet: {name}",
                "Then set sds_checked_on in the farm file.",
            )
        review = _day(body.get("assessment_review_on"))
        if review is not None:
            yield Dated(
                "sds",
                f"{code} assessment",
                review,
                f"Review the risk assessment: {name}",
                "Then set assessment_review_on in the farm file.",
            )


def _registration(farm: InForce) -> Iterator[Dated]:
    confirmed = _day((farm.farm or {}).get("activities_confirmed_on"))
    if confirmed is not None:
        yield Dated(
            "registration",
            "activities",
            months_after(confirmed, 12),
            "Confirm the registered activities",
            "Then set activities_confirmed_on in the farm file.",
        )


def _drill(record: Record, now: datetime) -> Iterator[Dated]:
    if record.entries(["sow"], since=now - 4 * LOOK_BACK):
        yield Dated(
            "drill",
            "trace",
            next_drill(record, now),
            "Try out a trace, against the clock",
            "hygiene drill",
        )


def _day(given: Any) -> date | None:
    try:
        return date.fromisoformat(given)
    except (TypeError, ValueError):
        return None
