"""The batch log: what was sown, what became of its trays, what was held and let go.

Part of a batch that is unsafe makes all of it unsafe until it is assessed (178/2002
Article 15(3), from memory): so every hold that stood in the period is told to its end.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.balance import Wanted, add_up
from hygiene.acts.standing import open_holds, stops_by_batch
from hygiene.book.record import Record
from hygiene.exchange.table import Column
from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Entry, rows_of
from hygiene.reports.logs import page as log
from hygiene.reports.logs.told import Told, against, hold_told, marks_of, notice, stood
from hygiene.reports.logs.weights import kg, month_of
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, causes, further, read_only, span_of
from hygiene.reports.words import count, listed
from hygiene.tracing.balance import Gap, TraySum
from hygiene.tracing.batches import KINDS as OF_BATCH
from hygiene.tracing.batches import Batch, read_batches, whole
from hygiene.tracing.holds import mould_records

KINDS: Final = ("sow", "move", "sample", "hold", "release", "assess", "notify")
HEADS: Final = (
    "Batch", "Seed", "Trays", "On", "What became of it", "Verdict", "By", "Entry",
)  # fmt: skip
ENDED: Final = ("fed", "sent", "discarded", "sampled")


class Gathered(NamedTuple):
    """What the page is made from; ``trays`` are the sums of each batch's trays."""

    reading: Reading
    batches: Mapping[str, Batch]
    trays: Mapping[str, TraySum]
    gaps: tuple[Gap, ...]
    mouldy: frozenset[str]
    held: frozenset[str]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the batches of the period, their ends, and the holds that stood in it."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Gathered:
    """What became of the batches sown in the period, and what was held in it."""
    _, end = span_of(reading.rota, reading.period)
    sown = log.in_period(reading, "sow")
    codes = tuple(dict.fromkeys(str(m.said.get("batch")) for m in sown))
    versions = record.mentioning(*codes, every_version=True) if codes else []
    standing = record.mentioning(*codes) if codes else []
    found = read_batches(e for e in standing if e.kind in OF_BATCH)
    sums = add_up(record, Wanted((), codes), reading.printed_at)
    trays = {each.batch: each for each in sums.trays}
    held = stops_by_batch(record, reading.farm, codes, open_holds(record))
    reading = further(record, reading, record.all_versions(("hold",), before=end))
    return Gathered(
        further(record, reading, causes(record, stood(reading), "because")),
        {code: batch for code, batch in found.items() if code in trays},
        trays,
        sums.gaps,
        frozenset(c for c in codes if mould_records(c, versions)),
        frozenset(held),
    )


def page(gathered: Gathered) -> log.Page:
    """The batch log of the period."""
    reading = gathered.reading
    sown, moves, samples = (log.in_period(reading, k) for k in KINDS[:3])
    holds, notices = stood(reading), log.in_period(reading, "notify")
    return log.page_of(
        reading,
        "The batch log",
        nothing="No batch was sown, moved or held in this time.",
        summary=_summary(gathered, sown, samples, holds),
        parts=(
            _months(gathered),
            log.stories(
                "Done all the same", _forced(reading, [*sown, *moves, *samples])
            ),
            log.stories(
                "What was held, and how it ended",
                [hold_told(reading, hold) for hold in holds],
                log.csv_name("hold", reading.period),
            ),
            _told(reading, notices),
            _gaps(gathered),
            log.listing(
                reading,
                HEADS,
                [_row(gathered, matter) for matter in sown],
                ("batch", "batches"),
                title="Every batch",
                file=log.csv_name("sow", reading.period),
                note="What became of it: trays, to which group or buyer, and the day, "
                "where day 0 is that of sowing. Weights are of dry seed.",
            ),
            _moves(reading, moves),
        ),
        matters=[*sown, *moves, *holds, *notices],
        attached=_files(gathered, sown, samples, holds),
    )


# the lines


def _row(gathered: Gathered, matter: Matter) -> log.Row:
    reading, entry = gathered.reading, matter.said
    code = str(entry.get("batch"))
    batch = gathered.batches.get(code)
    words = ["mould"] * (code in gathered.mouldy) + ["held"] * (code in gathered.held)
    printed, verdict = log.verdict(reading, matter, *words)
    was = [h for h in reading.of_kind("hold") if h.first.get("held") == code]
    if was and code not in gathered.held:
        verdict += f"{', ' if printed != 'good' else ' '}held, released"
    return log.Row(
        matter,
        (
            code,
            _seed(entry),
            _trays(entry),
            _places(entry),
            _fate(gathered, batch) if batch else "",
            verdict,
            entry.by,
            matter.first.name,
        ),
        printed,
    )


