"""``trace`` from every sort of code, on the terminal and as JSON."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from bad_batch import BadBatch, bad_batch, copied
from dose_farm import build_doses, drawn

from hygiene.acts.how import How
from hygiene.acts.mending import correct, strike
from hygiene.kinds.setup import Animals


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> BadBatch:
    return bad_batch(build_doses(tmp_path_factory.mktemp("bad")))


@pytest.fixture
def story(lived: BadBatch, tmp_path: Path) -> BadBatch:
    return copied(lived, tmp_path)


@pytest.fixture
def trace(run, story: BadBatch):
    return lambda *words: run("trace", *words, world=story.farm.world())


@pytest.fixture
def told(trace):
    """A trace as JSON."""
    return lambda *words: json.loads(trace(*words, "--json").output)


def ends(links: list[dict], side: str) -> set[tuple[str, str]]:
    return {(link[side]["sort"], link[side]["code"]) for link in links}


def shares(made: dict) -> dict[str, set[str]]:
    return {
        row["batch"]: {f"{share['what']} {share['code']}" for share in row["shares"]}
        for row in made["sideways"]
    }


def growing(made: dict) -> dict[str, list[str]]:
    return {row["batch"]: row["growing"] for row in made["sideways"]}


# from each sort of code


def test_from_a_batch_back_to_the_sellers_and_on_to_the_milk(
    told, story: BadBatch
) -> None:
    """Both lots and the wash behind it, both groups and what they give before it."""
    story.found()
    made = told(story.bad)
    assert ends(made["back"], "from") == {
        ("lot", story.lots[0]),
        ("lot", story.lots[1]),
        ("supplier", "ALDER"),
        ("dose", story.wash),
        ("container", story.can),
        ("line", "L1"),
    }
    assert ends(made["forward"], "to") == {
        ("animals", "EWES"),
        ("animals", "GOATS"),
        ("produce", "lamb of EWES"),
        ("produce", "milk of GOATS"),
    }
    assert made["got"] == [
        {"sort": "animals", "code": "EWES", "grams": 8_500, "grams_struck": 0},
        {"sort": "animals", "code": "GOATS", "grams": 8_300, "grams_struck": 0},
    ]


def test_sideways_each_with_its_reason_and_no_further(told, story: BadBatch) -> None:
    """One shares the wash, one the lot; what shares only with those is not there."""
    found = shares(told(story.bad))
    assert found[story.washed] >= {f"wash {story.wash}", f"container {story.can}"}
    assert found[story.mate] == {f"lot {story.lots[0]}"}
    assert story.far not in found


def test_from_a_lot_to_every_batch_of_it(told, story: BadBatch) -> None:
    """And no step sideways: all that shares it lies forward."""
    made = told(story.lots[0].lower().replace("-", ""))
    assert [row["batch"] for row in made["batches"]] == [story.bad, story.mate]
    assert made["sideways"] == []
    assert ends(made["back"], "from") == {("supplier", "ALDER")}


def test_from_a_supplier_to_what_came_of_its_seed(told, story: BadBatch) -> None:
    """Within a year, if no days are said."""
    made = told("alder")
    codes = {story.bad, story.washed, story.mate, story.far}
    assert {row["batch"] for row in made["batches"]} == codes
    later = f"{date(2026, 3, 4)}"
    assert {row["batch"] for row in told("ALDER", "--from", later)["batches"]} == {
        story.far
    }


def test_from_a_container_to_what_met_it(told, story: BadBatch) -> None:
    """Over the doses that were drawn from it."""
    made = told(story.can)
    assert {row["batch"] for row in made["batches"]} == {story.bad, story.washed}
    assert ("dose", story.wash) in ends(made["forward"], "to")


def test_from_a_tray_on_a_day(told, story: BadBatch) -> None:
    """It holds other batches before and after."""
    farm = story.farm
    for number in (1, 2, 3, 4):
        farm.feed(story.bad, number)
    farm.later(days=1)
    again = farm.sow(
        (story.lots[1], 1_000), trays=range(3, 5), how=How("AB", reason="clean")
    )
    first, now = f"{farm.now.date() - timedelta(days=5)}", f"{farm.now.date()}"
    assert told("T003", "--on", first)["subject"]["batches"] == [story.bad]
    assert told("T003", "--on", now)["subject"]["batches"] == [again.sow.get("batch")]


def test_an_empty_tray_says_when_it_was_last_sown(trace, story: BadBatch) -> None:
    """Exit code 4, and what to type."""
    made = trace("T030")
    assert (made.exit_code, "nothing grew at tray T030" in made.stderr) == (4, True)
    story.farm.feed(story.bad, 1)
    story.farm.later(days=1)
    assert f"{story.bad} was sown on 2026-03-02" in trace("T001").stderr


def test_from_animals_on_a_day_and_over_days(told, trace, story: BadBatch) -> None:
    """What they ate then; on a day without a feed it says when there was one."""
    story.found()
    day = f"{story.farm.now.date()}"
    assert told("EWES", "--on", day)["subject"]["batches"] == [story.bad]
    assert told("EWES", "--from", "2026-03-01")["subject"]["batches"] == [story.bad]
    story.farm.later(days=1)
    assert f"hygiene trace EWES --on {day}" in trace("EWES").stderr


def test_from_a_buyer(told, story: BadBatch) -> None:
    """Whoever rings asks from their end."""
    story.farm.send(story.mate, 9, document="DN 4")
    assert told("hollow")["subject"]["batches"] == [story.mate]
    assert ("buyer", "HOLLOW") in ends(told(story.mate)["forward"], "to")


@pytest.mark.parametrize(
    ("code", "there"), [("L1", 1), ("R3", 3), ("DARK", 3), ("K1", 1)]
)
def test_from_a_line_a_rack_a_room_a_tank(told, story, code: str, there: int) -> None:
    """What stood there in those days."""
    made = told(code, "--from", "2026-03-01", "--to", "2026-03-06")
    assert len(made["subject"]["batches"]) == there


def test_from_a_find_its_hold_its_action_and_who_was_told(
    told, story: BadBatch
) -> None:
    """Any entry of the incident leads to the batch."""
    story.found()
    for kind in ("mould", "hold", "action", "notify", "feed"):
        entry = story.farm.entries(kind)[0 if kind == "hold" else -1]
        assert told(entry.name)["subject"]["batches"] == [story.bad], kind


def test_from_sick_animals_to_three_weeks_of_fodder(told, story: BadBatch) -> None:
    """The entry of the illness is where a vet begins."""
    story.found()
    made = told(story.ill())
    assert made["subject"]["batches"] == [story.bad]
    assert made["subject"]["sort"] == "animals"


def test_an_entry_that_moved_nothing_is_refused(trace, story: BadBatch) -> None:
    """The set-up of a room leads nowhere."""
    room = story.farm.entries("room")[0]
    made = trace(room.name)
    assert (made.exit_code, "nothing to trace" in made.stderr) == (2, True)


@pytest.mark.parametrize("wrong", ["T041", "B-00-1-X", "NOBODY", "shed-zzzz/9"])
def test_an_unknown_code_exits_4_with_a_way_out(trace, story, wrong: str) -> None:
    """One line, and the nearest."""
    made = trace(wrong)
    assert made.exit_code == 4
    assert made.stderr.count("\n") == 2


def test_what_stood_there_was_sown_days_before(told, story: BadBatch) -> None:
    """A rack on one day holds what was put there earlier."""
    day = f"{story.farm.now.date()}"
    found = set(told("R3", "--on", day)["subject"]["batches"])
    assert found == {story.washed, story.mate, story.far}


def test_a_tray_that_was_sown_twice_in_a_day_held_both(told, story) -> None:
    """One was fed in the morning, the next was sown in the afternoon."""
    story.farm.feed(story.bad, 1)
    forced = How("AB", reason="in a hurry")
    again = story.farm.sow((story.lots[1], 500), trays=range(1, 2), how=forced).sow
    day = f"{story.farm.now.date()}"
    found = told("T001", "--on", day)["subject"]["batches"]
    assert found == [story.bad, again.get("batch")]


def test_animals_that_an_entry_named_before_it_was_put_right(told, story) -> None:
    """It may have been right the first time."""
    fed = story.farm.feed(story.bad, 1).entry
    body = {**fed.body, "animals": "GOATS"}
    story.farm.act(lambda w: correct(w, fed.name, body, reason="pen", by="AB"))
    assert told("EWES")["subject"]["batches"] == [story.bad]


# how far it looks


def test_a_lot_is_shared_however_far_apart(told, story: BadBatch) -> None:
    """Seed keeps for months."""
    story.farm.feed(story.bad, 1, 2, 3, 4)
    story.farm.later(days=60)
    later = story.farm.sow((story.lots[0], 500), trays=range(30, 31)).sow.get("batch")
    story.farm.later(days=7)
    story.farm.feed(later, 30)
    made = told(story.bad)
    assert f"lot {story.lots[0]}" in shares(made)[later]
    assert growing(made)[later] == [], "what became of it is read as well"


def test_what_was_there_before_it_stood_beside_it(told, story: BadBatch) -> None:
    """In the same room on shared days, whichever was sown first."""
    story.farm.discard(story.far, 13, 14)
    story.farm.later(days=2)
    story.farm.feed(story.washed, 5, 6, 7, 8)
    made = told(story.far)
    assert shares(made)[story.washed] >= {"room DARK", "rack R3", "line L2"}
    assert growing(made)[story.washed] == [], "what became of it is read as well"


def test_a_wash_of_weeks_ago_is_found(told, story: BadBatch) -> None:
    """A tray that lay about uncleared was washed at some time all the same."""
    farm = story.farm
    wash = farm.dose(35, drawn=drawn(story.can, 100)).dose.name
    farm.later(days=30)
    late = farm.sow((story.lots[0], 500), trays=range(35, 36)).sow.get("batch")
    assert ("dose", wash) in ends(told(late)["back"], "from")


def test_a_dose_of_the_line_reaches_what_grew_under_it(told, story: BadBatch) -> None:
    """From its container on: that batch was sown days before."""
    farm = story.farm
    can = farm.can()
    farm.dose(line="L1", drawn=drawn(can, 100), volume_l=10, target_mg_per_l=2)
    assert story.bad in [row["batch"] for row in told(can)["batches"]]


# what it says


def test_nothing_found_exits_0_and_mould_exits_3(trace, story: BadBatch) -> None:
    """A program can tell them apart."""
    assert trace(story.bad).exit_code == 0
    story.found()
    assert trace(story.bad).exit_code == 3
    assert trace(story.washed).exit_code == 3, "it grows beside mould, and is not held"
    assert trace(story.far).exit_code == 0


def test_the_first_lines_say_what_must_be_known(trace, story: BadBatch) -> None:
    """Mould, hold, who ate how much, what grows beside it and is not held."""
    story.found()
    story.ill()
    page = trace(story.bad).output
    head = page[: page.index("WHERE IT CAME FROM")]
    assert f"! MOULD was found in {story.bad} ({story.mould})" in head
    assert f"! HELD: {story.bad}: mould in it" in head
    assert "! FED: 8.5 kg to EWES (40 sheep)" in head
    assert "! SICK: 2 of 40 EWES" in head
    assert "four lambs on Monday" in " ".join(head.split())
    assert f"! NOT HELD: {story.washed} grows and shares wash {story.wash}" in head


def test_what_it_says_to_type_holds_the_neighbour(run, trace, story: BadBatch) -> None:
    """The line can be copied, and the warning is gone."""
    story.found()
    typed = trace(story.bad).output.split(f"hygiene hold {story.washed} ")[1]
    words = ["hold", story.washed, *typed.split("\n    ")[0].rstrip(" \\").split()]
    made = run(
        *words, "--because", story.mould, "--shares", f"wash {story.wash}",
        "--by", "AB", world=story.farm.world(),
    )  # fmt: skip
    assert made.exit_code == 0, made.output
    page = trace(story.bad).output
    assert f"NOT HELD: {story.washed}" not in page
    assert "held; shares wash" in page.replace("\n    ", " ")


def test_every_line_fits_eighty_columns(trace, story: BadBatch) -> None:
    """On any terminal, and in a pipe."""
    story.found()
    story.ill()
    for code in (story.bad, "ALDER", story.can, story.lots[0]):
        assert max(map(len, trace(code).output.splitlines())) <= 80, code


def test_what_was_corrected_is_followed_and_marked(told, trace, story) -> None:
    """Fed to EWES, put right to GOATS: both are told, by the strictest reading."""
    farm = story.farm
    fed = farm.feed(story.bad, 1).entry
    body = {**fed.body, "animals": "GOATS"}
    farm.act(lambda w: correct(w, fed.name, body, reason="wrong pen", by="AB"))
    got = [tuple(row.values())[1:] for row in told(story.bad)["got"]]
    assert sorted(got) == [("EWES", 0, 7_000), ("GOATS", 7_000, 0)]
    assert "[put right or ruled through since]" in trace(story.bad).output


def test_a_struck_find_still_holds_and_still_shows(told, trace, story) -> None:
    """Only a release ends a hold."""
    story.found()
    mould = story.mould
    story.farm.act(lambda w: strike(w, mould, reason="was mud", by="AB"))
    assert trace(story.bad).exit_code == 3
    assert told(story.bad)["batches"][0]["mould"] == [story.mould]


def test_a_struck_sowing_is_said_and_breaks_nothing(trace, story: BadBatch) -> None:
    """Its trays and seed are followed all the same."""
    sow = story.farm.entries("sow")[0]
    story.farm.act(lambda w: strike(w, sow.name, reason="never sown", by="AB"))
    assert "whose sowing is ruled through" in trace(story.bad).output


def test_a_hold_on_its_rack_is_told_as_well(run, told, story: BadBatch) -> None:
    """It does not name the batch, and holds it all the same."""
    words = ("hold", "R1", "--sort", "rack", "--why", "smells musty", "--by", "AB")
    run(*words, world=story.farm.world())
    made = told(story.bad)
    hold = story.farm.entries("hold")[-1].name
    assert [row["entry"] for row in made["batches"][0]["held"]] == [hold]
    assert hold in [row["entry"] for row in made["answers"]]


def test_animals_are_those_of_that_day(trace, story: BadBatch) -> None:
    """A group that grew since had fewer heads when it was fed."""
    story.farm.feed(story.bad, 1)
    more = Animals(code="EWES", name="Ewes", species="sheep", head=55)
    story.farm.later(days=1)
    story.farm.act(lambda w: w.add(more, by="AB"))
    page = trace(story.bad).output
    assert "fed to EWES (40 sheep)" in page.replace("\n  |  ", " ")


def test_json_keys_stay_put(told, story: BadBatch) -> None:
    """What a program reads."""
    story.found()
    made = told(story.bad)
    assert made.keys() == {
        "subject", "at", "demonstration", "batches", "back", "forward", "sideways",
        "got", "answers", "entries", "looked_up",
    }  # fmt: skip
    assert made["forward"][0].keys() == {
        "from", "to", "how", "at", "by", "entry", "grams", "trays", "stands",
    }  # fmt: skip
    assert made["batches"][0].keys() >= {
        "batch", "sown", "lots", "trays", "growing", "fed", "sent", "discarded",
        "sampled", "held", "mould", "marks",
    }  # fmt: skip
    told_to = [row for row in made["answers"] if row["kind"] == "notify"]
    assert [row["by"] for row in told_to] == ["AB"]


def test_few_look_ups_for_each_entry_found(told, story: BadBatch) -> None:
    """At most three questions to an index."""
    story.found()
    cost = told(story.bad)["looked_up"]
    assert cost["asked"] <= 3 * cost["found"], cost


def test_a_day_and_a_stretch_at_once_are_refused(trace, story: BadBatch) -> None:
    """One or the other; and never backwards."""
    assert trace("T001", "--on", "2026-03-03", "--to", "2026-03-04").exit_code == 2
    assert trace("L1", "--from", "2026-03-05", "--to", "2026-03-04").exit_code == 2
    assert trace("T001", "--on", "2031-01-01").exit_code == 2
