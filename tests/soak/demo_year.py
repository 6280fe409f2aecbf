"""The whole year of the demonstration, ending on any days: built, verified, read.

By hand: python tests/soak/demo_year.py [LAST ...]   (dates; else three of them)

For each it prints how long the build took and how many entries it made, and checks
that the record verifies, that every planted trouble is found in it, and that nothing
else is left open or unexplained.
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
import test_planted as planted

from hygiene.book.record import Record
from hygiene.book.verify import faults
from hygiene.kinds.moments import zone_of
from hygiene.rota.schedule import read_rota

LASTS = ("2026-11-25", "2027-01-03", "2027-07-18")


def look(last: date, folder: Path) -> None:
    until = datetime.combine(last, time(8, 45), zone_of("Europe/London"))
    for module in (parts, planted):
        module.UNTIL, module.LAST = until, last
    wall, cpu = perf_counter(), process_time()
    path = parts.build(folder, 365)
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
        count = record.count()
    print(f"{last}: {count:,} entries in {wall:.1f} s ({cpu:.1f} s of it computing)")
    print(f"  {dict(Counter(state.status for state in states))}")


def main() -> None:
    for last in sys.argv[1:] or LASTS:
        with TemporaryDirectory() as folder:
            look(date.fromisoformat(last), Path(folder))


if __name__ == "__main__":
    main()
