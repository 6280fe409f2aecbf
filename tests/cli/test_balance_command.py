"""``balance``: by days, by lot and by batch, and what was weighed."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from small_farm import START
from sprout_farm import SproutFarm

from hygiene.acts.balance import all_of_days


@pytest.fixture
def hygiene(run, sprouts: SproutFarm):
    return lambda *words: run(*words, world=sprouts.world())


def eaten(sprouts: SproutFarm, lot: str) -> str:
    """A batch of four trays, fed after a week."""
    batch = str(sprouts.sow((lot, 6_000)).sow.get("batch"))
    sprouts.later(days=7)
    sprouts.feed(batch, 1, 2, 3, 4, grams=35_000)
    return batch


def test_what_adds_up_says_so(hygiene, sprouts: SproutFarm) -> None:
    """Exit 0: seed, trays, and the yield beside the published one."""
    eaten(sprouts, sprouts.lot())
    made = hygiene("balance")
    assert made.exit_code == 0
    assert "All of it adds up" in made.output
    assert "35 kg from 6 kg of seed: 5.83 kg a kg" in made.output
    assert "5.81 kg a kg" in made.output


def test_what_does_not_is_named_with_its_entry(hygiene, sprouts: SproutFarm) -> None:
    """Exit 3: the tray that was fed twice."""
    batch = eaten(sprouts, sprouts.lot())
    again = sprouts.feed(batch, 2).entry
    made = hygiene("balance")
    assert made.exit_code == 3
    assert f"! batch {batch}: T002 was fed already" in made.output
    assert again.name in made.output


def test_a_weighed_store_is_held_against_the_record(hygiene, sprouts) -> None:
    """Codes in any case; nothing left is a weight too."""
    lot = sprouts.lot(6_000)
    eaten(sprouts, lot)
    assert hygiene("balance", lot.lower(), "--weighed", f"{lot}=0").exit_code == 0
    made = hygiene("balance", lot, "--weighed", f"{lot.lower()}=0.5")
    assert (made.exit_code, "500 g more in store" in made.output) == (3, True)


def test_a_forgotten_feed_is_found_by_the_next_sowing(hygiene, sprouts) -> None:
    """The tray cannot hold two batches: nothing says what became of the first."""
    lot = sprouts.lot()
    first = str(sprouts.sow((lot, 1_000), trays=range(1, 3)).sow.get("batch"))
    sprouts.later(days=7)
    sprouts.feed(first, 1)
    second = sprouts.sow((lot, 1_000), trays=range(2, 3)).sow.get("batch")
    said = f"! batch {first}: nothing says what became of T002, and {second} was sown"
    assert said in hygiene("balance").output.replace("\n    ", " ")
    assert hygiene("balance", first).exit_code == 3


def test_a_struck_sowing_leaves_fodder_of_no_batch(hygiene, sprouts) -> None:
    """What ended its trays is named."""
    batch = eaten(sprouts, sprouts.lot())
    sow = sprouts.entries("sow")[0].name
    struck = hygiene("strike", sow, "--reason", "never sown", "--by", "AB")
    assert struck.exit_code == 0, struck.output
    made = hygiene("balance")
    assert f"batch {batch}: fed (T001..T004), and no sowing of it stands" in made.output


def test_by_days_both_included(hygiene, sprouts: SproutFarm) -> None:
    """What was sown outside of them is not summed."""
    eaten(sprouts, sprouts.lot())
    made = json.loads(hygiene("balance", "--from", "2026-03-03", "--json").output)
    assert (made["trays"], made["gaps"]) == ([], [])
    day = ("--from", "2026-03-02", "--to", "2026-03-02")
    made = json.loads(hygiene("balance", *day, "--json").output)
    assert [row["sown"] for row in made["trays"]] == [4]


def test_json_keys_stay_put(hygiene, sprouts: SproutFarm) -> None:
    """Grams and trays are whole numbers."""
    lot = sprouts.lot()
    batch = eaten(sprouts, lot)
    made = json.loads(hygiene("balance", batch, "--json").output)
    assert made.keys() == {
        "from", "to", "seed", "trays", "fodder", "yield_kg_per_kg", "published", "gaps",
    }  # fmt: skip
    assert made["seed"] == [
        {
            "lot": lot, "received": 100_000, "sown": 6_000, "scrapped": 0,
            "sampled": 0, "in_store": 94_000, "weighed": None,
        }
    ]  # fmt: skip
    assert made["trays"][0]["closes"] is True


@pytest.mark.parametrize(
    ("words", "code"),
    [(("T001",), 2), (("L-00-9-9",), 4), (("--weighed", "x"), 2)],
)
def test_what_cannot_be_is_said_in_a_line(hygiene, words, code: int) -> None:
    """With what to type instead."""
    made = hygiene("balance", *words)
    assert made.exit_code == code
    assert made.stderr.startswith("hygiene: ")


def test_years_read_one_after_another_come_to_the_same(sprouts: SproutFarm) -> None:
    """Lots open over a seam, batches fed after it, gaps and odd yields of them all."""
    lot = sprouts.lot()
    for grams in (35_000, 36_000, 35_000, 350_000):
        batch = str(sprouts.sow((lot, 6_000)).sow.get("batch"))
        sprouts.later(days=7)
        trays = (1, 2, 3) if grams == 36_000 else (1, 2, 3, 4)
        sprouts.feed(batch, *trays, grams=grams)
        sprouts.later(days=2)
    span = START, sprouts.now, sprouts.now
    at_once, parted = (
        sprouts.read(lambda r, d=days: all_of_days(r, *span, at_once=timedelta(days=d)))
        for days in (370, 5)
    )
    assert {gap.sort for gap in at_once.gaps} == {"batch", "fodder"}
    assert parted._replace(gaps=sorted(parted.gaps)) == at_once._replace(
        gaps=sorted(at_once.gaps)
    )
