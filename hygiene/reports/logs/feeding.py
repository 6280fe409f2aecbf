"""The feeding log: what went to which animals or buyers, how much, and how it looked.

It answers 183/2005 Annex I A II 2(e), destination and quantity of each output, and
178/2002 Article 18(3) for what was sent away (both from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.finds import batches_of
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, texts_of
from hygiene.reports.logs import page as log
from hygiene.reports.logs.told import (
    Told,
    against,
    called,
    marks_of,
    told,
    told_of,
    versions,
)
from hygiene.reports.logs.weights import day_of, kg, month_of, trays_of
from hygiene.reports.period import Period, plain_day
from hygiene.reports.reading import Matter, Reading, further, read_only, span_of
from hygiene.reports.words import count, listed
from hygiene.tracing.batches import whole
from hygiene.tracing.exposure import Exposure, exposures

KINDS: Final = ("feed", "dispatch")
LOOK_BACK: Final = timedelta(days=60)
"""How long before it was fed a batch may have been sown."""
HEADS: Final = (
    "To", "Batch", "Grown", "Trays", "kg", "Looked, smelt", "Document", "Verdict", "By",
    "Entry",
)  # fmt: skip


class Gathered(NamedTuple):
    """What the page is made from: the sowings by batch, the finds of mould by batch,
    and the feeds that leave a flag, by entry.
    """

    reading: Reading
    sown: Mapping[str, Entry]
    mouldy: Mapping[str, str]
    exposed: Mapping[str, Exposure]
    complaints: tuple[Matter, ...]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read what was fed and sent in the period."""
    return beside(record, read_only(record, period, printed_at, (*KINDS, "file")))


def beside(record: Record, reading: Reading) -> Gathered:
    """When it was sown, and whether mould was found in it, then or later."""
    start, end = span_of(reading.rota, reading.period)
    sown = record.entries(("sow",), since=start - LOOK_BACK, before=end)
    moulds = record.all_versions(("mould",))
    fed = [v for m in log.in_period(reading, "feed") for v in versions(m)]
    found = exposures(fed, moulds, reading.farm.zone)
    left = log.in_period(reading, *KINDS)
    out = {str(v.get("batch")) for m in left for v in versions(m)}
    mouldy = {
        batch: mould.first
        for mould in reversed(moulds)
        for batch in batches_of(mould)
        if batch in out
    }
    about = set(mouldy.values())
    return Gathered(
        further(record, reading, [e for e in moulds if e.first in about]),
        {str(entry.get("batch")): entry for entry in sown},
        mouldy,
        {each.feed.first: each for each in found},
        tuple(
            m
            for m in log.in_period(reading, "file")
            if m.said.get("sort") == "complaint"
        ),
    )


def page(gathered: Gathered) -> log.Page:
    """The feeding log of the period."""
    reading = gathered.reading
    out = log.in_period(reading, *KINDS)
    fed, sent = (log.in_period(reading, kind) for kind in KINDS)
    return log.page_of(
        reading,
        "The feeding log",
        nothing="Nothing was fed or sent in this time.",
        summary=_summary(gathered, fed, sent),
        parts=(
            _months(reading, out),
            log.stories(
                "Not as it should be, and what was done about it",
                [*against(reading, out, _said), *_exposed(gathered, out)],
                log.csv_name("feed", reading.period),
            ),
            _complaints(gathered),
            log.listing(
                reading,
                HEADS,
                [_row(gathered, matter) for matter in out],
                ("line", "lines"),
                title="All that was fed or sent",
                file=f"{log.csv_name('feed', reading.period)} or, of what was sent, "
                f"{log.csv_name('dispatch', reading.period)}",
                note="Grown: days since sowing. kg of fresh fodder.",
                right=("Grown", "kg"),
            ),
            _groups(reading, fed),
            _buyers(reading, sent),
        ),
        matters=[*out, *gathered.complaints],
        attached=(
            *log.file_of(reading, "feed", fed),
            *log.file_of(reading, "dispatch", sent),
            *log.file_of(reading, "file", gathered.complaints, name="complaint"),
        ),
    )


def _row(gathered: Gathered, matter: Matter) -> log.Row:
    entry, reading = matter.said, gathered.reading
    mould = ["mould found in the batch"] * bool(_mouldy(gathered, matter))
    printed, verdict = log.verdict(reading, matter, *mould)
    day = day_of(entry, gathered.sown, reading.farm.zone)
    return log.Row(
        matter,
        (
            to(entry),
            str(entry.get("batch")),
            "?" if day is None else str(day),
            trays_of(entry),
            kg(entry.get("grams")),
            _looks(entry),
            str(entry.get("document") or "none") if entry.kind == "dispatch" else "",
            verdict,
            entry.by,
            matter.first.name,
        ),
        printed,
    )


def to(entry: Entry) -> str:
    """The group that was fed, or the buyer that was supplied."""
    return str(entry.get("animals") or entry.get("buyer"))


def _looks(entry: Entry) -> str:
    return ", ".join(_good(entry.get(key)) for key in ("look_ok", "smell_ok"))


def _good(given: object) -> str:
    if given is None:
        return "not said"
    return "good" if given is True else "BAD"


# what went wrong


def _said(entry: Entry) -> str:
    what = f"{kg(entry.get('grams'))} kg of {entry.get('batch')} ({trays_of(entry)})"
    return f"{what} to {to(entry)}"


