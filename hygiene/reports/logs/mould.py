"""The mould log: every find told to its end, what was thrown away, sick animals.

It answers 183/2005 Annex I A II 2(c), pests and diseases that may affect safety, and
178/2002 Articles 15 and 20 (from memory): the whole batch held, the destruction shown.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.acts.finds import batches_of
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.words import gist
from hygiene.reports.logs import page as log
from hygiene.reports.logs.told import (
    Told,
    against,
    cited,
    clock_of,
    held_title,
    names,
    open_or_closed,
    told,
    told_of,
    versions,
)
from hygiene.reports.logs.weights import kg, trays_of
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, further, read_only
from hygiene.reports.words import count, plain
from hygiene.tracing.batches import whole

KINDS: Final = ("mould", "discard", "ill")
WENT: Final = ("feed", "dispatch", "discard", "sample")
"""What became of a batch in which mould was found."""


class Gathered(NamedTuple):
    """What the page is made from."""

    reading: Reading


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the finds and the discards of the period."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Gathered:
    """All that became of the batches in which mould was found."""
    codes = sorted({c for m in log.in_period(reading, "mould") for c in _batches(m)})
    naming = record.mentioning(*codes, every_version=True) if codes else []
    return Gathered(further(record, reading, [e for e in naming if e.kind in WENT]))


def _batches(mould: Matter) -> list[str]:
    """The batches that any version of a find names."""
    return list(dict.fromkeys(c for v in versions(mould) for c in batches_of(v)))


def page(gathered: Gathered) -> log.Page:
    """The mould log of the period."""
    reading = gathered.reading
    moulds, discards, ill = (log.in_period(reading, kind) for kind in KINDS)
    samples = [m for m in reading.of_kind("sample") if _of_mould(m, moulds)]
    return log.page_of(
        reading,
        "Mould and discards",
        nothing="No mould was found, nothing was thrown away, no animals fell ill.",
        summary=_summary(reading, moulds, discards, ill),
        parts=(
            log.stories(
                "Every find, to its end",
                [_find(reading, m) for m in moulds],
                log.csv_name("mould", reading.period),
            ),
            log.stories("Animals that fell ill", [_ill(reading, m) for m in ill]),
            log.stories(
                "Thrown away or sampled against a rule",
                against(reading, [*discards, *samples], _gone),
            ),
            _finds(reading, moulds),
            _discards(reading, discards),
            _samples(reading, samples),
        ),
        matters=[*moulds, *ill, *discards],
        attached=(
            *log.file_of(reading, "mould", moulds),
            *log.file_of(reading, "discard", discards),
            *log.file_of(reading, "ill", ill),
        ),
    )


def _gone(entry: Entry) -> str:
    how = "thrown away" if entry.kind == "discard" else "sampled"
    return f"{trays_of(entry)} of {entry.get('batch')} {how}"


def _of_mould(sample: Matter, moulds: Sequence[Matter]) -> bool:
    return any(sample.said.get("batch") in _batches(mould) for mould in moulds)


def _where(entry: Entry) -> str:
    trays = texts_of(entry, "trays")
    rack = f"rack {entry.get('rack')}" if entry.get("rack") else ""
    where = names([*batches_of(entry), rack])
    return ", ".join(filter(None, (where, trays_of(entry) if trays else "")))


def _seen(entry: Entry) -> str:
    share, many = entry.get("share_percent"), entry.get("tray_count")
    said = (
        "" if many is None else count(many, "tray") if isinstance(many, int) else "?",
        "" if share is None else f"{plain(share)} % of a tray",
        *(str(entry.get(key) or "") for key in ("colour", "place", "smell", "note")),
    )
    return ", ".join(part for part in said if part)


# told to its end


def _find(reading: Reading, mould: Matter) -> Told:
    entry = mould.said
    made = told(
        reading,
        mould,
        f"Mould in {_where(entry)}: {_seen(entry)}",
        _became(reading, mould),
    )
    closed = open_or_closed(reading, mould) == "action closed"
    return made._replace(sign="✔" if closed else "▲")


def _became(reading: Reading, mould: Matter) -> Iterator[str]:
    files = mould.said.get("attached")
    if isinstance(files, list):
        yield f"{count(len(files), 'photo or paper', 'photos or papers')} kept with it"
    for hold in reading.answers(mould, "hold", struck=True):
        ends = reading.answers(hold, "release")
        over = (
            f"released {cited(reading, ends[-1].said)}"
            if ends
            else "still held when this was printed"
        )
        yield f"Held: {held_title(hold)} ({hold.first.name}); {over}"
    if not reading.answers(mould, "hold", struck=True):
        yield "No hold was written for it"
    for batch in _batches(mould):
        yield from _went(reading, batch)
    said = told_of(reading, [mould, *reading.answers(mould, "hold", struck=True)])
    yield from (f"Told: {each}" for each in said)
    if not said:
        yield "Nobody is written as told of it"


def _went(reading: Reading, batch: str) -> Iterator[str]:
    """Where a batch went: who ate of it, what was sent, kept and thrown away."""
    for kind in WENT:
        for matter in reading.of_kind(kind):
            if matter.said.get("batch") == batch and not matter.struck:
                when = clock_of(reading, matter.said.happened_at)
                how = {"feed": "Fed", "dispatch": "Sent", "discard": "Thrown away"}
                word = how.get(kind, "Sampled")
                yield f"{word} {when}: {gist(matter.said)} ({matter.said.name})"


def _ill(reading: Reading, ill: Matter) -> Told:
    entry = ill.said
    said = (
        ("Appetite kept", "appetite_kept"),
        ("Fodder stopped", "feeding_stopped"),
        ("Other feed", "other_feed"),
        ("Milk", "milk"),
        ("Sold", "sales"),
        ("Note", "note"),
    )
    return told(
        reading,
        ill,
        f"{entry.get('head_ill')} of {entry.get('head_at_risk')} "
        f"{entry.get('animals')} ill, {entry.get('head_dead')} dead, since "
        f"{entry.get('since')}: {entry.get('signs')}",
        [
            *(
                f"{word}: {plain(entry.get(key))}"
                for word, key in said
                if entry.get(key) is not None
            ),
            *(f"Told: {each}" for each in told_of(reading, [ill])),
        ],
    )


# the lines


def _finds(reading: Reading, moulds: Sequence[Matter]) -> log.Listing | None:
    made = []
    for matter in moulds:
        entry = matter.said
        state = open_or_closed(reading, matter) or "no action"
        sign = "✔" if state == "action closed" else "▲"
        struck = "– ruled through; " * matter.struck
        cells = (
            _where(entry),
            plain(entry.get("growing_day")),
            _seen(entry),
            str(len(reading.answers(matter, "hold", struck=True))),
            f"{struck}{sign} {state}",
            entry.by,
            matter.first.name,
        )
        made.append(log.Row(matter, cells, "struck" if matter.struck else "failed"))
    heads = ("Where", "Grown", "What was seen", "Holds", "Verdict", "By", "Entry")
    return log.listing(
        reading,
        heads,
        made,
        ("find", "finds"),
        title="The finds in short",
        file=log.csv_name("mould", reading.period),
        right=("Grown", "Holds"),
    )


def _discards(reading: Reading, discards: Sequence[Matter]) -> log.Listing | None:
    made = []
    for matter in discards:
        printed, verdict = log.verdict(reading, matter)
        entry = matter.said
        cells = (
            str(entry.get("batch")),
            trays_of(entry),
            kg(entry.get("grams")),
            str(entry.get("why")),
            str(entry.get("route")),
            str(entry.get("witness") or "none"),
            str(entry.get("because") or ""),
            verdict,
            entry.by,
            matter.first.name,
        )
        made.append(log.Row(matter, cells, printed))
    heads = (
        "Batch", "Trays", "kg", "Why", "By what route", "Witness", "Follows from",
        "Verdict", "By", "Entry",
    )  # fmt: skip
    return log.listing(
        reading,
        heads,
        made,
        ("discard", "discards"),
        title="Thrown away",
        file=log.csv_name("discard", reading.period),
        right=("kg",),
    )


def _samples(reading: Reading, samples: Sequence[Matter]) -> log.Listing | None:
    made = []
    for matter in samples:
        printed, verdict = log.verdict(reading, matter)
        entry = matter.said
        keys = ("frozen_at", "chilled_at", "why", "laboratory")
        cells = (
            str(entry.get("batch")),
            trays_of(entry),
            kg(entry.get("grams")) if entry.get("grams") else "",
            *(str(entry.get(key) or "") for key in keys),
            verdict,
            entry.by,
            matter.first.name,
        )
        made.append(log.Row(matter, cells, printed))
    heads = (
        "Batch", "Trays", "kg", "Frozen at", "Chilled at", "Why", "Laboratory",
        "Verdict", "By", "Entry",
    )  # fmt: skip
    return log.listing(
        reading,
        heads,
        made,
        ("sample", "samples"),
        title="Samples kept of the mouldy batches",
        right=("kg",),
    )


def _summary(
    reading: Reading,
    moulds: Sequence[Matter],
    discards: Sequence[Matter],
    ill: Sequence[Matter],
) -> Iterator[str]:
    if moulds:
        waiting = sum(open_or_closed(reading, m) != "action closed" for m in moulds)
        still = {
            hold.first.name
            for m in moulds
            for hold in reading.answers(m, "hold", struck=True)
            if not reading.answers(hold, "release")
        }
        yield (
            f"{count(len(moulds), 'find')} of mould, {waiting} of them not closed; "
            f"{count(len(still), 'hold')} of theirs still open."
        )
    standing = [m.said for m in discards if not m.struck]
    if discards:
        trays = sum(len(texts_of(entry, "trays")) for entry in standing)
        grams = sum(whole(entry, "grams") for entry in standing)
        yield f"{count(trays, 'tray')} thrown away, {kg(grams)} kg of fresh fodder."
    alone = sum(not entry.get("witness") for entry in standing)
    if alone:
        yield f"▲ {count(alone, 'discard')} that nobody else saw."
    if ill:
        yield f"▲ Animals fell ill {count(len(ill), 'time')}."
    elif moulds or discards:
        yield "No animals are written as ill."
