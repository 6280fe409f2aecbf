"""A year of each log, with and without its layout.

By hand, where nothing else runs: python tests/benchmarks/logs.py FARM.db

FARM.db is a record of a year, such as ``hygiene demo DIR`` makes. It prints, for each
log, the processor's own seconds to read and put together the page, to lay it out and
write the archive file, and the pages and attached rows; first of all what an empty page
costs, as a floor. The bar: a year in under 2 s beside the floor.
"""

from __future__ import annotations

import io
import sys
from datetime import timedelta
from pathlib import Path
from time import process_time

import pypdf

from hygiene.book.record import Record
from hygiene.farm.in_force import in_force
from hygiene.kinds.moments import moment_of
from hygiene.reports import paper
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.period import Period

LOGS = (
    "dosing", "water", "seed", "batches", "feeding", "mould", "actions", "training",
    "calibration", "pests", "visitors",
)  # fmt: skip
BAR_S = 2.0
EMPTY = "<!doctype html><html lang=en><title>Empty</title><p>Nothing</p></html>"


def main(path: Path) -> None:
    with Record.open(path) as record:
        last = record.entry(str(record.heads()[0]).partition(":")[0])
        zone = in_force(record.setup(), moment_of(last.recorded_at)).zone
    now = moment_of(last.recorded_at).astimezone(zone)
    period = Period(now.date() - timedelta(days=364), now.date())
    began = process_time()
    paper.pdf(EMPTY, now)
    print(f"floor: the engine is loaded and an empty page made in {_since(began)} s")
    print(f"{'log':<12} {'read':>6} {'layout':>7} {'all':>6}  pages   rows")
    for name in LOGS:
        report = REPORTS[name]
        began = process_time()
        with Record.open(path) as record:
            page = report.page(report.read(record, period, now))
        read = process_time() - began
        content = paper.pdf(paper.html(report.laid_out_by, page), now, page.attached)
        whole = process_time() - began
        pages = len(pypdf.PdfReader(io.BytesIO(content)).pages)
        rows = sum(
            file.content.count(b"\r\n") - 1
            for file in page.attached
            if file.name.endswith(".csv")
        )
        over = "" if whole <= BAR_S else f"  over {BAR_S:g} s"
        print(
            f"{name:<12} {read:6.2f} {whole - read:7.2f} {whole:6.2f} {pages:6} "
            f"{rows:6}{over}"
        )


def _since(began: float) -> str:
    return f"{process_time() - began:.2f}"


if __name__ == "__main__":
    main(Path(sys.argv[1]))