def _seed(entry: Entry) -> str:
    shares = rows_of(entry, "seeds")
    return ", ".join(f"{kg(s.get('grams'))} kg {s.get('lot')}" for s in shares)


def _trays(entry: Entry) -> str:
    trays = [str(place.get("tray")) for place in rows_of(entry, "places")]
    return f"{len(trays)}: {ranges(sorted(trays))}"


def _places(entry: Entry) -> str:
    racks = dict.fromkeys(
        str(place.get("rack") or "no rack written")
        for place in rows_of(entry, "places")
    )
    line = f", line {entry.get('line')}" if entry.get("line") else ""
    return f"{listed(racks)}{line}"


def _fate(gathered: Gathered, batch: Batch) -> str:
    """Where its trays went, each group or buyer with its trays, and on which day."""
    zone = gathered.reading.farm.zone
    went: Counter[tuple[str, int]] = Counter()
    for end in batch.ends.values():
        day = batch.day(_day(end.entry, gathered.reading), zone)
        went[_how(end.how, end.entry), day] += 1
    lost = gathered.trays[batch.code].lost
    parts = [f"{many} {how}, day {day}" for (how, day), many in went.items()]
    days = {day for _, day in went}
    if len(days) == 1:
        said = listed(f"{many} {how}" for (how, _), many in went.items())
        parts = [f"{said}, day {days.pop()}"]
    growing = gathered.trays[batch.code].growing
    parts += [f"{growing} still grow"] if growing else []
    parts += [f"{len(lost)} NOT KNOWN ({ranges(lost)})"] if lost else []
    return "; ".join(parts)


def _how(how: str, entry: Entry) -> str:
    if how in ("fed", "sent"):
        return str(entry.get("animals") or entry.get("buyer"))
    return {"discarded": "thrown away"}.get(how, how)


def _day(entry: Entry, reading: Reading) -> Any:
    return (
        datetime.fromisoformat(entry.happened_at).astimezone(reading.farm.zone).date()
    )


# what went wrong


def _forced(reading: Reading, matters: Sequence[Matter]) -> list[Told]:
    words = {"move": " moved", "sample": " sampled"}
    return against(reading, matters, lambda e: f"{_of(e)}{words.get(e.kind, ' sown')}")


def _of(entry: Entry) -> str:
    return str(entry.get("batch") or entry.get("lot"))


def _told(reading: Reading, notices: Sequence[Matter]) -> log.Sentences | None:
    said = [notice(reading, m.said) for m in notices if not m.struck]
    return log.sentences("Who was told", said)


def _gaps(gathered: Gathered) -> log.Sentences | None:
    return log.sentences(
        "What does not add up",
        (
            f"{gap.code}: {gap.says}"
            + (f" ({listed(gap.entries[:3])})" if gap.entries else "")
            for gap in gathered.gaps
        ),
    )


def _moves(reading: Reading, moves: Sequence[Matter]) -> log.Listing | None:
    made = []
    for matter in moves:
        printed, verdict = log.verdict(reading, matter)
        entry = matter.said
        cells = (
            str(entry.get("batch")),
            _trays(entry),
            _places(entry),
            str(entry.get("note") or ""),
            verdict,
            entry.by,
            matter.first.name,
        )
        made.append(log.Row(matter, cells, printed))
    return log.listing(
        reading,
        ("Batch", "Trays", "To", "Note", "Verdict", "By", "Entry"),
        made,
        ("move", "moves"),
        title="Moved",
        file=log.csv_name("move", reading.period),
    )


# figures


def _sums(gathered: Gathered, batches: Sequence[Batch]) -> tuple[str, ...]:
    trays = [gathered.trays[batch.code] for batch in batches]
    over = [b for b, t in zip(batches, trays, strict=True) if not (t.growing or t.lost)]
    seed = sum(batch.seed_grams for batch in over)
    fodder = sum(map(_fodder, over))
    return (
        f"{len(batches):,}",
        f"{sum(each.sown for each in trays):,}",
        kg(sum(batch.seed_grams for batch in batches)),
        *(f"{sum(getattr(each, how) for each in trays):,}" for how in ENDED),
        f"{sum(each.growing for each in trays):,}",
        f"{sum(len(each.lost) for each in trays):,}",
        kg(sum(map(_fodder, batches))),
        f"{fodder / seed:.2f}" if seed else "",
    )


