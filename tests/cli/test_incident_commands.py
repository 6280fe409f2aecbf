"""``mould``, ``pest``, ``ill``, ``assess``, ``notify``, ``release`` as typed."""

from __future__ import annotations

import json
import re
from datetime import date

import pytest
from sprout_farm import SproutFarm

from hygiene.acts.standing import open_holds
from hygiene.cli.vet_sheet import _fed
from hygiene.tracing.eaten import DayFed


@pytest.fixture
def hygiene(run, sprouts: SproutFarm):
    return lambda *words, **more: run(*words, world=sprouts.world(), **more)


def held(sprouts: SproutFarm) -> list[str]:
    return [str(h.first.get("held")) for h in sprouts.read(open_holds)]


def test_mould_holds_cautions_lists_and_proposes(hygiene, sprouts: SproutFarm) -> None:
    """In a script the proposals are printed as commands, and nothing asks."""
    batch, near = sprouts.batch(), sprouts.batch(trays=range(5, 7), rack="R2")
    sprouts.feed(batch, 1)
    made = hygiene("mould", batch.lower(), "--trays", "T002", "--colour", "grey",
                   "--share", "10", "--day", "5", "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert "do not trim it, do not dilute it, do not sniff it" in made.output
    assert "ALREADY FED OR SENT" in made.output
    assert f"  {near}: shares room GROW; line L1" in made.output
    assert near not in held(sprouts)
    (command,) = [x for x in made.output.splitlines() if x.startswith("  hygiene hold")]
    assert '--shares "room GROW; line L1"' in command


def test_the_printed_command_holds_the_sibling_as_a_precaution(
    hygiene, sprouts: SproutFarm
) -> None:
    """So that a written assessment can let it go."""
    batch, near = sprouts.batch(), sprouts.batch(trays=range(5, 7), rack="R2")
    mould = sprouts.mould(batch).mould.name
    made = hygiene(
        "hold",
        near,
        "--sort",
        "batch",
        "--why",
        "precaution",
        "--because",
        mould,
        "--shares",
        "room GROW",
        "--by",
        "AB",
    )
    assert made.exit_code == 0
    hold = sprouts.entries("hold")[-1].name
    refused = hygiene("release", hold, "--why", "clean", "--by", "AB")
    assert (refused.exit_code, "hygiene assess" in refused.output) == (5, True)
    assert hygiene("assess", hold, "--found", "clean", "--by", "CD").exit_code == 0
    assert hygiene("release", hold, "--why", "clean", "--by", "AB").exit_code == 0
    assert near not in held(sprouts)


def test_mould_holds_what_is_proposed_where_that_is_said(
    hygiene, sprouts: SproutFarm
) -> None:
    """--hold-proposed."""
    batch, near = sprouts.batch(), sprouts.batch(trays=range(5, 7), rack="R2")
    hygiene("mould", batch, "--hold-proposed", "--by", "AB")
    assert near in held(sprouts)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("R9", "a rack: R1"),
        ("B-1", "give a batch (hygiene log sow)"),
        ("T0011", "did you mean T"),
        ("T001..T9999", "there is no tray"),
    ],
)
def test_mould_of_what_is_not_there_says_what_to_give(
    hygiene, given: str, said: str
) -> None:
    """A batch, trays or a rack: whichever of them it was meant to be."""
    made = hygiene("mould", given, "--by", "AB")
    assert made.exit_code == 4
    assert said in made.stderr


def test_mould_asks_at_a_terminal(run, sprouts: SproutFarm) -> None:
    """Enter holds them; no leaves them."""
    batch, near = sprouts.batch(), sprouts.batch(trays=range(5, 7), rack="R2")
    world = sprouts.world()._replace(asks=True)
    run("mould", batch, "--by", "AB", world=world, given="n\n")
    assert near not in held(sprouts)
    sprouts.later(minutes=2)
    run("mould", batch, "--by", "AB", world=world, given="\n")
    assert near in held(sprouts)


@pytest.mark.parametrize("what", ["R1", "T001..T002"])
def test_mould_on_a_rack_or_in_trays_finds_the_batch(
    hygiene, sprouts: SproutFarm, what: str
) -> None:
    """What stands or grows there is held."""
    batch = sprouts.batch()
    hygiene("mould", what, "--by", "AB")
    assert batch in held(sprouts)


def test_the_walk_round_tells_a_find_as_mould_does(
    hygiene, sprouts: SproutFarm
) -> None:
    """One act, one caution, one list of who ate."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    made = hygiene("sign", "walk", "temp=21", "pests=none", "mould.R1=2", "mould.R2=0",
                   "mould.R3=0", "--reason", "late", "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert f"MOULD in {batch}." in made.output
    assert "ALREADY FED OR SENT" in made.output
    assert batch in held(sprouts)


def test_release_of_a_mouldy_batch_wants_the_vet(hygiene, sprouts: SproutFarm) -> None:
    """The farm file knows who that is; another must be said to be one."""
    hold = sprouts.mould(sprouts.batch()).holds[0].name
    words = ("release", hold, "--why", "seen", "--by", "AB")
    assert hygiene(*words).exit_code == 5
    letter = ("--document", "letter of 3 March")
    assert hygiene(*words, *letter, "--word-of", "B. Locum").exit_code == 5
    made = hygiene(*words, *letter, "--word-of", "b. locum", "--as", "vet")
    assert made.exit_code == 0
    assert sprouts.entries("release")[0].get("word_role") == "vet"


def test_release_keeps_some_trays_held(hygiene, sprouts: SproutFarm) -> None:
    """The vet narrowed it."""
    batch = sprouts.batch()
    hold = sprouts.mould(batch).holds[0].name
    made = hygiene("release", hold, "--why", "seen", "--word-of", "E. Ash",
                   "--document", "x", "--keep", "T003..T004", "--by", "AB")  # fmt: skip
    assert made.exit_code == 0
    kept = sprouts.entries("hold")[-1]
    assert (kept.get("held"), kept.get("trays")) == (batch, ["T003", "T004"])


def test_ill_prints_the_sheet_and_proposes_all_that_grows(
    hygiene, sprouts: SproutFarm
) -> None:
    """Exit 3; heads at risk are the group's, if none are said."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    made = hygiene("ill", "ewes", "--since", "yesterday", "--heads", "3", "--signs",
                   "trembling", "--eating", "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert "STOP THE FODDER" in made.output
    assert f"  {batch}, which grows" in made.output
    assert "3 of 40 at risk ill: trembling; appetite" in made.output


