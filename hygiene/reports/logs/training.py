"""The training log: who holds which training, and what was done without it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any, Final

from hygiene.book.record import Record
from hygiene.kinds.words import gist
from hygiene.reports.logs import page as log
from hygiene.reports.logs.told import Told, marks_of, told
from hygiene.reports.period import Period, plain_day
from hygiene.reports.reading import Matter, Reading, causes, further, read_only, span_of
from hygiene.reports.words import count, listed, plain

KINDS: Final = ("train", "action")
MARK: Final = "untrained"
SOON: Final = timedelta(days=60)
HEADS: Final = (
    "Who", "Topic", "Had on", "Counts until", "Given by", "Paper", "Verdict", "By",
    "Entry",
)  # fmt: skip


def gather(record: Record, period: Period, printed_at: datetime) -> Reading:
    """Read the trainings of the period, and the actions about untrained work."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Reading:
    """The trainings, and what was done untrained: each opened an action."""
    start, end = span_of(reading.rota, reading.period)
    return further(
        record,
        reading,
        [
            *record.all_versions(("train",), since=start, before=end),
            *causes(record, log.in_period(reading, "action"), "about"),
        ],
    )


def page(reading: Reading) -> log.Page:
    """The training log of the period, and who holds what at its end."""
    trained = log.in_period(reading, "train")
    untrained = [m for m in reading.matters if MARK in marks_of(m)]
    return log.page_of(
        reading,
        "The training log",
        nothing="Nobody works here by the farm file, and no training is written.",
        summary=_summary(reading, trained, untrained),
        parts=(
            _held(reading),
            _asked(reading),
            log.stories(
                "Done without the training that was asked for",
                [_story(reading, matter) for matter in untrained],
            ),
            log.listing(
                reading,
                HEADS,
                [_row(reading, matter) for matter in trained],
                ("training", "trainings"),
                title="Written in this time",
                file=log.csv_name("train", reading.period),
            ),
        ),
        matters=[*trained, *untrained],
        attached=log.file_of(reading, "train", trained),
    )


def _row(reading: Reading, matter: Matter) -> log.Row:
    entry = matter.said
    printed, verdict = log.verdict(reading, matter)
    files = entry.get("attached")
    paper = str(entry.get("document") or "")
    if isinstance(files, list) and files:
        paper = f"{paper or 'a paper'}, kept here"
    return log.Row(
        matter,
        (
            _who(reading, entry.get("person")),
            str(entry.get("topic")),
            str(entry.get("had_on")),
            str(entry.get("until") or "no end"),
            str(entry.get("given_by") or "not said"),
            paper or "none named",
            verdict,
            entry.by,
            matter.first.name,
        ),
        printed,
    )


def _who(reading: Reading, code: Any) -> str:
    name = log.name_of(reading.farm, "person", code)
    return str(code) if name == code else f"{code}, {name}"


def _story(reading: Reading, matter: Matter) -> Told:
    entry = matter.said
    return told(reading, matter, f"{entry.kind.replace('_', ' ')}: {gist(entry)}")


# who holds what


def _day_told(reading: Reading) -> date:
    """The last day of the period, or today if that is yet to come."""
    return min(reading.period.last, reading.printed_at.date())


def _held(reading: Reading) -> log.Listing | None:
    """Everyone at the farm with each topic, the last training of it, and its end."""
    on = _day_told(reading)
    made = []
    for code in reading.farm.people:
        latest = _latest(reading, code)
        for topic, row in sorted(latest.items()):
            made.append(
                (
                    code,
                    log.name_of(reading.farm, "person", code),
                    topic,
                    plain(row.get("had_on")),
                    plain(row.get("until")) or "no end",
                    plain(row.get("given_by")) or "not said",
                    state(row, on),
                )
            )
        if not latest:
            name = log.name_of(reading.farm, "person", code)
            made.append((code, name, "none written", "", "", "", "▲ no training"))
    return log.figures(
        f"Who holds which training on {plain_day(on)}",
        "Who",
        ("Name", "Topic", "Had on", "Counts until", "Given by", "Verdict"),
        made,
        right=(),
    )


def _latest(reading: Reading, code: str) -> dict[str, Mapping[str, Any]]:
    """The training of each topic that counts longest."""
    found: dict[str, Mapping[str, Any]] = {}
    for row in reading.farm.trainings(code):
        topic = str(row.get("topic"))
        before = found.get(topic)
        if before is None or _end(row) >= _end(before):
            found[topic] = row
    return found


def _end(row: Mapping[str, Any]) -> date:
    try:
        return date.fromisoformat(str(row.get("until")))
    except ValueError:
        return date.max


def state(row: Mapping[str, Any], on: date) -> str:
    """Whether a training counts on a day, and whether it will soon be over."""
    if _end(row) < on:
        return f"▲ over since {row.get('until')}"
    if _end(row) - on <= SOON:
        return f"□ over soon: {(_end(row) - on).days} days left"
    return "✔ counts"


def _asked(reading: Reading) -> log.Listing | None:
    """Each training that work asks for, the tasks, and who holds it."""
    on = _day_told(reading)
    asked: dict[str, list[str]] = {}
    moment = reading.rota.starts(on + timedelta(days=1)) - timedelta(seconds=1)
    for task in reading.rota.in_force(moment).values():
        if isinstance(task.training, str):
            asked.setdefault(task.training, []).append(task.title)
    dosing = (reading.farm.farm or {}).get("dosing_training")
    if isinstance(dosing, str):
        asked.setdefault(dosing, []).append("dosing")
    made = []
    for topic, tasks in sorted(asked.items()):
        holders = [p for p in reading.farm.people if reading.farm.trained(p, topic, on)]
        made.append((topic, listed(holders) or "▲ nobody", listed(tasks)))
    heads = ("Held by", "Asked for by")
    return log.figures("Which work asks for it", "Topic", heads, made, right=())


def _summary(
    reading: Reading, trained: Sequence[Matter], untrained: Sequence[Matter]
) -> Iterator[str]:
    on = _day_told(reading)
    people = list(reading.farm.people)
    if not people and not trained:
        return
    yield (
        f"{count(len(people), 'person works', 'people work')} here; "
        f"{count(sum(not m.struck for m in trained), 'training')} written in this time."
    )
    over = [
        f"{code} {topic}"
        for code in people
        for topic, row in sorted(_latest(reading, code).items())
        if _end(row) < on
    ]
    if over:
        yield f"▲ Over: {listed(over)}."
    if untrained:
        what = count(len(untrained), "time")
        yield f"▲ Work was done {what} without the training that it asks for."
    else:
        yield "No work is marked as done without the training that it asks for."
