"""Seed: a lot taken in, counted for germination, and scrapped."""

from __future__ import annotations

from typing import Any, NamedTuple

from hygiene.acts.codes import UnknownCode, known, mint, need_free
from hygiene.acts.how import How
from hygiene.acts.rules import Against, in_short, marks
from hygiene.acts.standing import lot_file, open_holds
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.farm.in_force import InForce
from hygiene.kinds.action import Action
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold
from hygiene.kinds.seed import Germination, Scrap, Seed
from hygiene.tracing.lots import Fault, faults

DRESSED_LAW = "Regulation (EC) 767/2009 Annex III chapter 1 (from memory)"


class Received(NamedTuple):
    """What taking a lot in wrote; the hold where it may not be sown as it is."""

    seed: Entry
    hold: Entry | None = None
    already: bool = False


class Scrapped(NamedTuple):
    """What scrapping seed wrote."""

    scrap: Entry
    action: Entry | None = None
    already: bool = False


def receive(
    writing: Writing,
    farm: InForce,
    how: How,
    *,
    supplier: str,
    lot: str | None = None,
    **described: Any,
) -> Received:
    """Take a lot in under a code of our own; ``described`` are the fields of ``Seed``.

    ``lot`` is its number on an old paper, where it has one. A lot that was refused,
    dressed, or that nobody saw the word for is held at once.
    """
    bare = Seed(
        lot=lot or mint(writing, "lot"),
        supplier=known(farm, "supplier", supplier),
        **described,
    )
    before = how.retried(writing, bare, "marks" if lot else "lot", "marks")
    if before is not None:
        return Received(before, already=True)
    if lot is not None:
        need_free(writing.record, farm, lot)
    lacks = faults(bare.body())
    thing = Seed(
        lot=bare.lot,
        supplier=bare.supplier,
        **described,
        marks=tuple(fault.mark for fault in lacks),
    )
    made = how.add(writing, thing)
    return Received(made, hold_lot(writing, made, lacks, how) if lacks else None)


def hold_lot(writing: Writing, seed: Entry, lacks: list[Fault], how: How) -> Entry:
    """Hold a lot for what it lacks, until a paper lets it go."""
    return how.add(
        writing,
        Hold(
            held=str(seed.get("lot")),
            sort="lot",
            why="; ".join(fault.says for fault in lacks),
            because=seed.name,
        ),
    )


def count(writing: Writing, thing: Germination, how: How) -> tuple[Entry, bool]:
    """Write a germination count; whether it was recorded already."""
    _need_lot(writing.record, thing.lot)
    before = how.retried(writing, thing)
    return (before, True) if before else (how.add(writing, thing), False)


def against_scrapping(record: Record, lot: str, grams: int) -> list[Against]:
    """What stands against scrapping so much of a lot."""
    store = _need_lot(record, lot)
    if store is not None and grams <= store:
        return []
    left = "nothing that stands" if store is None else kilos(store)
    return [
        Against(
            "lot-not-enough",
            f"{lot} has {left} in store, not {kilos(grams)}",
            "seed received = sown + in store + scrapped, in grams",
            "weigh again; or put the entry that is wrong right: hygiene correct",
        )
    ]


def kilos(grams: int) -> str:
    """A weight for a person; below nothing is what was taken and never came in."""
    if grams < 0:
        return f"nothing ({-grams / 1000:g} kg too much went out)"
    return f"{grams / 1000:g} kg"


def scrap(writing: Writing, thing: Scrap, how: How) -> Scrapped:
    """Write that seed of a lot is no more; more than there was is marked."""
    before = how.retried(writing, thing, "marks")
    if before is not None:
        return Scrapped(before, already=True)
    against = against_scrapping(writing.record, thing.lot, thing.grams)
    made = how.add(
        writing,
        Scrap(lot=thing.lot, grams=thing.grams, why=thing.why, marks=marks(against)),
    )
    if not against:
        return Scrapped(made)
    action = Action(about=made.name, problem=in_short(against), concerns=thing.lot)
    return Scrapped(made, how.add(writing, action))


def holds_of_nothing(record: Record, lot: str) -> list[str]:
    """The open holds on a lot of which no seed is left; only a release ends them."""
    found = lot_file(record, lot).lot
    if found is None or found.in_store_grams > 0:
        return []
    return [hold.name for hold in open_holds(record) if ("lot", lot) in hold.held]


def _need_lot(record: Record, lot: str) -> int | None:
    """Grams in store, None where the lot's entry was struck; ``UnknownCode``."""
    found = lot_file(record, lot)
    if not any(v.kind == "seed" for v in found.versions):
        raise UnknownCode(sort="lot", given=lot, way_out="hygiene log seed")
    return None if found.lot is None else found.lot.in_store_grams
