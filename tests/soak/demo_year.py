"""The whole year of the demonstration, ending on any days: built, verified, read.

By hand: python tests/soak/demo_year.py [LAST ...]   (dates; else three of them)

For each it prints how long the build took and how many entries it made, and checks
that the record verifies, that every planted trouble is found in it, that seed, trays
and sanitiser balance but for the planted gap, that only what is planted bears a mark,
that nothing else is left open or unexplained, and that ``hygiene ready`` finds all that
an inspector would, and nothing else.
"""

from __future__ import annotations

import sys
from collections import Counter
from datetime import date, datetime, time, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

sys.path.insert(0, str(Path(__file__).parents[1] / "demo_farm"))

import parts_of_a_year as parts
import test_inspector as inspector
import test_planted as planted
import test_shed_of_a_year as shed

from hygiene.book.record import Record
from hygiene.book.verify import faults
from hygiene.kinds.moments import zone_of
from hygiene.rota.schedule import read_rota

LASTS = ("2026-11-25", "2027-01-03", "2027-07-18")


def look(last: date, folder: Path) -> None:
    until = datetime.combine(last, time(8, 45), zone_of("Europe/London"))
    for module in (parts, planted, shed, inspector):
        module.UNTIL, module.LAST = until, last
    wall, cpu = perf_counter(), process_time()
    chance = parts.year.build(folder / "farm.db", folder / "keys", parts.FARM, until)
    path = folder / "farm.db"
    wall, cpu = perf_counter() - wall, process_time() - cpu
    with Record.open(path) as record:
        part = parts.Part(path, record, read_rota(record.setup()))
        assert faults(record) == []
        for each in planted.PLANTED:
            assert planted.FINDERS[each.sort](planted.Look(part, each)), each
        states = part.states(last - timedelta(days=364), last)
        gaps = [s for s in states if s.status in ("gap", "overdue")]
        assert len(gaps) == len(record.unanswered("action", "close")) == 1
        assert record.unanswered("hold", "release") == []
        shed.test_seed_and_trays_add_up_but_for_the_planted_gap(part)
        shed.test_all_that_was_drawn_came_out_of_a_can(part)
        shed.test_every_kit_was_in_date_whenever_it_was_used(part)
        shed.test_nothing_grows_while_the_shed_stops(part)
        looked = perf_counter()
        found = inspector.found(part, last - timedelta(days=364), last, until)
        looked = perf_counter() - looked
        expected = {each.key(last) for each in inspector.TO_FIND}
        assert found == expected | {(rule, day) for day, rule in chance}, (
            found ^ expected
        )
        count = record.count()
        whole = shed.all_of_days(record, until - timedelta(days=400), until, until)
        cans = shed.containers_since(record, None).values()
    print(f"{last}: {count:,} entries in {wall:.1f} s ({cpu:.1f} s of it computing)")
    print(f"  {dict(Counter(state.status for state in states))}")
    print(f"  {len(found)} things that an inspector would find, in {looked:.1f} s")
    seed = sum(lot.received for lot in whole.seed)
    print(f"  {len(whole.seed)} lots, {seed:,} g of seed; {len(whole.trays)} batches")
    for name in ("size", "drawn", "lost", "left"):
        print(f"  {name} {sum(getattr(can, name) for can in cans):,} tenths of a ml")


def main() -> None:
    for last in sys.argv[1:] or LASTS:
        with TemporaryDirectory() as folder:
            look(date.fromisoformat(last), Path(folder))


if __name__ == "__main__":
    main()
