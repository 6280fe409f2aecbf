"""A full disk, a locked file, a damaged page: one line, its code, the way out.

Each fault meets one command that reads and two that write, another for each; every
fault with every command is run by hand from tests/soak/faults.py.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from dose_farm import DoseFarm
from faults_of_disk import FAULTS, READ, WRITE, Fault, scene, suffered

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="a child is forked")


@pytest.fixture(scope="module")
def ready(built_doses: DoseFarm, tmp_path_factory: pytest.TempPathFactory) -> DoseFarm:
    return scene(built_doses, tmp_path_factory.mktemp("faults") / "ready")


@pytest.mark.parametrize("number", range(len(FAULTS)))
def test_a_fault_is_one_line_with_its_code_and_nothing_half_written(
    ready: DoseFarm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """The record keeps every byte, and no file is left lying about."""
    monkeypatch.setattr("hygiene.book.record.WAIT_MS", 50)
    fault: Fault = FAULTS[number]
    reads, writes = list(READ), list(WRITE)
    names = (
        "today" if "today" in fault.tells else reads[number % len(reads)],
        writes[number % len(writes)],
    )
    wrong = [suffered(ready, tmp_path / "farm", fault, name) for name in names]
    assert wrong == [None, None]
