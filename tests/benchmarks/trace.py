"""A tray code and a date to a finished trace, at ten thousand and at a million entries.

By hand: python tests/benchmarks/trace.py [SIZE ...]

The record has the same daily rate for longer: every day one sowing of twelve trays, one
wash, three feeds and 290 signed tasks; a container a month, a lot a fortnight, a find
of mould every 25 days with its hold, action, discards and release; one entry in a
hundred is put right. Times are the medians over trays in the middle of the record, in
milliseconds: from opening the file to the last line of text, and the trace alone.

A look-up is one question to an index: a code asked by name (twice: every version, and
what stands) or a kind in a stretch of time. Entries read are counted beside them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from big_record import A_DAY, Big, a_sign_off, now

from hygiene.acts.subject import subject_of
from hygiene.acts.trace import trace
from hygiene.book.record import Record
from hygiene.cli.trace import _page
from hygiene.farm.in_force import in_force
from hygiene.kinds.action import Action
from hygiene.kinds.base import Kind
from hygiene.kinds.batch import Discard, Feed, Place, SeedShare, Sow
from hygiene.kinds.codes import minted
from hygiene.kinds.find import Hold, Mould, Release
from hygiene.kinds.moments import day_span
from hygiene.kinds.sanitising import Container, Dose, Drawn, Reading
from hygiene.kinds.seed import Seed
from hygiene.kinds.setup import Animals, Line, Rack, Room, Supplier, Tank, Tray

SIZES = (10_000, 1_000_000)
ROUNDS = 15
GROUPS = ("EWES", "GOATS", "COWS")
SETUP: tuple[Kind, ...] = (
    Room(code="GROW", name="Growing room"),
    *(Rack(code=f"R{n}", room="GROW", levels=4, line=f"L{n}") for n in (1, 2)),
    Tray(code="T001..T120"),
    Tank(code="K1", name="Tank", volume_l=Decimal(400)),
    *(Line(code=f"L{n}", name="Line", tank="K1", room="GROW") for n in (1, 2)),
    Supplier(code="ALDER", name="Alder Seeds", address="2 Mill Lane"),
    *(Animals(code=g, name=g, species="x", head=9, produces=("milk",)) for g in GROUPS),
)
FIRST_SETUP = 150
MOULD_EVERY, LOT_DAYS, CAN_DAYS = 25, 14, 30


@dataclass(frozen=True)
class Sprouting(Big):
    """A record of a shed that sows every day."""

    def thing(self, book: str, seq: int) -> Kind:
        day, place = divmod(seq, A_DAY)
        if FIRST_SETUP <= seq < FIRST_SETUP + len(SETUP):
            return SETUP[seq - FIRST_SETUP]
        made = list(self.of_day(book, day)) if day and place < 20 else []
        if place < len(made):
            return made[place]
        return a_sign_off(seq, self.moment(seq))

    def of_day(self, book: str, day: int) -> Iterator[Kind]:
        """What is written on a day beside its signed tasks, in its order."""
        can, lot = day // CAN_DAYS, 2 * (day // (2 * LOT_DAYS)) + day % 2
        trays = tuple(f"T{12 * (day % 10) + n + 1:03}" for n in range(12))
        if day % CAN_DAYS == 0 or day == 1:
            yield Container(
                container=minted("container", book, can + 1),
                product="CHLOR",
                maker_batch=f"88/{can}",
                tenth_ml=200_000,
                supplier="ALDER",
            )
        if day % (2 * LOT_DAYS) in (0, 1) or day in (1, 2):
            yield Seed(
                lot=minted("lot", book, lot + 1),
                supplier="ALDER",
                supplier_lot=f"AF/{lot}",
                grams=90_000,
                untreated_seen_by="AB",
            )
        yield Dose(
            product="CHLOR",
            drawn=(Drawn(container=minted("container", book, can + 1), tenth_ml=960),),
            target="tray",
            trays=trays,
            readings=(Reading(value_mg_per_l=Decimal(150), spot="start"),),
        )
        yield Sow(
            batch=minted("batch", book, day),
            seeds=(SeedShare(lot=minted("lot", book, lot + 1), grams=6_000),),
            places=tuple(
                Place(tray=t, rack=f"R{1 + n // 6}", level=1 + n % 4)
                for n, t in enumerate(trays)
            ),
            line=f"L{1 + day % 2}",
        )
        yield from self.of_older(book, day)

    def of_older(self, book: str, day: int) -> Iterator[Kind]:
        """What becomes of the batches that were sown before."""
        if day > 5 and (day - 5) % MOULD_EVERY == 0:
            yield Mould(batch=minted("batch", book, day - 5), colour="grey")
            held = minted("batch", book, day - 5)
            yield Hold(held=held, sort="batch", why="mould in it")
            yield Action(about=f"{book}/1", problem="mould", concerns=held)
        old = day - 7
        if old < 1:
            return
        code = minted("batch", book, old)
        trays = [f"T{12 * (old % 10) + n + 1:03}" for n in range(12)]
        for place, group in enumerate(GROUPS):
            mine = tuple(trays[4 * place : 4 * place + 4])
            if old % MOULD_EVERY == 0:
                yield Discard(
                    batch=code, trays=mine, grams=28_000, why="mould", route="burnt"
                )
            else:
                yield Feed(
                    batch=code,
                    trays=mine,
                    animals=group,
                    grams=28_000,
                    look_ok=True,
                    smell_ok=True,
                )
        if old % MOULD_EVERY == 1 and old > 1:
            # the hold of the batch that was sown the day before this one
            name = f"{book}/{self.hold_of(book, old - 1)}"
            yield Release(hold=name, why="all of it burnt")

    def hold_of(self, book: str, sown: int) -> int:
        """Which entry holds the mouldy batch of a day."""
        day = sown + 5
        made = list(self.of_day(book, day))
        place = next(n for n, thing in enumerate(made) if isinstance(thing, Hold))
        return day * A_DAY + place


Row = tuple[float, float, int, int, int]


def measured(bigs: list[Sprouting]) -> None:
    """Trace in every record by turns: the load of the machine is then the same."""
    rows: dict[int, list[Row]] = {big.size: [] for big in bigs}
    for round_ in range(ROUNDS + 1):
        for big in bigs:
            middle = big.size // A_DAY // 2
            first = (now() - timedelta(days=big.size // A_DAY)).date()
            day = first + timedelta(days=middle + round_ % 5)
            tray = f"T{12 * ((middle - 3) % 10) + 1 + round_ % 12:03}"
            rows[big.size].append(one(big, tray, day))
    per_entry = [told(size, found[1:]) for size, found in rows.items()]
    if len(per_entry) > 1:
        whole, alone = (per_entry[-1][n] / per_entry[0][n] for n in (0, 1))
        print(f"time an entry found, last to first: {whole:.2f}, trace {alone:.2f}")


def told(size: int, rows: list[Row]) -> tuple[float, float]:
    """Print a size's medians; the whole and the trace alone, in ms an entry found."""
    whole, alone, asked, read, found = (median(r[n] for r in rows) for n in range(5))
    print(
        f"{size:>9,} entries: whole {whole:6.1f} ms (least {min(rows)[0]:.1f}), trace "
        f"{alone:6.1f} ms, found {found:4.0f}, an entry found: asked "
        f"{asked / found:4.2f}, read {read / found:4.2f}"
    )
    return whole / found, alone / found


def one(big: Sprouting, tray: str, day: date) -> Row:
    """One trace, timed."""
    started = perf_counter()
    with Record.open(big.path) as record:
        setup = record.setup()
        farm = in_force(setup, now())
        opened = perf_counter()
        _, end = day_span(day, day, farm.zone)
        subject = subject_of(record, farm, tray, now(), day, day)
        found = trace(record, setup, subject, now())
        done = perf_counter()
    lines = list(_page(found))
    whole = perf_counter() - started
    if not lines or not found.sideways:
        raise AssertionError(f"nothing was found beside {tray} on {day} before {end}")
    count = len(found.entries) + len(found.others)
    cost = found.cost
    return whole * 1000, (done - opened) * 1000, cost.asked, cost.read, count


def main() -> None:
    """Build each size in a folder that is thrown away, and print the figures of all."""
    sizes = [int(word) for word in sys.argv[1:]] or SIZES
    with TemporaryDirectory() as folder:
        bigs = [Sprouting(Path(folder) / str(size), size) for size in sizes]
        for big in bigs:
            big.folder.mkdir()
            big.build()
        measured(bigs)


if __name__ == "__main__":
    main()
