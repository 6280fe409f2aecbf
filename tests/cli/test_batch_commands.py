"""``sow``, ``move``, ``feed``, ``dispatch``, ``discard``, ``sample`` as typed."""

from __future__ import annotations

import json

import pytest
from sprout_farm import SproutFarm


@pytest.fixture
def hygiene(run, sprouts: SproutFarm):
    return lambda *words, **more: run(*words, world=sprouts.world(), **more)


def sown(hygiene, sprouts: SproutFarm, lot: str, trays: str = "T001..T004@R1/1") -> str:
    """A batch that was sown by the command."""
    made = hygiene(
        "sow", f"{lot}=6", "--trays", trays, "--line", "L1", "--reason", "washed",
        "--by", "AB",
    )  # fmt: skip
    assert "Written as" in made.output, made.output
    sprouts.later(minutes=2)
    return str(sprouts.entries("sow")[-1].get("batch"))


def test_sow_checks_beforehand_and_writes_nothing(hygiene, sprouts: SproutFarm) -> None:
    """Exit 5 with rule, source and way out."""
    lot = sprouts.lot(untreated_seen_by=None)
    made = hygiene("sow", f"{lot}=6", "--trays", "T001@R1", "--check")
    assert made.exit_code == 5
    assert "767/2009" in made.output
    assert "way out:" in made.output
    assert sprouts.entries("sow") == []


def test_sow_reads_several_lots_and_places(hygiene, sprouts: SproutFarm) -> None:
    """Ranges, racks, levels; codes in any case."""
    one, other = sprouts.lot(), sprouts.lot(supplier_lot="AF/2")
    made = hygiene(
        "sow", f"{one}=3", f"{other.lower()}=2500 g", "--trays", "t001..t002@r3/2",
        "--trays", "T003,T005@R2", "--reason", "washed", "--by", "AB",
    )  # fmt: skip
    (entry,) = sprouts.entries("sow")
    assert entry.get("seeds") == [
        {"lot": one, "grams": 3_000},
        {"lot": other, "grams": 2_500},
    ]
    assert entry.get("places") == [
        {"tray": "T001", "rack": "R3", "level": 2},
        {"tray": "T002", "rack": "R3", "level": 2},
        {"tray": "T003", "rack": "R2"},
        {"tray": "T005", "rack": "R2"},
    ]
    assert f"Write {entry.get('batch')} on the rack." in made.output


def test_a_forced_sowing_without_a_reason_is_not_written(
    hygiene, sprouts: SproutFarm
) -> None:
    """Exit 2, and it says what to add."""
    made = hygiene("sow", f"{sprouts.lot()}=6", "--trays", "T001@R1", "--by", "AB")
    assert made.exit_code == 2
    assert "--reason TEXT" in made.output
    assert sprouts.entries("sow") == []


def test_feed_is_clean_on_a_good_batch(hygiene, sprouts: SproutFarm) -> None:
    """Exit 0, no mark."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    words = ("feed", batch, "ewes", "28", "--by", "AB")
    assert hygiene(*words, "--check").exit_code == 0
    made = hygiene(*words, "--looks-ok", "--smells-ok")
    assert made.exit_code == 0
    (entry,) = sprouts.entries("feed")
    assert (entry.get("animals"), entry.get("grams")) == ("EWES", 28_000)
    assert len(entry.get("trays")) == 4


def test_feed_asks_at_a_terminal_whether_it_was_looked_at(
    hygiene, run, sprouts: SproutFarm
) -> None:
    """What was not said is asked, one question each."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    world = sprouts.world()._replace(asks=True)
    made = run("feed", batch, "EWES", "7", "--trays", "T001", "--by", "AB",
               world=world, given="y\nn\n")  # fmt: skip
    assert made.exit_code == 3
    (entry,) = sprouts.entries("feed")
    assert (entry.get("look_ok"), entry.get("smell_ok")) == (True, False)


