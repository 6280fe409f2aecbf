"""``seed``, ``germination``, ``scrap`` as they are typed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from sprout_farm import SproutFarm


@pytest.fixture
def hygiene(run, sprouts: SproutFarm):
    return lambda *words, **more: run(*words, world=sprouts.world(), **more)


def test_seed_says_the_code_to_write_on_the_bags(hygiene, sprouts: SproutFarm) -> None:
    """And keeps what the supplier wrote, with the paper itself."""
    note = sprouts.folder / "note.txt"
    note.write_text("delivery note")
    made = hygiene(
        "seed", "alder", "AF 26/118", "12.5", "--untreated-seen-by", "ab",
        "claimed_germination_percent=95.5", "best_before=2026-12-31",
        "--attach", note, "--by", "AB",
    )  # fmt: skip
    assert made.exit_code == 0
    (seed,) = sprouts.entries("seed")
    assert f"Write {seed.get('lot')} on every bag" in made.output
    assert (seed.get("grams"), seed.get("untreated_seen_by")) == (12_500, "AB")
    assert seed.get("claimed_germination_percent") == Decimal("95.5")
    assert seed.get("best_before") == "2026-12-31"
    assert seed.get("attached")[0]["name"] == "note.txt"
    digest = seed.get("attached")[0]["sha256"]
    assert sprouts.read(lambda r: r.file(digest)) == b"delivery note"


def test_seed_without_the_word_is_held_and_says_the_way_out(hygiene) -> None:
    """Exit 3: it is written, and there is something to put right."""
    made = hygiene("seed", "ALDER", "AF 1", "12.5 kg", "--by", "AB")
    assert made.exit_code == 3
    assert "DO NOT SOW FROM IT" in made.output
    assert "hygiene release shed-" in made.output


@pytest.mark.parametrize("said", ["--dressing", "--refused"])
def test_no_paper_makes_feed_of_dressed_or_refused_seed(hygiene, said: str) -> None:
    """The way out is away from the shed."""
    made = hygiene("seed", "ALDER", "AF 1", "12.5", said, "red dust", "--by", "AB")
    assert made.exit_code == 3
    assert "no paper makes feed of it" in made.output
    assert "hygiene scrap L-" in made.output
    assert "untreated_seen_by" not in made.output


def test_a_held_lot_that_is_scrapped_to_the_end_says_how_its_hold_ends(
    hygiene, sprouts: SproutFarm
) -> None:
    """Not before the last of it is gone; and then it does end so."""
    hygiene("seed", "ALDER", "AF 1", "12.5", "--dressing", "red dust", "--by", "AB")
    (seed,), (hold,) = sprouts.entries("seed"), sprouts.entries("hold")
    lot = str(seed.get("lot"))
    sprouts.later(minutes=1)
    words = ("--why", "taken away", "--by", "AB")
    assert "stays open" not in hygiene("scrap", lot, "2.5", *words).output
    sprouts.later(minutes=1)
    gone = hygiene("scrap", lot, "10", *words).output
    assert f"its hold {hold.name} stays open" in gone
    end = ("--why", "gone", "--document", "waste note 4", "--by", "AB")
    assert hygiene("release", hold.name, *end).exit_code == 0


@pytest.mark.parametrize("weight", ["0", "-3", "1e3", "0.0001", "nan", "heavy"])
def test_a_weight_that_cannot_be_is_refused(
    hygiene, sprouts: SproutFarm, weight: str
) -> None:
    """Exit 2, and nothing is written."""
    made = hygiene("seed", "ALDER", "AF 1", "--by", "AB", "--", weight)
    assert made.exit_code == 2
    assert sprouts.entries("seed") == []


def test_germination_says_the_interval_and_the_verdict(
    hygiene, sprouts: SproutFarm
) -> None:
    """93 of 100 does not show 90 % yet."""
    lot = sprouts.lot()
    made = hygiene("germination", lot.lower(), "93/100", "--days", "3", "--by", "AB")
    assert made.exit_code == 0
    assert "exact 95 % interval 86.1 to 97.1 %" in made.output
    assert "90 % is unclear" in made.output
    assert "no source" in made.output


def test_seed_that_does_not_germinate_is_a_finding(
    hygiene, sprouts: SproutFarm
) -> None:
    """Exit 3."""
    made = hygiene("germination", sprouts.lot(), "60/100", "--by", "AB")
    assert made.exit_code == 3
    assert "90 % is NOT reached" in made.output


@pytest.mark.parametrize("count", ["93", "93/", "a/b", "101/100"])
def test_a_count_that_cannot_be_is_refused(
    hygiene, sprouts: SproutFarm, count: str
) -> None:
    """More cannot germinate than was sown."""
    assert hygiene("germination", sprouts.lot(), count, "--by", "AB").exit_code == 2


def test_scrap_checks_and_writes(hygiene, sprouts: SproutFarm) -> None:
    """A plan beyond the store is refused, the fact is marked."""
    lot = sprouts.lot(grams=10_000)
    words = ("scrap", lot, "12", "--why", "mice", "--by", "AB")
    refused = hygiene(*words, "--check")
    assert (refused.exit_code, sprouts.entries("scrap")) == (5, [])
    assert "has 10 kg in store" in refused.output
    assert hygiene(*words).exit_code == 3
    assert sprouts.entries("scrap")[0].get("marks") == ["lot-not-enough"]


def test_what_a_lot_has_no_word_for_is_refused(hygiene, sprouts: SproutFarm) -> None:
    """And the words that it has are named."""
    made = hygiene("seed", "ALDER", "AF 1", "5", "colour=gold", "--by", "AB")
    assert (made.exit_code, sprouts.entries("seed")) == (2, [])
    assert "moisture_percent" in made.output
