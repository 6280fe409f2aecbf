"""A record of every version that ever was is read as it was written, for ever.

``fixtures/version-N.db`` was made by the program when N was its version: a small farm
with two books, finds, holds, a release, a correction, a strike and a kept paper. Beside
it stand its lines and what is read of them. None of these files is ever made anew; a
raised version adds its own.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from shed import Shed, rat

from hygiene.book.record import VERSION, Record
from hygiene.book.verify import damage, faults

FIXTURES = Path(__file__).with_name("fixtures")
VERSIONS = range(1, VERSION + 1)


@pytest.fixture(params=VERSIONS, ids=lambda n: f"version {n}")
def kept(request: pytest.FixtureRequest, tmp_path: Path) -> Shed:
    """A copy of the record of a version, as an earlier one than this program's."""
    shutil.copy(FIXTURES / f"version-{request.param}.db", tmp_path / "farm.db")
    shed = Shed(tmp_path / "farm.db", tmp_path / "keys")
    if request.param == VERSION:
        # its layout may lack kinds that came before the first release: as of a
        # version before it, it goes through the same steps as any older one
        with shed.plain() as db:
            db.execute(f"pragma user_version = {VERSION - 1}")
    return shed


@pytest.fixture
def told(request: pytest.FixtureRequest, kept: Shed) -> dict[str, Any]:
    """What must be read of it."""
    number = request.node.callspec.params["kept"]
    made: dict[str, Any] = json.loads(
        (FIXTURES / f"version-{number}.json").read_text("utf-8")
    )
    text = (FIXTURES / f"version-{number}.jsonl").read_text("utf-8")
    return {**made, "lines": text.splitlines()}


def reads(record: Record, told: dict[str, Any]) -> dict[str, Any]:
    rows = record.db.execute("select line from entry order by book, seq").fetchall()
    files = record.db.execute("select sha256 from attachment").fetchall()
    return {
        "heads": [str(head) for head in record.heads()],
        "stands": {k: [e.name for e in record.entries([k])] for k in told["stands"]},
        "open_holds": [e.name for e in record.unanswered("hold", "release")],
        "names": {c: [e.name for e in record.mentioning(c)] for c in told["names"]},
        "files": [digest for (digest,) in files],
        "lines": [line for (line,) in rows],
    }


def test_it_is_read_as_it_is(kept: Shed, told: dict[str, Any]) -> None:
    """A reader changes no byte of it."""
    before = kept.path.read_bytes()
    with kept.to_read() as record:
        assert reads(record, told) == told
        assert damage(record) == []
    assert kept.path.read_bytes() == before


def test_it_is_upgraded_and_reads_the_same(kept: Shed, told: dict[str, Any]) -> None:
    """Not a line changes, and it verifies with this version's layout."""
    kept.to_write().close()
    with kept.to_read() as record:
        assert record.version() == VERSION
        assert reads(record, told) == told
        assert faults(record) == []


def test_it_is_written_on_afterwards(kept: Shed, told: dict[str, Any]) -> None:
    """In a book of this device's own."""
    (entry,) = kept.write(rat("bay 1"))
    assert entry.book not in {head.partition("/")[0] for head in told["heads"]}
    assert kept.faults() == []
