"""``drill``: both ways against the clock, kept, and asked for once a year."""

from __future__ import annotations

import json
from datetime import timedelta
from itertools import count
from pathlib import Path

import pytest
from bad_batch import BadBatch, bad_batch, copied
from dose_farm import build_doses


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> BadBatch:
    story = bad_batch(build_doses(tmp_path_factory.mktemp("drill")))
    story.farm.feed(story.mate, 9, 10)
    story.farm.send(story.mate, 11, document="DN 4")
    return story


@pytest.fixture
def story(lived: BadBatch, tmp_path: Path) -> BadBatch:
    return copied(lived, tmp_path)


@pytest.fixture
def hygiene(run, story: BadBatch):
    def invoke(*words: str, asks: bool = False, given: str | None = None):
        return run(*words, world=story.farm.world(asks=asks), given=given)

    return invoke


def typed(went: str, came: str) -> list[str]:
    return [
        "--went-to", went, "--went-seconds", "95", "--came-from", came,
        "--came-seconds", "60", "--by", "AB",
    ]  # fmt: skip


def test_without_answers_it_asks_and_writes_nothing(hygiene, story: BadBatch) -> None:
    """In a pipe: the two questions, and how to answer."""
    made = hygiene("drill", story.lots[0])
    assert made.exit_code == 0
    assert f"got fodder of lot {story.lots[0]}?" in made.output
    assert "Nothing was written." in made.output
    assert story.farm.entries("drill") == []
    assert "EWES" not in made.output.split("2. ")[0], "the answer is not given away"


def test_the_questions_are_json_too(hygiene, story: BadBatch) -> None:
    """``--json`` never prints anything else."""
    made = json.loads(hygiene("drill", story.lots[0], "--json").output)
    assert made["lot"] == story.lots[0]
    assert len(made["questions"]) == 2


def test_both_ways_found_are_kept_with_both_times(hygiene, story: BadBatch) -> None:
    """The person's seconds and the record's milliseconds."""
    made = hygiene(
        "drill", story.lots[0].lower(), *typed("hollow, ewes", story.lots[0])
    )
    assert made.exit_code == 0, made.output
    (entry,) = story.farm.entries("drill")
    assert entry.get("code") == story.lots[0]
    assert entry.get("adds_up") is True
    assert [
        (w["way"], w["seconds"], w["found_count"], w["right_count"])
        for w in entry.get("ways")
    ] == [("forward", 95, 2, 2), ("back", 60, 1, 1)]


def test_it_prints_what_an_inspector_asks_for(hygiene, story: BadBatch) -> None:
    """Name and address, nature, quantity and date of both steps, and the sums."""
    page = hygiene("drill", story.lots[0], *typed("HOLLOW,EWES", story.lots[0])).output
    page = " ".join(page.split())
    for said in (
        "ALDER, Alder Seeds, 2 Mill Lane, 100 kg; their lot AF/2214; note 118",
        f"{story.mate}: 7 kg sent to HOLLOW, Hollow Farm, 3 Mill Lane, 01632 960003",
        "seed: 100 kg received = 10 kg sown + 0 kg scrapped or sampled + 90 kg in st",
        "trays: 8 sown = 2 fed + 1 sent + 5 growing",
        "178/2002 Article 18",
    ):
        assert said in page, said


def test_what_was_missed_or_wrong_opens_an_action(hygiene, story: BadBatch) -> None:
    """Exit 3, named in the entry for ever."""
    made = hygiene("drill", story.lots[0], *typed("EWES,COWS", story.lots[0]))
    assert made.exit_code == 3
    (entry,) = story.farm.entries("drill")
    assert entry.get("ways")[0]["missed"] == ["HOLLOW"]
    assert entry.get("ways")[0]["wrong"] == ["COWS"]
    assert entry.get("marks") == ["missed", "wrong"]
    assert "not found forward: HOLLOW" in str(story.farm.entries("action")[-1].body)


def test_slower_than_four_hours_is_marked(hygiene, story: BadBatch) -> None:
    """What private standards commonly ask."""
    words = typed("EWES,HOLLOW", story.lots[0])
    words[3] = str(5 * 3600)
    hygiene("drill", story.lots[0], *words)
    assert story.farm.entries("drill")[0].get("marks") == ["slow"]


def test_what_does_not_add_up_is_part_of_it(hygiene, story: BadBatch) -> None:
    """A tray that was fed twice shows in the drill of its lot."""
    story.farm.feed(story.mate, 9)
    made = hygiene("drill", story.lots[0], *typed("EWES,HOLLOW", story.lots[0]))
    assert made.exit_code == 3
    assert story.farm.entries("drill")[0].get("adds_up") is False
    assert "T009 was fed already" in made.output


def test_at_a_terminal_it_asks_and_times(run, story: BadBatch) -> None:
    """The clock runs from the question to the answer: here half a minute a look."""
    looks = count()
    start = story.farm.now
    world = story.farm.world(
        now=lambda: start + timedelta(seconds=30 * next(looks)), asks=True
    )
    given = f"EWES, HOLLOW\n{story.lots[0]}\n"
    made = run("drill", story.lots[0], "--by", "AB", world=world, given=given)
    assert made.exit_code == 0, made.output
    ways = story.farm.entries("drill")[0].get("ways")
    assert [way["seconds"] for way in ways] == [30, 30]


def test_the_lot_is_drawn_by_the_date(hygiene, story: BadBatch) -> None:
    """The same all day, out of those whose fodder has gone somewhere."""
    first = hygiene("drill").output
    assert hygiene("drill").output == first
    assert first.splitlines()[0].endswith(story.lots[0])


def test_a_lot_of_which_nothing_went_out_is_no_drill(hygiene, story: BadBatch) -> None:
    """Exit 4, and what to type."""
    made = hygiene("drill", story.farm.lot())
    assert (made.exit_code, "nothing of" in made.stderr) == (4, True)


def test_half_an_answer_is_refused(hygiene, story: BadBatch) -> None:
    """Both ways, each with its time."""
    made = hygiene("drill", story.lots[0], "--went-to", "EWES", "--by", "AB")
    assert (made.exit_code, story.farm.entries("drill")) == (2, [])


def test_today_asks_for_it_once_a_year(hygiene, story: BadBatch) -> None:
    """From a fortnight before; not again after it was done."""
    due = lambda: json.loads(hygiene("today", "--json").output)["drill_due"]  # noqa: E731
    assert due() is None
    story.farm.later(days=355)
    assert due() is None, "nothing is sown any more"
    story.farm.sow((story.farm.lot(), 1_000), trays=range(30, 31))
    assert due() == "2027-03-02"
    assert "hygiene drill" in hygiene("today").output
    hygiene("drill", story.lots[0], *typed("EWES,HOLLOW", story.lots[0]))
    assert due() is None


def test_json_keys_stay_put(hygiene, story: BadBatch) -> None:
    """What a program reads."""
    words = typed("EWES,HOLLOW", story.lots[0])
    made = json.loads(hygiene("drill", story.lots[0], *words, "--json").output)
    assert made.keys() == {
        "lot", "ways", "seed", "gaps", "entry", "action", "marks",
    }  # fmt: skip