def _exposed(gathered: Gathered, out: Sequence[Matter]) -> Iterator[Told]:
    """Who got some of a batch in which mould was found, before or after."""
    reading = gathered.reading
    for matter in out:
        entry, batch = matter.said, _mouldy(gathered, matter)
        if batch is None:
            continue
        name = gathered.mouldy[batch]
        mould, flag = reading.called(name), gathered.exposed.get(matter.first.name)
        got = "ate" if entry.kind == "feed" else "was sent"
        yield told(
            reading,
            matter,
            f"{to(entry)} {got} {kg(entry.get('grams'))} kg of {batch}, "
            f"trays {trays_of(entry)}",
            [
                f"In that batch: {called(reading, name)}",
                f"The group stays flagged up to {plain_day(flag.until)}"
                if flag
                else "",
                *(f"Told: {s}" for s in told_of(reading, [mould] if mould else [])),
            ],
        )._replace(actions=())


def _mouldy(gathered: Gathered, matter: Matter) -> str | None:
    """The batch with mould that any version of what was fed or sent names."""
    codes = (str(version.get("batch")) for version in versions(matter))
    return next((code for code in codes if code in gathered.mouldy), None)


def _complaints(gathered: Gathered) -> log.Stories | None:
    reading = gathered.reading
    return log.stories(
        "Complaints",
        [
            told(
                reading,
                m,
                str(m.said.get("title")),
                [
                    f"About {listed(texts_of(m.said, 'abouts'))}"
                    if texts_of(m.said, "abouts")
                    else "",
                    str(m.said.get("note") or ""),
                ],
            )
            for m in gathered.complaints
        ],
    )


# figures


def _months(reading: Reading, out: Sequence[Matter]) -> log.Listing | None:
    """Kilograms by the month, to each group and each buyer."""
    zone = reading.farm.zone
    standing = [m.said for m in out if not m.struck]
    sums: dict[date, Counter[str]] = {}
    whom: Counter[str] = Counter()
    for entry in standing:
        grams = whole(entry, "grams")
        sums.setdefault(month_of(entry, zone), Counter())[to(entry)] += grams
        whom[to(entry)] += grams
    heads = [code for code, _ in whom.most_common()]
    made = [
        (f"{month:%b %Y}", *(kg(found[code]) for code in heads), kg(found.total()))
        for month, found in sorted(sums.items())
    ]
    if len(made) > 1:
        made.append(("All", *(kg(whom[code]) for code in heads), kg(whom.total())))
    return log.figures(
        "Kilograms of fresh fodder, by the month", "Month", [*heads, "Together"], made
    )


def _groups(reading: Reading, fed: Sequence[Matter]) -> log.Listing | None:
    made = []
    for code in sorted({to(m.said) for m in fed}):
        found = reading.farm.last_described("animals", code)
        body = found.body if found else {}
        head = body.get("head")
        produces = body.get("produces")
        made.append(
            (
                code,
                str(body.get("name") or "not known at the farm"),
                str(body.get("species") or ""),
                "" if head is None else str(head),
                listed(map(str, produces)) if isinstance(produces, list) else "",
            )
        )
    heads = ("Name", "Species", "Head", "Produces")
    return log.figures("The animals", "Group", heads, made, right=("Head",))


def _buyers(reading: Reading, sent: Sequence[Matter]) -> log.Listing | None:
    made = []
    for code in sorted({to(m.said) for m in sent}):
        found = reading.farm.last_described("buyer", code)
        body = found.body if found else {}
        keys = ("name", "address", "registration", "telephone")
        made.append((code, *(str(body.get(key) or "") for key in keys)))
    heads = ("Name", "Address", "Registration", "Telephone")
    return log.figures("To whom it was sent", "Code", heads, made, right=())


def _summary(
    gathered: Gathered, fed: Sequence[Matter], sent: Sequence[Matter]
) -> Iterator[str]:
    for matters, what in ((fed, "fed"), (sent, "sent away")):
        standing = [m.said for m in matters if not m.struck]
        if standing:
            trays = sum(len(texts_of(entry, "trays")) for entry in standing)
            batches = len({str(entry.get("batch")) for entry in standing})
            yield (
                f"{kg(sum(whole(e, 'grams') for e in standing))} kg {what}: "
                f"{count(trays, 'tray')} of {count(batches, 'batch', 'batches')}, "
                f"to {listed(sorted({to(e) for e in standing}))}."
            )
    both = [*fed, *sent]
    unseen = sum(
        m.said.get("look_ok") is None or m.said.get("smell_ok") is None for m in both
    )
    if both:
        seen = len(both) - unseen
        yield f"Looked at and smelt before it left: {seen:,} of {len(both):,} times."
    marked = sum(bool(marks_of(m)) for m in both)
    if marked:
        yield f"▲ {count(marked, 'time')} against a rule: told in full beneath."
    bought = [m for m in sent if _mouldy(gathered, m)]
    if bought:
        buyers = listed(sorted({to(m.said) for m in bought}))
        yield f"▲ Mould was found in what {buyers} was sent."
    if gathered.exposed:
        until: date = max(each.until for each in gathered.exposed.values())
        groups = listed(sorted({each.animals for each in gathered.exposed.values()}))
        yield (
            f"▲ Mould was found in what {groups} ate: flagged up to {plain_day(until)}."
        )
    if gathered.complaints:
        yield f"▲ {count(len(gathered.complaints), 'complaint')}."