def _fodder(batch: Batch) -> int:
    return sum(whole(entry, "grams") for entry in batch.out)


def _months(gathered: Gathered) -> log.Listing | None:
    zone = gathered.reading.farm.zone
    months: dict[date, list[Batch]] = {}
    for batch in gathered.batches.values():
        months.setdefault(month_of(batch.sow, zone), []).append(batch)
    made = [
        (f"{month:%b %Y}", *_sums(gathered, some))
        for month, some in sorted(months.items())
    ]
    if len(months) > 1:
        made.append(("All", *_sums(gathered, list(gathered.batches.values()))))
    heads = (
        "Batches", "Trays", "Seed kg", "Fed", "Sent", "Thrown away", "Sampled",
        "Growing", "Not known", "Fodder kg", "kg a kg of seed",
    )  # fmt: skip
    return log.figures(
        "Trays and weights by the month of sowing",
        "Month",
        heads,
        made,
        note="Trays = fed + sent + thrown away + sampled + growing + not known. "
        "kg a kg: fresh fodder to dry seed, of the batches that are over.",
    )


def _summary(
    gathered: Gathered,
    sown: Sequence[Matter],
    samples: Sequence[Matter],
    holds: Sequence[Matter],
) -> Iterator[str]:
    reading, batches = gathered.reading, list(gathered.batches.values())
    if sown:
        _, trays, seed, *ended, growing, lost, _, _ = _sums(gathered, batches)
        many = count(len(batches), "batch", "batches")
        yield f"{many}, {trays} trays, {seed} kg of seed."
        words = ("fed", "sent", "thrown away", "kept as samples")
        parts = [
            f"{n} {word}" for n, word in zip(ended, words, strict=True) if n != "0"
        ]
        parts += [f"{growing} still growing"] if growing != "0" else []
        parts += [f"{lost} of which nothing says the end"] if lost != "0" else []
        yield f"Of the trays: {listed(parts)}."
    marked = sum(bool(marks_of(m)) for m in sown)
    if marked:
        yield f"▲ {count(marked, 'batch', 'batches')} sown against a rule."
    if holds:
        still = sum(not reading.answers(hold, "release") for hold in holds)
        stood_ = count(len(holds), "hold")
        yield f"{stood_} stood in this time, {still} of them still open."
    if samples:
        yield f"{count(len(samples), 'sample')} kept."


# the attached files

FATES: Final = (
    Column("trays_fed", "integer", "whole trays, as they stand when printed"),
    Column("trays_sent", "integer"),
    Column("trays_discarded", "integer"),
    Column("trays_sampled", "integer"),
    Column("trays_growing", "integer", "no entry ended them"),
    Column("fodder_grams", "integer", "fresh fodder that left"),
    Column("held", "boolean", "whether anything of it is held when printed"),
)


def _files(
    gathered: Gathered,
    sown: Sequence[Matter],
    samples: Sequence[Matter],
    holds: Sequence[Matter],
) -> list[Any]:
    reading = gathered.reading

    def fates(matter: Matter) -> Sequence[Any]:
        code = str(matter.said.get("batch"))
        batch = gathered.batches.get(code)
        if batch is None:
            return [None] * (len(FATES) - 1) + [code in gathered.held]
        return (
            *(getattr(gathered.trays[code], how) for how in ENDED),
            len(batch.growing),
            _fodder(batch),
            code in gathered.held,
        )

    answers = {
        kind: [a for h in holds for a in reading.answers(h, kind, struck=True)]
        for kind in ("release", "assess")
    }
    return [
        *log.file_of(reading, "sow", sown, FATES, fates),
        *log.file_of(reading, "move", log.in_period(reading, "move")),
        *log.file_of(reading, "sample", samples),
        *log.file_of(reading, "hold", holds),
        *log.file_of(reading, "release", log.once(answers["release"])),
        *log.file_of(reading, "assess", log.once(answers["assess"])),
        *log.file_of(reading, "notify", log.in_period(reading, "notify")),
    ]
