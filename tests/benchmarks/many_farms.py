"""Many farms' exports, read by an engine that was made for it.

Run by hand: ``python tests/benchmarks/many_farms.py [--farms N]``; needs ``duckdb``.

Each simulated farm has a record of its own: 26 lots of four suppliers, 365 sowings of
12 trays, 3 of them mouldy in 8 % of batches. One delivery, sold to every fourth farm,
goes mouldy eight times as often. ``hygiene export`` writes each record's tables into a
folder; the query of the README, and no other, reads them all.

Printed: the size of it, the seconds of the query and of a bare count of the same rows,
and the place that the planted delivery has in the answer.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[2]))

from hygiene.book.record import Record
from hygiene.exchange.export import Wanted, to_tables
from hygiene.kinds.base import Kind
from hygiene.kinds.batch import Place, SeedShare, Sow
from hygiene.kinds.find import Mould
from hygiene.kinds.seed import Seed

FIRST = datetime(2031, 1, 1, 8, tzinfo=UTC)
SOWINGS = 365
SUPPLIERS = ("ALDER", "BIRCH", "CEDAR", "DAMSON")
BAD = ("CEDAR", "CD 31-077")
"""A delivery that goes mouldy eight times as often as others."""
RATE = 0.08


def query() -> str:
    """The SQL that the README gives, so that the two cannot differ."""
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    found = re.search(r"```sql\n(-- mould by delivery.*?)```", readme, re.DOTALL)
    if found is None:
        raise SystemExit("README.md gives no query that begins '-- mould by delivery'")
    return found[1]


def lots_of(farm: int, rng: random.Random) -> list[tuple[str, str]]:
    """Supplier and delivery of each of a farm's lots; deliveries go to many farms."""
    made = []
    for number in range(26):
        supplier = rng.choice(SUPPLIERS)
        made.append((supplier, f"{supplier[:2]} 31-{number * 4 + farm % 4:03d}"))
    if farm % 4 == 0:
        made[rng.randrange(26)] = BAD
    return made


def things(farm: int, rng: random.Random) -> Iterator[tuple[datetime, Kind]]:
    """What a farm writes down in a year: its lots, its sowings, its finds."""
    lots = lots_of(farm, rng)
    for number, (supplier, delivery) in enumerate(lots):
        at = FIRST + timedelta(days=14 * number - 1)
        yield (
            at,
            Seed(
                lot=f"L-{number}",
                supplier=supplier,
                supplier_lot=delivery,
                grams=240_000,
                accepted=True,
                untreated_seen_by="AB",
            ),
        )
    for day in range(SOWINGS):
        lot = min(2 * (day // 28) + day % 2, 25)
        at = FIRST + timedelta(days=day)
        places = tuple(
            Place(tray=f"T{n:03d}", rack=f"R{n % 3 + 1}") for n in range(1, 13)
        )
        shares = (SeedShare(lot=f"L-{lot}", grams=17_500),)
        yield at, Sow(batch=f"B-{day}", seeds=shares, places=places, line="L1")
        if rng.random() < RATE * (8 if lots[lot] == BAD else 1):
            trays = tuple(f"T{n:03d}" for n in rng.sample(range(1, 13), 3))
            yield at + timedelta(days=5), Mould(batch=f"B-{day}", trays=trays)


def export(folder: Path, farm: int, rng: random.Random) -> int:
    """Make a farm's record and its tables; how many entries it has."""
    moment = [FIRST]
    path, keys = folder / f"{farm}.db", folder / f"{farm}.keys"
    with Record.create(path, lambda: moment[0], keys) as record:
        with record.writing(lambda: moment[0], keys) as writing:
            for at, thing in sorted(things(farm, rng), key=lambda pair: pair[0]):
                moment[0] = at
                writing.add(thing, by="AB", happened_at=at)
        to_tables(record, folder / "farms" / f"farm{farm:03d}", Wanted())
        return record.count()


def main() -> None:
    import duckdb

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--farms", type=int, default=40)
    farms = parser.parse_args().farms
    with tempfile.TemporaryDirectory() as made:
        folder, rng = Path(made), random.Random(1)
        (folder / "farms").mkdir()
        started = perf_counter()
        entries = sum(export(folder, farm, rng) for farm in range(farms))
        built = perf_counter() - started
        size = sum(file.stat().st_size for file in folder.glob("farms/*/*"))
        with duckdb.connect() as db:
            db.execute(f"set file_search_path = '{folder}'")
            started = perf_counter()
            for table in ("seed", "sow_seeds", "sow", "mould"):
                db.execute(f"select count(*) from read_csv('farms/*/{table}.csv')")
            floor = perf_counter() - started
            started = perf_counter()
            rows = db.execute(query()).fetchall()
            took = perf_counter() - started
    print(f"{farms} farms, {entries} entries, {size / 1e6:.1f} MB of tables")
    print(f"made and exported in {built:.1f} s")
    print(f"query {took:.2f} s, counting the rows {floor:.2f} s: {took / floor:.1f}")
    place = next(n for n, row in enumerate(rows, 1) if tuple(row[:2]) == BAD)
    print(f"planted delivery {BAD[1]} of {BAD[0]}: place {place} of {len(rows)}")
    print(f"  first: {rows[0]}")
    print(f"  next:  {rows[1]}")


if __name__ == "__main__":
    main()
