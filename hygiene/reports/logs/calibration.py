"""The calibration log: each check of a kit, and whether it can be relied on now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.kits import checks_of
from hygiene.book.record import Record
from hygiene.farm.kits import Check, fault, last_day
from hygiene.kinds.entry import Entry
from hygiene.kinds.words import gist
from hygiene.reports.logs import page as log
from hygiene.reports.logs.told import Told, marks_of, told, versions
from hygiene.reports.period import Period, plain_day
from hygiene.reports.reading import (
    Matter,
    Reading,
    causes,
    further,
    read_only,
    span_of,
)
from hygiene.reports.words import count, listed, plain

KINDS: Final = ("calibrate", "action")
MARKS: Final = ("kit-out-of-date", "kit-reads-another")
"""The marks of what was read with a kit that could not be relied on."""
HEADS: Final = (
    "Kit", "Against", "Showed", "Verdict", "Done about it", "Next by", "New until",
    "Certificate", "By", "Entry",
)  # fmt: skip


class Gathered(NamedTuple):
    """What the page is made from; ``checks`` of each kit up to ``at``."""

    reading: Reading
    at: datetime
    checks: dict[str, list[Check]]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the checks of the period, and each kit's own history."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Gathered:
    """Every check of each kit up to the end, and what was read in doubt."""
    _, end = span_of(reading.rota, reading.period)
    at = min(end - timedelta(seconds=1), reading.printed_at)
    kits = [
        *reading.farm.things("kit"),
        *map(_kit, log.in_period(reading, "calibrate")),
    ]
    about = causes(record, log.in_period(reading, "action"), "about")
    return Gathered(
        further(record, reading, about),
        at,
        {kit: checks_of(record, reading.farm, kit, at) for kit in dict.fromkeys(kits)},
    )


def _kit(matter: Matter) -> str:
    return str(matter.said.get("kit"))


def page(gathered: Gathered) -> log.Page:
    """The calibration log of the period."""
    reading = gathered.reading
    checks = log.in_period(reading, "calibrate")
    failed = [m for m in checks if _failed(m)]
    doubtful = [m for m in reading.matters if set(MARKS) & set(marks_of(m))]
    return log.page_of(
        reading,
        "The calibration log",
        nothing="The farm file names no kit, and no check is written.",
        summary=_summary(gathered, checks, failed, doubtful),
        parts=(
            _kits(gathered),
            log.stories(
                "Checks that failed, and what was done about it",
                [_story(reading, m) for m in failed],
            ),
            log.stories(
                "Read with a kit that could not be relied on",
                [_story(reading, m) for m in doubtful],
            ),
            log.listing(
                reading,
                HEADS,
                [_row(reading, m) for m in checks],
                ("check", "checks"),
                title="Every check",
                file=log.csv_name("calibrate", reading.period),
            ),
        ),
        matters=[*checks, *doubtful],
        attached=log.file_of(reading, "calibrate", checks),
    )


def _failed(matter: Matter) -> bool:
    """Whether any version of it says so: a correction makes no check good."""
    return any(version.get("passed") is not True for version in versions(matter))


def _row(reading: Reading, matter: Matter) -> log.Row:
    entry = matter.said
    printed, verdict = log.verdict(reading, matter, *["failed"] * _failed(matter))
    return log.Row(
        matter,
        (
            _kit(matter),
            str(entry.get("against")),
            _shown(entry),
            verdict.replace("✔", "✔ passed") if printed == "good" else verdict,
            str(entry.get("did") or ""),
            str(entry.get("next_on") or ""),
            str(entry.get("expires_on") or ""),
            str(entry.get("certificate") or ""),
            entry.by,
            matter.first.name,
        ),
        printed,
    )


def _shown(entry: Entry) -> str:
    if entry.get("shown") is None:
        return "not written"
    return f"{plain(entry.get('shown'))} {entry.get('unit') or ''}".rstrip()


def _story(reading: Reading, matter: Matter) -> Told:
    entry = matter.said
    return told(reading, matter, f"{entry.kind.replace('_', ' ')}: {gist(entry)}")


def _kits(gathered: Gathered) -> log.Listing | None:
    reading = gathered.reading
    made = []
    for code, checks in gathered.checks.items():
        body = reading.farm.get("kit", code)
        if body is None:
            made.append((code, "no kit of the farm file", *[""] * 5, "▲ not known"))
            continue
        until = last_day(body, checks)
        months = body.get("check_every_months")
        wrong = fault(body, checks, gathered.at.astimezone(reading.farm.zone))
        reads = body.get("reads")
        last = [check for check in checks if check.passed]
        made.append(
            (
                code,
                str(body.get("name")),
                str(body.get("sort")),
                listed(map(str, reads)) if isinstance(reads, list) else "",
                _asked(months),
                f"{last[-1].at:%Y-%m-%d}" if last else "never" if months else "",
                "" if until is None else str(until),
                f"▲ {wrong}" if wrong else "✔ in date",
            )
        )
    heads = (
        "Name", "Sort", "Reads", "To be checked", "Last good check", "In date up to",
        "Verdict",
    )  # fmt: skip
    day = plain_day(gathered.at.astimezone(reading.farm.zone).date())
    title = f"What is measured with, on {day}"
    return log.figures(title, "Kit", heads, made, right=())


def _asked(months: object) -> str:
    if not isinstance(months, int):
        return "not asked for"
    return "every month" if months == 1 else f"every {months} months"


def _summary(
    gathered: Gathered,
    checks: Sequence[Matter],
    failed: Sequence[Matter],
    doubtful: Sequence[Matter],
) -> Iterator[str]:
    if not gathered.checks:
        return
    standing = [m for m in checks if not m.struck]
    kits = {_kit(m) for m in standing}
    yield (
        f"{count(len(standing), 'check')} of {count(len(kits), 'kit')}: "
        f"{len([m for m in standing if m not in failed]):,} passed, "
        f"{len([m for m in standing if m in failed]):,} failed."
    )
    farm, at = gathered.reading.farm, gathered.at.astimezone(gathered.reading.farm.zone)
    wrong = [
        f"{code} {said}"
        for code, found in gathered.checks.items()
        if (body := farm.get("kit", code)) and (said := fault(body, found, at))
    ]
    if wrong:
        yield f"▲ Not to be relied on: {listed(wrong)}."
    else:
        yield "Every kit of the farm file could be relied on when this time was over."
    if doubtful:
        yield f"▲ {count(len(doubtful), 'reading')} marked for their kit."
