"""A small shed that sprouts: trays, racks, a line, a supplier, animals, a buyer."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from small_farm import THINGS, SmallFarm

from hygiene.acts import batches, finds, leaving, seed
from hygiene.acts.how import How
from hygiene.book.record import Record
from hygiene.kinds.batch import Discard, Dispatch, Feed, Place, Sample, SeedShare
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Mould
from hygiene.kinds.setup import (
    Animals,
    Buyer,
    Contact,
    Farm,
    Line,
    Rack,
    Room,
    Supplier,
    Tank,
    Tray,
)

FORCED = How("AB", reason="washed, not written down yet")
MORE = (
    Farm(
        name="Low Meadow",
        address="1 Mill Lane",
        time_zone="Europe/London",
        contacts=(
            Contact(role="vet", name="E. Ash", telephone="01632 960001"),
            Contact(role="authority", name="Feed Office", telephone="01632 960002"),
        ),
    ),
    Room(code="DARK", name="Germination room"),
    Rack(code="R3", room="DARK", levels=3),
    Tray(code="T001..T040"),
    Tank(code="K1", name="Tank", volume_l=200),
    Line(code="L1", name="Line", tank="K1", room="GROW"),
    Line(code="L2", name="Other line", room="DARK"),
    Supplier(code="ALDER", name="Alder Seeds", address="2 Mill Lane"),
    Buyer(
        code="HOLLOW", name="Hollow Farm", address="3 Mill Lane",
        telephone="01632 960003",
    ),
    Animals(code="EWES", name="Ewes", species="sheep", head=40, produces=("lamb",)),
    Animals(code="GOATS", name="Goats", species="goat", head=20, produces=("milk",)),
)  # fmt: skip


@dataclass
class SproutFarm(SmallFarm):
    """Acts in a word each, so that a test reads like the story that it tells."""

    def act(self, made: Any) -> Any:
        found = self.write(made)
        self.later(minutes=2)
        return found

    def lot(self, grams: int = 100_000, **described: Any) -> str:
        said = {"supplier_lot": "AF/1", "untreated_seen_by": "AB", **described}
        made = self.act(
            lambda w: seed.receive(
                w, self.in_force(), How("AB"), supplier="ALDER", grams=grams, **said
            )
        )
        return str(made.seed.get("lot"))

    def sow(
        self,
        *seeds: tuple[str, int],
        trays: range = range(1, 5),
        rack: str | None = "R1",
        line: str | None = "L1",
        how: How = FORCED,
    ) -> batches.Sown:
        shares = tuple(SeedShare(lot=lot, grams=grams) for lot, grams in seeds)
        places = tuple(Place(tray=tray(n), rack=rack) for n in trays)
        return self.act(
            lambda w: batches.sow(
                w, self.in_force(), how, seeds=shares, places=places, line=line
            )
        )

    def batch(self, **how: Any) -> str:
        """A batch of a good lot of its own."""
        return str(self.sow((self.lot(), 6_000), **how).sow.get("batch"))

    def feed(self, batch: str, *numbers: int, **said: Any) -> leaving.Left:
        thing = Feed(
            batch=batch,
            trays=tuple(map(tray, numbers)),
            animals=said.pop("to", "EWES"),
            grams=said.pop("grams", 7_000),
            look_ok=said.pop("look_ok", True),
            smell_ok=said.pop("smell_ok", True),
        )
        how = said.pop("how", How("AB"))
        return self.act(lambda w: leaving.feed(w, self.in_force(), thing, how))

    def send(self, batch: str, *numbers: int, **said: Any) -> leaving.Left:
        thing = Dispatch(
            batch=batch,
            trays=tuple(map(tray, numbers)),
            buyer="HOLLOW",
            grams=7_000,
            look_ok=True,
            smell_ok=True,
            **said,
        )
        return self.act(
            lambda w: leaving.dispatch(w, self.in_force(), thing, How("AB"))
        )

    def discard(self, batch: str, *numbers: int, **said: Any) -> leaving.Left:
        thing = Discard(
            batch=batch,
            trays=tuple(map(tray, numbers)),
            grams=7_000,
            why="mould",
            route="burnt",
            **said,
        )
        return self.act(lambda w: leaving.discard(w, thing, How("AB")))

    def sample(self, batch: str, **said: Any) -> leaving.Left:
        thing = Sample(batch=batch, frozen_at="freezer", why="mould", **said)
        return self.act(lambda w: leaving.sample(w, thing, How("AB")))

    def mould(self, batch: str | None = None, **said: Any) -> finds.Found:
        thing = Mould(batch=batch, **said)
        return self.act(
            lambda w: finds.find_mould(w, self.in_force(), thing, How("AB"))
        )

    def read(self, ask: Any) -> Any:
        with Record.open(self.path) as record:
            return ask(record)

    def entries(self, kind: str) -> list[Entry]:
        return list(self.read(lambda record: record.entries([kind])))


def tray(number: int) -> str:
    return f"T{number:03}"


def build_sprouts(folder: Path) -> SproutFarm:
    farm = SproutFarm(folder)
    with (
        Record.create(farm.path, farm.clock, farm.keys) as record,
        record.writing(farm.clock, farm.keys) as writing,
    ):
        for thing in (*THINGS, *MORE):
            writing.add(thing, by="AB")
    farm.later(minutes=5)
    return farm
