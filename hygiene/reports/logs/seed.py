"""The seed log: each lot that came in, what it was tested for, and what became of it.

It answers 178/2002 Article 18(2), from whom, what, how much and when, and 183/2005
Annex I A II 2(e), source and quantity (both from memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from typing import Any, Final, NamedTuple

from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, rows_of
from hygiene.reports.lines import before
from hygiene.reports.logs import page as log
from hygiene.reports.logs.told import (
    Told,
    against,
    held_title,
    hold_sentences,
    stood,
    told,
)
from hygiene.reports.logs.weights import kg
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, causes, further, read_only, span_of
from hygiene.reports.words import count, listed, plain
from hygiene.tracing.germination import interval
from hygiene.tracing.lots import Lot, read_lots

KINDS: Final = ("seed", "germination", "scrap")
HEADS: Final = (
    "Lot", "From", "Their lot", "kg", "Untreated, fit for feed", "Paper", "Moist %",
    "Chaff %", "Ergot", "Pests", "Verdict", "By", "Entry",
)  # fmt: skip
MEASURED: Final = ("moisture_percent", "chaff_percent", "ergot_count", "pests_seen")


class Gathered(NamedTuple):
    """What the page is made from; ``lots`` as they stood when the period was over."""

    reading: Reading
    lots: dict[str, Lot]
    batches: Counter[str]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the lots of the period, and what was taken from them."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Gathered:
    """What was taken from the lots that came in or were used in the period."""
    start, end = span_of(reading.rota, reading.period)
    used = record.entries(("sow", *KINDS), since=start, before=end)
    codes = sorted({code for entry in used for code in _lots(entry)})
    naming = record.mentioning(*codes) if codes else []
    then = [entry for entry in naming if before(entry, end)]
    lots = read_lots(then)
    sown = Counter(
        lot for e in then if e.kind == "sow" for lot in dict.fromkeys(_lots(e))
    )
    reading = further(record, reading, [e for e in naming if e.kind == "hold"])
    why = causes(record, stood(reading), "because")
    return Gathered(further(record, reading, why), lots, sown)


def _lots(entry: Entry) -> list[str]:
    if entry.kind == "sow":
        return [str(row.get("lot")) for row in rows_of(entry, "seeds")]
    return [str(entry.get("lot"))]


def page(gathered: Gathered) -> log.Page:
    """The seed log of the period."""
    reading, lots, _ = gathered
    came, counts, scraps = (log.in_period(reading, kind) for kind in KINDS)
    return log.page_of(
        reading,
        "The seed log",
        nothing="No seed came in, was counted or thrown away in this time.",
        summary=_summary(reading, came, counts, lots),
        parts=(
            log.stories(
                "Held, or not as it should be", list(_stories(reading, came, scraps))
            ),
            log.listing(
                reading,
                HEADS,
                [_row(reading, matter) for matter in came],
                ("lot", "lots"),
                title="Every lot that came in",
                file=log.csv_name("seed", reading.period),
                right=("kg", *HEADS[6:9]),
            ),
            _store(gathered),
            _counts(reading, counts),
            _scraps(reading, scraps),
            _suppliers(reading, came),
        ),
        matters=[*came, *counts, *scraps, *_holds(reading)],
        attached=(
            *log.file_of(reading, "seed", came),
            *log.file_of(reading, "germination", counts),
            *log.file_of(reading, "scrap", scraps),
        ),
    )


def _row(reading: Reading, matter: Matter) -> log.Row:
    entry = matter.said
    refused = entry.get("accepted") is False
    holds = _holds_on(reading, entry.get("lot"))
    held = [h for h in holds if not reading.answers(h, "release")]
    words = ["refused"] * refused + ["held"] * bool(held)
    printed, verdict = log.verdict(reading, matter, *words)
    if holds and not held:
        verdict += f"{', ' if printed != 'good' else ' '}held, released"
    return log.Row(
        matter,
        (
            str(entry.get("lot")),
            str(entry.get("supplier")),
            str(entry.get("supplier_lot")),
            kg(entry.get("grams")),
            _untreated(entry),
            str(entry.get("document") or "not named"),
            *(plain(entry.get(key)) for key in MEASURED),
            verdict,
            entry.by,
            matter.first.name,
        ),
        printed,
    )


def _untreated(entry: Entry) -> str:
    if entry.get("dressing"):
        return f"DRESSED with {entry.get('dressing')}"
    seen = entry.get("untreated_seen_by")
    paper = entry.get("declaration") or "no paper named"
    return f"seen by {seen}, {paper}" if seen else "nobody saw it"


# held


def _holds(reading: Reading) -> list[Matter]:
    """The holds on lots that stood in the period."""
    return [h for h in stood(reading) if h.first.get("sort") == "lot"]


def _holds_on(reading: Reading, lot: Any) -> list[Matter]:
    return [h for h in _holds(reading) if h.first.get("held") == lot]


def _stories(
    reading: Reading, came: list[Matter], scraps: list[Matter]
) -> Iterator[Told]:
    told_of = set()
    for hold in _holds(reading):
        told_of.add(str(hold.first.get("because")))
        cause = next(
            (m for m in came if m.first.name == hold.first.get("because")), None
        )
        yield told(
            reading,
            cause or hold,
            f"Held: {held_title(hold)}",
            hold_sentences(reading, hold),
            sign="✔" if reading.answers(hold, "release") else "▲",
        )
    rest = [m for m in came if m.first.name not in told_of]
    yield from against(reading, rest, lambda e: f"Lot {e.get('lot')}")
    yield from against(
        reading, scraps, lambda e: f"{kg(e.get('grams'))} kg of {e.get('lot')} scrapped"
    )


# what became of it


def _store(gathered: Gathered) -> log.Listing | None:
    heads = ("Came in", "kg", "Sown", "In batches", "Thrown away", "Samples", "Left")
    made = [
        (
            lot.code,
            lot.seed.happened_at[:10],
            kg(lot.received_grams),
            kg(lot.sown_grams),
            str(gathered.batches[lot.code]),
            kg(lot.scrapped_grams),
            kg(lot.sampled_grams),
            kg(lot.in_store_grams),
        )
        for lot in gathered.lots.values()
    ]
    return log.figures(
        "What became of each lot, up to the end of this time",
        "Lot",
        heads,
        made,
        note="In kilograms of dry seed: came in = sown + thrown away + samples + left.",
    )


def _counts(reading: Reading, counts: list[Matter]) -> log.Listing | None:
    heads = ("Lot", "Sown", "Germinated", "%", "95 % interval", "Days", "By", "Entry")
    return log.listing(
        reading,
        heads,
        [log.Row(m, _count(m), log.verdict(reading, m)[0]) for m in counts],
        ("count", "counts"),
        title="Germination counts",
        file=log.csv_name("germination", reading.period),
        right=heads[1:4],
        note="The interval is that of Clopper and Pearson (1934).",
    )


def _count(matter: Matter) -> tuple[str, ...]:
    entry = matter.said
    percent, between = "?", ""
    sown, germinated = entry.get("sown"), entry.get("germinated")
    if (
        isinstance(sown, int)
        and isinstance(germinated, int)
        and 0 <= germinated <= sown
    ):
        found = interval(germinated, sown)
        percent = f"{found.percent:.1f}"
        between = f"{found.low_percent:.1f} to {found.high_percent:.1f}"
    days = entry.get("days")
    return (
        str(entry.get("lot")),
        str(sown),
        str(germinated),
        percent,
        between,
        "" if days is None else str(days),
        entry.by,
        matter.first.name,
    )


def _scraps(reading: Reading, scraps: list[Matter]) -> log.Listing | None:
    made = []
    for matter in scraps:
        printed, verdict = log.verdict(reading, matter)
        entry = matter.said
        cells = (
            str(entry.get("lot")),
            kg(entry.get("grams")),
            str(entry.get("why")),
            verdict,
            entry.by,
            matter.first.name,
        )
        made.append(log.Row(matter, cells, printed))
    return log.listing(
        reading,
        ("Lot", "kg", "Why", "Verdict", "By", "Entry"),
        made,
        ("time", "times"),
        title="Thrown away, and not sown",
        file=log.csv_name("scrap", reading.period),
        right=("kg",),
    )


def _suppliers(reading: Reading, came: list[Matter]) -> log.Listing | None:
    made = []
    for code in sorted({str(m.said.get("supplier")) for m in came}):
        found = reading.farm.last_described("supplier", code)
        body = found.body if found else {}
        said = (str(body.get(key) or "") for key in ("name", "address", "registration"))
        made.append((code, *said))
    heads = ("Name", "Address", "Registration")
    return log.figures("From whom", "Code", heads, made, right=())


def _summary(
    reading: Reading, came: list[Matter], counts: list[Matter], lots: dict[str, Lot]
) -> Iterator[str]:
    standing = [m.said for m in came if not m.struck]
    if came:
        by: Counter[str] = Counter()
        for entry in standing:
            grams = entry.get("grams")
            by[str(entry.get("supplier"))] += grams if isinstance(grams, int) else 0
        parts = [
            f"{kg(grams)} kg from {log.name_of(reading.farm, 'supplier', code)}"
            for code, grams in sorted(by.items())
        ]
        yield f"{count(len(standing), 'lot')} came in: {listed(parts)}."
    lacking = sum(not entry.get("untreated_seen_by") for entry in standing)
    if lacking:
        yield f"{count(lacking, 'lot')} of which nobody saw that it is untreated."
    held = [h for h in _holds(reading) if not reading.answers(h, "release")]
    if held:
        yield f"{count(len(held), 'hold')} on a lot still open when this was printed."
    if counts:
        yield f"{count(len(counts), 'germination count')} of {_of(counts)}."
    if lots:
        left = sum(lot.in_store_grams for lot in lots.values())
        yield f"{kg(left)} kg of these lots and of those used were left at the end."
    for lot in lots.values():
        if lot.in_store_grams < 0:
            more = kg(-lot.in_store_grams)
            yield f"▲ {lot.code}: {more} kg more went out than came in."


def _of(counts: list[Matter]) -> str:
    return count(len({str(m.said.get("lot")) for m in counts}), "lot")
