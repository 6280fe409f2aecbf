"""Answers on one line for several tasks: each goes to the task that it is for."""

from __future__ import annotations

import pytest

from hygiene.rota.signing import Ask, NoSuchStep, WhichTask, share_out

TASKS = {
    "walk": [Ask({"code": "smell"}), Ask({"code": "mould", "safety": True}, "R1")],
    "feed": [Ask({"code": "smell"}), Ask({"code": "bucket"})],
}


def test_an_answer_goes_to_the_task_that_asks_for_it() -> None:
    """Bare where only one has the step, and with its rack."""
    given = [("bucket", "yes"), ("mould.R1", "0")]
    assert share_out(TASKS, given) == {
        "walk": {"mould.R1": "0"},
        "feed": {"bucket": "yes"},
    }


def test_an_answer_may_name_its_task() -> None:
    """In any case, and what was done as well."""
    given = [("WALK.smell", "no"), ("walk.smell.did", "aired"), ("feed.smell", "yes")]
    assert share_out(TASKS, given) == {
        "walk": {"smell": "no", "smell.did": "aired"},
        "feed": {"smell": "yes"},
    }


def test_an_answer_that_two_tasks_want_is_not_guessed() -> None:
    """It says how to name the task."""
    with pytest.raises(WhichTask, match=r"walk and feed: write walk\.smell=ANSWER"):
        share_out(TASKS, [("smell", "yes")])


@pytest.mark.parametrize("key", ["mould", "zork", "feed.mould.R1", ".did", "walk."])
def test_what_no_task_asks_is_refused(key: str) -> None:
    """A safety step is never answered for all racks at once."""
    with pytest.raises(NoSuchStep):
        share_out(TASKS, [(key, "0")])
