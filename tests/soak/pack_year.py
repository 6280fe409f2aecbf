"""The pack of the demonstration's year, made twice and looked at as a file.

By hand: python tests/soak/pack_year.py [RECORD]   (else the year is built first)

It prints the pages, the size and the time, and whether the file passes the validator
(page-validation, PDF/A-3a and PDF/UA-1) and ``qpdf --check`` where that is installed;
whether both files have the same bytes; whether the entries inside are lines of the
record, and the tables inside have a row for each entry of their kind.
"""

from __future__ import annotations

import csv
import io
import os
import shutil
import subprocess
import sys
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1] / "reports"))
sys.path.insert(0, str(Path(__file__).parents[1]))

from pdf_checks import faults, files
from pypdf import PdfReader

from hygiene.book.record import Record
from hygiene.kinds.moments import moment_of

RUN = "from hygiene.cli import main; main()"
TABLES = {
    "doses": "dose", "sow": "sow", "feed": "feed", "dispatch": "dispatch",
    "mould": "mould", "sample": "sample", "calibrate": "calibrate", "pest": "pest",
}  # fmt: skip
"""The tables that have a row for each entry of a kind."""


def hygiene(*words: str) -> None:
    """Run a command as a user does."""
    made = subprocess.run([sys.executable, "-c", RUN, *words], stdout=subprocess.PIPE)
    if made.returncode not in (0, 3):
        raise SystemExit(f"{words} ended with {made.returncode}")


def look(path: Path, folder: Path) -> bool:
    """Make the pack of the year up to the record's end twice, and look at it."""
    with Record.open(path) as record:
        (head,) = record.heads()[:1]
        end = moment_of(record.entry(f"{head.book}/{head.seq}").recorded_at)
    last = end.date()
    first = last - timedelta(days=364)
    moment = f"{datetime(last.year, last.month, last.day) + timedelta(days=1):%Y-%m-%d}"
    words = ["report", "pack", "--record", str(path), "--printed-at", f"{moment} 12:00"]
    words += ["--from", str(first), "--to", str(last), "--out"]
    made = []
    for number in (1, 2):
        started = perf_counter()
        hygiene(*words, str(folder / f"pack-{number}.pdf"))
        took = perf_counter() - started
        made.append((folder / f"pack-{number}.pdf").read_bytes())
    content = made[0]
    pages = len(PdfReader(io.BytesIO(content)).pages)
    print(
        f"{first} to {last}: {pages} pages, {len(content) / 1e6:.2f} MB, {took:.1f} s"
    )
    told = {
        "the same bytes twice": made[0] == made[1],
        "PDF/A-3a and PDF/UA-1": _none(faults(content)),
        "qpdf --check": _qpdf(folder / "pack-1.pdf"),
        "entries and tables are the record's": _none(_differs(path, content)),
    }
    for what, fine in told.items():
        print(f"  {what}: {'yes' if fine else 'NO'}")
    return all(told.values())


def _none(found: list[str]) -> bool:
    for each in found[:10]:
        print(f"    {each}")
    return not found


def _qpdf(path: Path) -> bool:
    found = shutil.which("qpdf")
    if found is None:
        print("    qpdf is not installed here")
        return True
    return subprocess.run([found, "--check", path], capture_output=True).returncode == 0


def _differs(path: Path, content: bytes) -> list[str]:
    """What the file holds that the record does not, or leaves out."""
    inside = files(content)
    with Record.open(path) as record:
        lines = {row for (row,) in record.db.execute("select line from entry")}
        kinds = {
            kind: {e.first for e in record.all_versions([kind])}
            for kind in TABLES.values()
        }
    carried = next(v[0] for k, v in inside.items() if k.endswith(".jsonl"))
    odd = [f"not in the record: {line[:60]}" for line in carried.decode().splitlines()
           if line not in lines]  # fmt: skip
    for name, [table] in inside.items():
        kind = TABLES.get(name.partition("-20")[0])
        if kind and name.endswith(".csv"):
            rows = list(csv.DictReader(io.StringIO(table.decode())))
            odd += [f"{name}: {r['entry']}" for r in rows if r["entry"] not in lines
                    and r["entry"] not in kinds[kind]]  # fmt: skip
            print(f"    {name}: {len(rows)} rows of {len(kinds[kind])} {kind} entries")
    return odd


def main(given: list[str]) -> None:
    """Build the year if no record is named."""
    with TemporaryDirectory() as folder:
        os.environ["HYGIENE_KEYS"] = str(Path(folder) / "keys")
        os.environ.pop("HYGIENE_BY", None)
        if not given:
            hygiene("demo", folder)
            given = [str(Path(folder) / "farm.db")]
        sys.exit(not all(look(Path(path), Path(folder)) for path in given))


if __name__ == "__main__":
    main(sys.argv[1:])
