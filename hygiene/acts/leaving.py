"""What ends a tray: fed to animals, sent to a buyer, thrown away, kept as a sample.

What is held, or bore mould, is refused as a plan. What was fed or sent all the same is
written, marked for ever, and opens an incident.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final, NamedTuple, TypeVar

from hygiene.acts.batches import against_trays_of
from hygiene.acts.codes import UnknownCode, known
from hygiene.acts.how import How
from hygiene.acts.rules import Against, in_short, marks
from hygiene.acts.standing import (
    batch_file,
    growing_batches,
    layout,
    lot_file,
    open_holds,
)
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Unknown, WronglyPut
from hygiene.farm.in_force import InForce
from hygiene.kinds.action import Action
from hygiene.kinds.batch import Discard, Dispatch, Feed, Sample
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.moments import moment_of
from hygiene.tracing.holds import mould_records, stops

Leaving = TypeVar("Leaving", Feed, Dispatch, Discard, Sample)

WHOLE_BATCH: Final = (
    "178/2002 Article 15(3) (from memory): part of a batch that is unsafe makes all of "
    "it unsafe, unless a written assessment says otherwise"
)
NEVER_FED: Final = (
    "sprouts grown mouldy have killed herds, and no limit covers those toxins "
    "(McKenzie and others, 2004): discard or sample, never feed"
)
ONE_STEP: Final = "178/2002 Article 18(3): whom you supplied, with what, how much, when"
IN_DANGER: Final = (
    "on-hold",
    "held-afterwards",
    "mould-record",
    "mould-found-afterwards",
    "looked-or-smelt-bad",
)
"""The marks of fodder that should never have left: each opens an incident."""


class NothingGrows(Unknown):
    """A batch, or trays, of which nothing grows."""

    sentence = "nothing grows in {given}"


class SeveralBatches(WronglyPut):
    """Trays of several batches in one act."""

    sentence = "those trays belong to {codes}: write each batch by itself, with its kg"


class Left(NamedTuple):
    """What an act wrote; ``fed_on`` are the groups that it puts in danger."""

    entry: Entry
    against: tuple[Against, ...] = ()
    action: Entry | None = None
    already: bool = False

    @property
    def in_danger(self) -> bool:
        """Whether animals or buyers got what should never have left."""
        return any(mark in IN_DANGER for mark in items(self.entry, "marks"))


def trays_meant(
    record: Record, batch: str | None, trays: Sequence[str], at: datetime
) -> tuple[str, tuple[str, ...]]:
    """The batch and its trays that are meant by a batch, by trays, or by both.

    A batch alone means all its trays that grow. Raises ``NothingGrows`` and
    ``SeveralBatches``.
    """
    if batch is None:
        growing = growing_batches(record, at)
        codes = [b.code for b in growing if set(b.growing) & set(trays)]
        if len(codes) > 1:
            raise SeveralBatches(codes=" and ".join(codes))
        if not codes:
            raise NothingGrows(
                given=", ".join(trays[:4]),
                way_out="name the batch as well, if it was there all the same",
            )
        return codes[0], tuple(trays)
    if trays:
        return batch, tuple(trays)
    found = batch_file(record, batch).batch
    if found is None or not found.growing:
        raise NothingGrows(
            given=batch, way_out=f"see what became of it: hygiene show {_sow(found)}"
        )
    return batch, found.growing


def _sow(batch: object) -> str:
    return getattr(getattr(batch, "sow", None), "name", "ENTRY")


def against_feeding(
    record: Record, farm: InForce, thing: Feed, at: datetime
) -> list[Against]:
    """Every rule that feeding would stand against. Unknown codes raise."""
    known(farm, "animals", thing.animals)
    return _against_leaving(record, farm, thing, at)


def against_sending(
    record: Record, farm: InForce, thing: Dispatch, at: datetime
) -> list[Against]:
    """Every rule that sending to a buyer would stand against. Unknown codes raise."""
    known(farm, "buyer", thing.buyer)
    against = _against_leaving(record, farm, thing, at)
    if thing.document is None:
        against.append(
            Against(
                "no-document",
                "no delivery note or invoice is named",
                ONE_STEP,
                "add --document NUMBER",
            )
        )
    return against


def _against_leaving(
    record: Record, farm: InForce, thing: Feed | Dispatch, at: datetime
) -> list[Against]:
    strange = against_trays_of(record, thing.batch, thing.trays)
    return [
        *strange,
        *in_danger(record, farm, thing.batch, thing.trays, at),
        *(_where_they_grow(record, farm, thing, at) if strange else ()),
        *_against_looks(thing),
    ]


def _where_they_grow(
    record: Record, farm: InForce, thing: Feed | Dispatch, at: datetime
) -> Iterator[Against]:
    """Trays of another batch: what stands against that one counts as well."""
    for other in growing_batches(record, at):
        trays = [tray for tray in other.growing if tray in thing.trays]
        if trays and other.code != thing.batch:
            yield from in_danger(record, farm, other.code, trays, at)


def in_danger(
    record: Record, farm: InForce, batch: str, trays: Sequence[str], at: datetime
) -> list[Against]:
    """Mould and holds that stand against fodder leaving at a moment.

    What was found or held only later has marks of its own: those who ate are in the
    same danger, but nobody broke a rule.
    """
    versions = batch_file(record, batch).versions
    return [
        *_against_mould(batch, versions, at),
        *_against_holds(record, farm, batch, trays, versions, at),
    ]


def _against_mould(
    batch: str, versions: Sequence[Entry], at: datetime
) -> Iterator[Against]:
    found = mould_records(batch, versions)
    if found:
        since = min(moment_of(mould.happened_at) for mould in found)
        yield Against(
            "mould-record" if since <= at else "mould-found-afterwards",
            f"mould was found in {batch} ({found[0].first})"
            + ("" if since <= at else ", afterwards"),
            NEVER_FED,
            f"sample it, then: hygiene discard {batch} ...; ring the vet if any was "
            "eaten",
        )


def _against_holds(
    record: Record,
    farm: InForce,
    batch: str,
    trays: Sequence[str],
    versions: Sequence[Entry],
    at: datetime,
) -> Iterator[Against]:
    mouldy = bool(mould_records(batch, versions))
    for stop in stops(batch, versions, open_holds(record), layout(farm)):
        if stop.trays and not stop.trays & set(trays):
            continue
        since = min(moment_of(v.happened_at) for v in record.history(stop.entry))
        yield Against(
            "on-hold" if since <= at else "held-afterwards",
            f"{batch} is held{'' if since <= at else ' since'}: {stop.why}",
            WHOLE_BATCH,
            f"no release makes it feed: hygiene discard {batch} ..."
            if mouldy
            else f"only this ends it: hygiene release {stop.entry} --why TEXT",
        )


def _against_looks(thing: Feed | Dispatch) -> Iterator[Against]:
    if thing.look_ok is False or thing.smell_ok is False:
        yield Against(
            "looked-or-smelt-bad",
            f"{thing.batch} did not look or smell as it should",
            NEVER_FED,
            f"write what was found: hygiene mould {thing.batch}",
        )
    elif thing.look_ok is None or thing.smell_ok is None:
        yield Against(
            "not-looked-at",
            "nobody says that it was looked at and smelt",
            "183/2005 Annex III: fodder is not fed mouldy; look and smell each time",
            "look, smell from a distance, and add --looks-ok --smells-ok",
        )


def against_discarding(record: Record, thing: Discard) -> list[Against]:
    """Every rule that throwing trays away would stand against."""
    against = against_trays_of(record, thing.batch, thing.trays)
    versions = batch_file(record, thing.batch).versions
    if not mould_records(thing.batch, versions):
        return against
    if not any(v.kind == "sample" for v in versions):
        against.append(
            Against(
                "not-sampled",
                f"no sample of {thing.batch} was kept",
                "the laboratory needs two labelled halves, one frozen, one chilled "
                "(common practice, no source)",
                f"first: hygiene sample {thing.batch} --frozen-at PLACE --chilled-at "
                "PLACE --why mould",
            )
        )
    if thing.witness is None:
        against.append(
            Against(
                "no-witness",
                "nobody saw it thrown away",
                "178/2002 Article 20(1): the batch is destroyed, and that is shown",
                "add --witness NAME",
            )
        )
    return against


def feed(writing: Writing, farm: InForce, thing: Feed, how: How) -> Left:
    """Write what was fed, as it was."""
    before = how.retried(writing, thing, "marks")
    if before is not None:
        return Left(before, already=True)
    against = against_feeding(writing.record, farm, thing, how.at(writing))
    return _write(writing, thing, against, f"fed to {thing.animals}", how)


def dispatch(writing: Writing, farm: InForce, thing: Dispatch, how: How) -> Left:
    """Write what was sent to a buyer, as it was."""
    before = how.retried(writing, thing, "marks")
    if before is not None:
        return Left(before, already=True)
    against = against_sending(writing.record, farm, thing, how.at(writing))
    return _write(writing, thing, against, f"sent to {thing.buyer}", how)


def discard(writing: Writing, thing: Discard, how: How) -> Left:
    """Write what was thrown away; after mould it names the find by itself."""
    if thing.because is None:
        found = mould_records(
            thing.batch, batch_file(writing.record, thing.batch).versions
        )
        thing = replace(thing, because=found[0].first if found else None)
    before = how.retried(writing, thing, "marks")
    if before is not None:
        return Left(before, already=True)
    against = against_discarding(writing.record, thing)
    return _write(writing, thing, against, "discarded", how)


def sample(writing: Writing, thing: Sample, how: How) -> Left:
    """Write that a sample was kept."""
    before = how.retried(writing, thing, "marks")
    if before is not None:
        return Left(before, already=True)
    against: list[Against] = []
    if thing.batch is not None:
        against = against_trays_of(writing.record, thing.batch, thing.trays)
    elif not _is_lot(writing.record, str(thing.lot)):
        raise UnknownCode(sort="lot", given=thing.lot, way_out="hygiene log seed")
    return _write(writing, thing, against, "sampled", how)


def _is_lot(record: Record, code: str) -> bool:
    return any(v.kind == "seed" for v in lot_file(record, code).versions)


def _write(
    writing: Writing, thing: Leaving, against: Sequence[Against], did: str, how: How
) -> Left:
    made = how.add(writing, replace(thing, marks=marks(against)))
    if not against:
        return Left(made)
    action = Action(
        about=made.name,
        problem=f"{did} all the same: {in_short(against)}",
        concerns=thing.batch or str(made.get("lot")),
        incident=any(rule.mark in IN_DANGER for rule in against),
    )
    return Left(made, tuple(against), how.add(writing, action))
