"""A year of dosing from cans that are opened, emptied, spilled: does it balance?

Run by hand: python tests/soak/dose_year.py [DAYS]. It prints what it wrote, whether
received = drawn + lost + left for every can to the tenth of a millilitre, and how long
the page of the day takes to say which trays are clean.
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from time import perf_counter
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from dose_farm import AB, DoseFarm, build_doses, tray  # noqa: E402

from hygiene.acts import batches, containers, dosing, leaving, seed, store  # noqa: E402
from hygiene.acts.against_dosing import Case  # noqa: E402
from hygiene.acts.how import How  # noqa: E402
from hygiene.kinds.batch import Feed, Place, SeedShare  # noqa: E402
from hygiene.kinds.sanitising import Drawn, Lost  # noqa: E402
from hygiene.kinds.setup import Kit  # noqa: E402
from hygiene.sanitising.containers import balance  # noqa: E402

SIZE = 50_000
LOW = 2_000
A_DAY = 4
GROWING_DAYS = 7


def main(days: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        year = Year(build_doses(Path(folder)))
        for day in range(days):
            year.live(day)
        with year.farm.open() as record:
            held = store.containers_since(record, None)
            count, drawn = record.count(), sum(c.drawn for c in held.values())
        lost = sum(c.lost for c in held.values())
        left = sum(c.left for c in held.values())
        print(f"{days} days, {count} entries, {year.doses} doses, {len(held)} cans")
        print(f"received {len(held) * SIZE}, drawn {drawn}, lost {lost}, left {left}")
        assert drawn == year.drawn
        assert lost == year.lost
        assert len(held) * SIZE == drawn + lost + left
        assert balance(held.values()) == []
        print("balances to the tenth of a millilitre")
        print_page(year.farm)


class Year:
    """The shed and what was counted beside its record."""

    def __init__(self, farm: DoseFarm) -> None:
        self.farm = farm
        # the data sheet is not looked at again, and cans stand open for long
        farm.setting(on_stale_sds="warn", on_expired="warn")
        strips = Kit(code="QS", name="Strips", sort="strip")
        farm.act(lambda writing: writing.add(strips, by="AB"))
        self.in_force = farm.in_force()
        self.chance = random.Random(20260302)
        self.growing: list[tuple[str, list[int]]] = []
        self.can, self.left = "", 0
        self.doses = self.drawn = self.lost = 0

    def live(self, day: int) -> None:
        """One day in one transaction: feed, dose, sow."""
        if self.left < LOW:
            self.can, self.left = self.farm.can(tenth_ml=SIZE), SIZE
        trays = [1 + (A_DAY * day + n) % 40 for n in range(A_DAY)]
        self.farm.write(lambda writing: self._work(writing, trays))
        self.farm.later(days=1)

    def _work(self, writing: Any, trays: list[int]) -> None:
        if len(self.growing) == GROWING_DAYS:
            feed(writing, self.in_force, *self.growing.pop(0))
        self._dose(writing, trays)
        if self.chance.random() < 0.1:
            spilled = self.chance.randint(1, 300)
            lost = Lost(container=self.can, tenth_ml=spilled, why="spilled")
            containers.lose(writing, lost, AB)
            self.lost += spilled
            self.left -= spilled
        self.growing.append((sow(writing, self.in_force, trays), trays))

    def _dose(self, writing: Any, trays: list[int]) -> None:
        setup, began = writing.record.setup(), self.farm.now - timedelta(hours=1)
        thing = self.farm.thing(*trays, at=began)
        case = Case(writing.record, setup, self.in_force, thing, "AB", self.farm.now)
        plan, _ = dosing.plan_dose(case, [self.can])
        amount = plan.planned + self.chance.randint(-20, 20)
        thing = replace(thing, drawn=(Drawn(container=self.can, tenth_ml=amount),))
        done = dosing.dose(writing, setup, self.in_force, thing, How("AB", began))
        assert all(made.cleared for made in done.trays.values()), done
        self.doses += 1
        self.drawn += amount
        self.left -= amount


def sow(writing: Any, in_force: Any, trays: list[int]) -> str:
    lot = seed.receive(
        writing, in_force, AB, supplier="ALDER", supplier_lot=f"AF/{writing.head.seq}",
        grams=6_000, untreated_seen_by="AB",
    ).seed.get("lot")  # fmt: skip
    made = batches.sow(
        writing,
        in_force,
        How("AB"),
        seeds=(SeedShare(lot=lot, grams=6_000),),
        places=tuple(Place(tray=tray(n), rack="R1") for n in trays),
        line="L1",
    )
    return str(made.sow.get("batch"))


def feed(writing: Any, in_force: Any, batch: str, trays: list[int]) -> None:
    thing = Feed(
        batch=batch, trays=tuple(map(tray, trays)), animals="EWES", grams=28_000,
        look_ok=True, smell_ok=True,
    )  # fmt: skip
    leaving.feed(writing, in_force, thing, AB)


def print_page(farm: DoseFarm) -> None:
    with farm.open() as record:
        setup, in_force = record.setup(), farm.in_force()
        took = []
        for _ in range(20):
            start = perf_counter()
            found = store.store_now(record, setup, in_force, farm.now)
            took.append(1000 * (perf_counter() - start))
    print(
        f"trays, lines and cans of the page: median {statistics.median(took):.1f} ms, "
        f"least {min(took):.1f} ms ({len(found.trays.waiting)} trays waiting)"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 365)
