"""What is to be sampled, checked and reviewed: read for the page of the day.

Nothing here imports a kind's dataclass, and each question is asked by index.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.kits import checks_of
from hygiene.book.record import Record, UnknownEntry
from hygiene.farm.in_force import InForce
from hygiene.farm.kits import fault, last_day
from hygiene.kinds.entry import Entry, has_passed, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.water.due import Failed, Sampled, SampleDue, Upset, samples_due

SOON: Final = timedelta(days=14)
"""How long before its day something is shown."""
VERSIONS: Final = (1, 4, 20)
"""So many laboratory tests of a point are looked through for one that still stands:
the last one, as a rule, since each further one lies half a year of readings back."""


class KitDue(NamedTuple):
    """A kit that is out of use, or soon will be: its last day, and why not now."""

    kit: str
    name: str
    until: date | None
    fault: str | None


class PaperDue(NamedTuple):
    """A paper whose review is due, and the entry that keeps it."""

    sort: str
    title: str
    review_on: date
    entry: str


class Coming(NamedTuple):
    """What is to be sampled, checked and reviewed soon, or should have been."""

    samples: tuple[SampleDue, ...]
    kits: tuple[KitDue, ...]
    papers: tuple[PaperDue, ...]


def coming(
    record: Record, farm: InForce, now: datetime, actions: Iterable[Entry]
) -> Coming:
    """What the page of the day says of it; ``actions`` are the open ones."""
    until = (now.astimezone(farm.zone) + SOON).date()
    samples = next_samples(record, farm, now, actions)
    return Coming(
        tuple(sample for sample in samples if sample.day <= until),
        tuple(kits_due(record, farm, now)),
        tuple(papers_due(record, farm, now)),
    )


def next_samples(
    record: Record, farm: InForce, now: datetime, actions: Iterable[Entry] | None = None
) -> list[SampleDue]:
    """The next sample at each point; ``actions`` are the open ones, if read already."""
    open_now = record.unanswered("action", "close") if actions is None else actions
    points, upsets = farm.things("point"), _upsets(record, farm, now)
    ruled = [
        code
        for code, body in points.items()
        if body.get("sample_every_months") or any(code in u.points for u in upsets)
    ]
    return samples_due(
        points,
        [last for code in ruled for last in _last_sample(record, farm, code, now)],
        upsets,
        list(_failures(record, farm, open_now)),
        now.astimezone(farm.zone).date(),
    )


def _at(entry: Entry, farm: InForce) -> datetime:
    return moment_of(entry.happened_at).astimezone(farm.zone)


def _last_sample(
    record: Record, farm: InForce, point: str, now: datetime
) -> list[Sampled]:
    """The last sample that a laboratory tested and that still stands."""
    before = now + timedelta(seconds=1)
    for most in VERSIONS:
        found = record.latest(
            "water", point, before=before, most=most, having="laboratory"
        )
        for entry in found:
            if record.standing(entry.name) == entry and entry.get("point") == point:
                return [Sampled(point, _at(entry, farm), entry.name)]
        if len(found) < most:
            break
    return []


def _upsets(record: Record, farm: InForce, now: datetime) -> list[Upset]:
    return [
        Upset(
            texts_of(entry.body, "points"),
            _at(entry, farm),
            str(entry.get("sort")),
            entry.name,
        )
        for entry in record.entries(["disturbance"], before=now + timedelta(seconds=1))
    ]


def _failures(
    record: Record, farm: InForce, actions: Iterable[Entry]
) -> Iterator[Failed]:
    """Open actions about a parameter that no recheck has passed since."""
    for action in actions:
        about = action.get("about")
        if not action.get("step") or not isinstance(about, str):
            continue
        try:
            cause = record.entry(about)
        except UnknownEntry:  # an odd one never stops the page
            continue
        if cause.kind == "water" and not _passed(record, action):
            what = str(action.get("problem")).partition(": ")[2]
            point = str(cause.get("point"))
            yield Failed(point, _at(cause, farm).date(), what, action.name)


def _passed(record: Record, action: Entry) -> bool:
    looks = [e for e in record.mentioning(action.name) if e.kind == "recheck"]
    return bool(looks) and has_passed(looks[-1])


def kits_due(record: Record, farm: InForce, now: datetime) -> list[KitDue]:
    """The kits that cannot be relied on now, or soon no longer."""
    local = now.astimezone(farm.zone)
    found = []
    for code, body in farm.things("kit").items():
        checks = checks_of(record, farm, code, now)
        why, until = fault(body, checks, local), last_day(body, checks)
        if why is not None or (until is not None and until <= (local + SOON).date()):
            found.append(KitDue(code, str(body.get("name")), until, why))
    return found


def papers(record: Record) -> list[Entry]:
    """The papers that stand: the last one of each sort and title."""
    found = {
        (str(entry.get("sort")), str(entry.get("title")).casefold()): entry
        for entry in record.entries(["file"])
    }
    return list(found.values())


def papers_due(record: Record, farm: InForce, now: datetime) -> list[PaperDue]:
    """The papers whose review is due, or soon will be."""
    until = (now.astimezone(farm.zone) + SOON).date()
    found = []
    for entry in papers(record):
        try:
            review_on = date.fromisoformat(entry.get("review_on"))
        except (TypeError, ValueError):
            continue
        if review_on <= until:
            sort, title = str(entry.get("sort")), str(entry.get("title"))
            found.append(PaperDue(sort, title, review_on, entry.name))
    return sorted(found, key=lambda paper: (paper.review_on, paper.title))