def test_notify_names_who_was_told_of_what(hygiene, sprouts: SproutFarm) -> None:
    """Entries and codes can be looked up by what they were told about."""
    batch = sprouts.batch()
    mould = sprouts.mould(batch).mould.name
    made = hygiene(
        "notify",
        "vet",
        "--told",
        "E. Ash",
        "--what",
        "stop feeding",
        "--about",
        mould,
        "--about",
        batch.lower(),
        "--by",
        "AB",
    )
    assert made.exit_code == 0
    named = sprouts.read(lambda r: r.mentioning(batch))
    assert named[-1].kind == "notify"
    assert hygiene("notify", "aunt", "--told", "x", "--what", "y").exit_code == 2


def test_pest_is_written_once(hygiene, sprouts: SproutFarm) -> None:
    """The same again within the minute is a retry."""
    words = ("pest", "rat", "--place", "store", "--count", "2", "--by", "AB")
    assert hygiene(*words).exit_code == 0
    assert "Already recorded" in hygiene(*words).output
    assert len(sprouts.entries("pest")) == 1


def test_an_incident_ends_with_all_that_it_wants(hygiene, sprouts: SproutFarm) -> None:
    """Cause, what was done, the deep clean, a recheck and the effect."""
    found = sprouts.mould(sprouts.batch())
    action = found.action.name
    hygiene("recheck", action, "--seen", "clean trays", "--passed", "--by", "AB")
    words = ("close", action, "--did", "discarded", "--cause", "wet corner")
    refused = hygiene(*words, "--by", "AB")
    assert refused.exit_code == 5
    assert "--cleaned TEXT, --effect TEXT" in refused.output
    made = hygiene(*words, "--cleaned", "by the deep variant", "--effect",
                   "three batches without mould", "--by", "AB")  # fmt: skip
    assert made.exit_code == 0


def test_a_struck_end_that_holds_again_is_said(hygiene, sprouts: SproutFarm) -> None:
    """Striking the discard lets the trays grow again: their hold is written anew."""
    batch = sprouts.batch()
    hold = sprouts.mould(batch).holds[0].name
    gone = sprouts.discard(batch, 1, 2, 3, 4, witness="CD").entry.name
    hygiene("release", hold, "--why", "nothing left", "--by", "AB")
    made = hygiene("strike", gone, "--reason", "other batch", "--by", "AB")
    assert made.exit_code == 3
    assert f"batch {batch} held" in made.output


def test_the_sheet_is_printed_again_and_for_a_program(
    hygiene, sprouts: SproutFarm
) -> None:
    """Reading it writes nothing."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    count = sprouts.read(lambda r: r.count())
    assert "SHEET FOR THE VET" in hygiene("vet", "ewes").output
    made = json.loads(hygiene("vet", "EWES", "--json").output)
    assert made["eaten"][0]["batch"] == batch
    assert made["days"][-1]["kg_per_head"] == 0.18
    assert sprouts.read(lambda r: r.count()) == count


@pytest.mark.parametrize(
    ("since", "heads", "says"),
    [("2027-01-01", "3", "has not come yet"), ("yesterday", "41", "from 0 to 40")],
)
def test_ill_refuses_what_cannot_be(
    hygiene, sprouts: SproutFarm, since: str, heads: str, says: str
) -> None:
    """A day to come; more heads than the group has."""
    made = hygiene("ill", "ewes", "--since", since, "--heads", heads, "--signs",
                   "trembling", "--by", "AB")  # fmt: skip
    assert made.exit_code == 2
    assert says in made.output
    assert sprouts.entries("ill") == []


def test_a_hold_on_trays_of_another_batch_would_hold_nothing(
    hygiene, sprouts: SproutFarm
) -> None:
    """It is refused, and says to hold the batch whole."""
    batch = sprouts.batch()
    words = ("hold", batch, "--sort", "batch", "--why", "musty", "--by", "AB")
    made = hygiene(*words, "--trays", "T009")
    assert made.exit_code == 2
    assert f"T009 is no tray of {batch}" in made.output
    assert held(sprouts) == []
    assert hygiene(*words, "--trays", "T002").exit_code == 0


def test_days_of_fodder_stand_apart_on_the_vets_sheet() -> None:
    """Also where the heads of a day are not known and much was fed."""
    days = [DayFed(date(2026, 3, n), 1_234_567, None, ()) for n in range(1, 22)]
    for row in _fed(days):
        assert re.fullmatch(r"(\d\d Mar heads \? \(1234.567 kg\)( {2,}|$)){3}", row)
