"""A full disk, a locked file, a damaged page: one line, its code, the way out.

Each fault meets one command that reads and two that write, another for each; every
fault with every command is run by hand from tests/soak/faults.py.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from dose_farm import DoseFarm
from faults_of_disk import FAULTS, READ, WRITE, Fault, scene, suffered
from killing import FARM

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


FARM_OF = FARM.replace("Europe/London", "{}")


@pytest.mark.parametrize(
    ("zone", "hour"), [("Pacific/Auckland", "19:06"), ("America/St_Johns", "02:36")]
)
def test_a_farm_whose_zone_was_changed_reads_what_was_written_before(
    doses: DoseFarm, run, zone: str, hour: str
) -> None:
    """It is said as a change; from then on the day is the new zone's."""
    world = doses.world()
    world = world._replace(environ={**world.environ, "HYGIENE_BY": "AB"})
    run("pest", "rat", "--place", "bay", world=world)
    doses.later(minutes=1)
    (doses.folder / "FARM.toml").write_text(FARM_OF.format(zone))
    (doses.folder / "checklists").mkdir()
    done = run("set-up", doses.folder / "FARM.toml", "--yes", world=world)
    assert f"time zone from Europe/London to {zone}" in done.output
    assert hour in run("today", world=world).output.splitlines()[0]
    assert "pest" in run("log", "--from", "2026-03-01", world=world).output
    assert run("verify", world=world).exit_code == 0


@pytest.mark.parametrize("zone", ["Nowhere/None", "../../etc/passwd", "", "UTC+1"])
def test_a_zone_that_is_none_is_said_with_its_line(
    doses: DoseFarm, run, zone: str
) -> None:
    """Exit code 8, the file, the line and the key."""
    (doses.folder / "FARM.toml").write_text(FARM_OF.format(zone))
    done = run("set-up", doses.folder / "FARM.toml", "--yes", world=doses.world())
    assert done.exit_code == 8
    assert "FARM.toml line 5, farm.time_zone: there is no time zone" in done.stderr


def test_nothing_is_restored_in_the_place_of_a_device_or_a_pipe(
    doses: DoseFarm, run
) -> None:
    """It would be moved aside, and a file put where a device was."""
    os.mkfifo(doses.folder / "pipe")
    (doses.folder / "link").symlink_to("pipe")
    for place in ("pipe", "link"):
        done = run("restore", doses.path, "--record", doses.folder / place)
        assert (done.exit_code, "no plain file" in done.stderr) == (2, True)
    assert (doses.folder / "pipe").is_fifo()


def test_a_linked_record_is_replaced_where_it_lies(doses: DoseFarm, run) -> None:
    """The link still points to the record after it was restored."""
    (doses.folder / "disk").mkdir()
    there = doses.folder / "disk" / "farm.db"
    there.write_bytes(b"spoilt" * 999)
    (doses.folder / "link.db").symlink_to(there)
    done = run("restore", doses.path, "--record", doses.folder / "link.db")
    assert done.exit_code == 0, done.output
    assert (doses.folder / "link.db").is_symlink()
    assert run("verify", "--record", there).exit_code == 0
