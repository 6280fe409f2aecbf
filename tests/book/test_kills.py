"""An acknowledged line is there for ever, once, whoever was killed or wrote meanwhile.

A seeded share; the full counts are run by hand from tests/soak.
"""

from __future__ import annotations

from random import Random

from kills import append_under_fire, start
from shed import Shed


def places(shed: Shed) -> list[str]:
    with shed.to_read() as record:
        return sorted(e.get("place") for e in record.all_versions(["pest"]))


def test_a_writer_that_is_killed_loses_and_doubles_nothing(shed: Shed):
    """kill -9 at random moments: it verifies, and holds each entry just once."""
    done = append_under_fire(shed.path, shed.keys, 8, Random(7))
    assert done.kills > 0
    assert done.acknowledged == list(range(8))
    assert places(shed) == sorted(f"bay {n}" for n in range(8))
    assert shed.faults() == []
    assert len(shed.heads()) == 1


def test_two_that_write_at_once_lose_nothing(shed: Shed):
    """Each waits for the other, and neither sees an error."""
    drivers = [start(shed.path, shed.keys, 100 * n, 20) for n in range(2)]
    for place, driver in enumerate(drivers):
        said, _ = driver.communicate(timeout=60)
        assert driver.returncode == 0
        assert said.split() == [str(100 * place + n) for n in range(20)]
    assert len(places(shed)) == 40
    assert len(set(places(shed))) == 40
    assert shed.faults() == []
    assert len(shed.heads()) == 1