def test_feeding_what_is_held_is_refused_then_written_with_the_vets_sheet(
    hygiene, sprouts: SproutFarm
) -> None:
    """The plan: exit 5. The fact: exit 3, marked, an incident, and the sheet."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    sprouts.mould(batch)
    words = ("feed", "T001..T002", "EWES", "14", "--looks-ok", "--smells-ok")
    refused = hygiene(*words, "--check")
    assert (refused.exit_code, sprouts.entries("feed")) == (5, [])
    made = hygiene(*words, "--by", "AB")
    assert made.exit_code == 3
    assert "RING THE VET NOW" in made.output
    assert "SHEET FOR THE VET" in made.output
    assert sprouts.entries("feed")[0].get("marks") == ["mould-record", "on-hold"]


def test_sending_what_is_held_says_to_call_it_back(
    hygiene, sprouts: SproutFarm
) -> None:
    """With the buyer's telephone."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    sprouts.mould(batch)
    made = hygiene("dispatch", batch, "HOLLOW", "28", "--document", "DN 7",
                   "--looks-ok", "--smells-ok", "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert "CALL IT BACK NOW: Hollow Farm, 01632 960003" in made.output


def test_sample_prints_the_labels_and_discard_wants_it(
    hygiene, sprouts: SproutFarm
) -> None:
    """Two labelled halves, before the rest is gone."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    sprouts.mould(batch)
    words = ("discard", batch, "28", "--why", "mould", "--route", "burnt",
             "--witness", "C. Dale", "--by", "AB")  # fmt: skip
    assert hygiene(*words, "--check").exit_code == 5
    made = hygiene("sample", batch, "--why", "mould", "--frozen-at", "freezer",
                   "--chilled-at", "fridge", "--kg", "0.5", "--by", "AB")  # fmt: skip
    assert made.output.count(f"Label: {batch}") == 2
    assert hygiene(*words).exit_code == 0


def test_move_parts_the_trays(hygiene, sprouts: SproutFarm) -> None:
    """To another rack; a level that is not there is refused."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    assert hygiene("move", batch, "--trays", "T003..T004@R3/9").exit_code == 2
    made = hygiene("move", batch, "--trays", "T003..T004@R3/2", "--by", "AB")
    assert made.exit_code == 0
    assert sprouts.entries("move")[0].get("places")[0]["rack"] == "R3"


def test_a_wrong_code_names_the_nearest_batch(hygiene, sprouts: SproutFarm) -> None:
    """Exit 4."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    wrong = batch[:-1] + ("A" if batch[-1] != "A" else "B")
    made = hygiene("feed", wrong, "EWES", "7", "--by", "AB")
    assert made.exit_code == 4
    assert f"did you mean {batch}?" in made.output


def test_today_lists_what_grows_by_day(hygiene, sprouts: SproutFarm) -> None:
    """What is past its last day stands first, and what is held says so."""
    lot = sprouts.lot()
    old = sown(hygiene, sprouts, lot)
    sprouts.later(days=8)
    young = sown(hygiene, sprouts, lot, "T005..T006@R3/1")
    sprouts.feed(old, 1)
    sprouts.mould(old)
    lines = hygiene("today").output.splitlines()
    first = next(n for n, line in enumerate(lines) if line.startswith("  day  8"))
    assert lines[first].split() == (
        f"day 8 {old} 3 of 4 trays R1 PAST DAY 7 HELD".split()
    )
    assert lines[first + 1].split()[:3] == ["day", "0", young]
    assert f"EWES ate {old}" in "\n".join(lines)


def test_today_gives_a_program_the_same(hygiene, sprouts: SproutFarm) -> None:
    """Under keys that stay put."""
    batch = sown(hygiene, sprouts, sprouts.lot())
    hold = sprouts.mould(batch).holds[0]
    (row,) = json.loads(hygiene("today", "--json").output)["growing"]
    assert (row["batch"], row["day"], row["trays_sown"]) == (batch, 0, 4)
    assert [stop["entry"] for stop in row["held"]] == [hold.name]


def test_a_sowing_is_put_right_as_it_was_typed(hygiene, sprouts: SproutFarm) -> None:
    """Trays by range, lots by code; a feed's trays as well."""
    lot = sprouts.lot()
    batch = sown(hygiene, sprouts, lot)
    (sow,) = sprouts.entries("sow")
    made = hygiene(
        "correct",
        sow.name,
        "places=T001..T003@R1/1 T009@r2",
        f"seeds={lot.lower()}=5.5",
        "--reason",
        "misread",
        "--by",
        "AB",
    )
    assert made.exit_code == 0, made.output
    (sow,) = sprouts.entries("sow")
    assert [p["tray"] for p in sow.get("places")] == ["T001", "T002", "T003", "T009"]
    assert sow.get("seeds") == [{"lot": lot, "grams": 5_500}]
    fed = sprouts.feed(batch, 1).entry
    hygiene(
        "correct", fed.name, "trays=T002..T003", "--reason", "misread", "--by", "AB"
    )
    assert sprouts.entries("feed")[0].get("trays") == ["T002", "T003"]


def test_a_correction_names_what_the_farm_has(hygiene, sprouts: SproutFarm) -> None:
    """A line or a group that is not there is unknown, as when it is first written."""
    batch = sprouts.batch()
    (sow,) = sprouts.entries("sow")
    fed = sprouts.feed(batch, 1).entry
    why = ("--reason", "misread", "--by", "AB")
    assert hygiene("correct", sow.name, "line=L9", *why).exit_code == 4
    assert hygiene("correct", fed.name, "animals=COWS", *why).exit_code == 4
    assert hygiene("correct", fed.name, "animals=goats", *why).exit_code == 0
    assert sprouts.entries("feed")[0].get("animals") == "GOATS"


def test_a_mouldy_batch_is_never_said_to_be_fed_after_a_release(
    hygiene, sprouts: SproutFarm
) -> None:
    """Its hold's way out is to discard it."""
    batch = sprouts.batch()
    sprouts.mould(batch)
    made = hygiene("feed", batch, "EWES", "7", "--looks-ok", "--smells-ok", "--check")
    assert made.exit_code == 5
    assert "no release makes it feed" in made.output
    assert "hygiene release" not in made.output
