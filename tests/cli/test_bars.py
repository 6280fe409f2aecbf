"""The small bar of days beneath ``hygiene today``."""

from __future__ import annotations

import json

from small_farm import WALK_LINE, SmallFarm


def test_a_week_is_one_sign_a_day(run, shed: SmallFarm) -> None:
    """Done, done late and nothing written are told apart without colour."""
    shed.later(hours=1)
    run("sign", "walk", *WALK_LINE, "--by", "AB", world=shed.world())
    shed.later(days=2)
    late = ("--on", "2026-03-03", "--reason", "wrote it on paper")
    run("sign", "walk", *WALK_LINE, *late, "--by", "AB", world=shed.world())
    page = run("today", "--week", world=shed.world()).output
    (walk,) = [line for line in page.splitlines() if line.startswith("walk")]
    assert walk.split()[-6:-4] == ["#", "+"]
    assert "done late" in page


def test_a_month_fits_forty_columns(run, shed: SmallFarm) -> None:
    """Four weeks stand in a line that a telephone shows."""
    page = run("today", "--month", world=shed.world()).output
    assert max(map(len, page.splitlines())) <= 40
    assert "_  still to do" in page


def test_a_program_reads_the_bars(run, shed: SmallFarm) -> None:
    """Each task has its statuses by day."""
    made = json.loads(run("today", "--week", "--json", world=shed.world()).output)
    walk = next(task for task in made["tasks"] if task["task"] == "walk")
    assert walk["days"]["2026-03-02"] == ["not yet"]
