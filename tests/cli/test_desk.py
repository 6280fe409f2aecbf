"""What most commands begin with: who did it, and when."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import timedelta

import pytest
from small_farm import WALK_LINE, SmallFarm

from hygiene.kinds.setup import Retire


@pytest.fixture
def left(shed: SmallFarm) -> SmallFarm:
    """AB, the manager, has left at noon; it is 14:00."""
    shed.later(hours=6)
    shed.write(lambda w: w.add(Retire(sort="person", code="AB"), by="CD"))
    shed.later(hours=2)
    return shed


def test_who_has_left_did_what_they_did_before(run, left: SmallFarm) -> None:
    """It can still be typed, and is judged by the training that they had."""
    words = ("--by", "ab", "--written-by", "CD")
    walked = run(
        "sign", "walk", *WALK_LINE, *words, "--at", "08:00", world=left.world()
    )
    floors = run("sign", "floors", *words, "--at", "11:30", world=left.world())
    assert (walked.exit_code, floors.exit_code) == (0, 0)
    assert "Written as" in walked.output


def test_who_has_left_does_nothing_any_more(run, left: SmallFarm) -> None:
    """Neither now, nor at a moment after they left, nor as the one who types."""
    for words in (
        ("--by", "AB"),
        ("--by", "AB", "--at", "13:00"),
        ("--by", "CD", "--written-by", "AB"),
    ):
        made = run("sign", "walk", *WALK_LINE, *words, world=left.world())
        assert made.exit_code == 4, words
        assert "nobody at this farm signs as 'AB'" in made.stderr


def test_who_came_later_is_still_known(run, shed: SmallFarm) -> None:
    """A moment before somebody was set up is no reason to refuse what they did."""
    shed.later(hours=2)
    early = f"{shed.now - timedelta(days=1):%Y-%m-%d} 08:00"
    words = ("pest", "rat", "--place", "seed store", "--by", "CD", "--at", early)
    assert run(*words, world=shed.world()).exit_code == 0


def test_a_clock_before_the_set_up_is_told_as_that(run, shed: SmallFarm) -> None:
    """A flat battery: the way out is the clock, not to set the farm up again."""
    shed.later(days=-20)
    found = run("mould", "R1", "--by", "AB", world=shed.world())
    assert found.exit_code == 7
    assert "clock says 10 February 2026, 06:00" in found.output
    assert "was set up on 02 March 2026" in found.output
    assert "set this device's clock" in found.output
    assert "set-up FARM.toml" not in found.output


def test_a_command_that_waits_for_another_says_so(shed: SmallFarm) -> None:
    """And goes on once the other one is done."""
    words = ("pest", "rat", "--place", "seed store", "--by", "CD")
    with closing(sqlite3.connect(shed.path, isolation_level=None)) as other:
        other.execute("begin immediate")
        with subprocess.Popen(
            [sys.executable, "-m", "hygiene", *words],
            env={**os.environ, **shed.world().environ},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        ) as waits:
            assert waits.stderr is not None
            assert "Another command is writing" in waits.stderr.readline()
            other.execute("rollback")
            assert waits.communicate()[0].startswith("Written as")
    assert waits.returncode == 0
