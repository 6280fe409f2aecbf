"""``hygiene water`` and ``trend`` as typed: what is said, and the exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_farm import SmallFarm
from water_shed import sampled

READ = ("water", "P1", "free=0.6", "--kit", "DPD", "--by", "AB")


@pytest.fixture
def type_(run, watered: SmallFarm):
    """Type a command a minute later."""

    def typed(*words: object, **more: object):
        watered.later(minutes=1)
        return run(*words, world=watered.world(), **more)

    return typed


def read(made) -> list[dict[str, object]]:
    return json.loads(made.output)


def test_a_good_reading_says_what_it_was_held_against(type_) -> None:
    """Exit code 0, the entry, and the limit."""
    made = type_(*READ)
    assert made.exit_code == 0
    assert "P1: free 0.6" in made.output
    assert "free chlorine 0.6 mg/L  within 1.0 mg/L at most" in made.output


def test_out_of_limit_exits_3_with_the_source_and_what_next(type_) -> None:
    """The rule, who says so, and the command to type."""
    made = type_("water", "P1", "coliforms=>2419.6", "ecoli=<1", "--lab", "L",
                 "--certificate", "7731", "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert "OUT OF LIMIT: 0 per 100 ml at most" in made.output
    assert "98/83/EC Annex I Part C" in made.output
    assert "E. coli <1 per 100 ml                 within" in made.output
    assert "Take it again: hygiene water P1 coliforms=RESULT --lab" in made.output


def test_the_story_of_a_failed_e_coli_on_screen(type_) -> None:
    """Fail, hold, refusal to release, resample, close, release."""
    made = type_("water", "P1", "ecoli=5", "--lab", "L", "--by", "AB")
    assert "SOW NOTHING from L1" in made.output
    (hold,) = read(type_("log", "hold", "--json"))
    made = type_("release", hold["entry"], "--why", "clean", "--by", "AB")
    assert made.exit_code == 5
    assert "hygiene water P1 ecoli=RESULT --lab NAME" in made.stderr
    made = type_("water", "P1", "ecoli=<1", "--lab", "L", "--by", "AB")
    assert made.exit_code == 0
    close = next(
        line for line in made.output.splitlines() if line.startswith("Now it can end")
    )
    words = close.split("hygiene ")[1].removesuffix("--did TEXT").split()
    assert type_(*words, "--did", "flushed", "--by", "AB").exit_code == 0
    made = type_("release", hold["entry"], "--why", "clean", "--by", "AB")
    assert made.exit_code == 0
    assert "HELD" not in type_("today").output


def test_a_certificate_is_attached(type_, tmp_path: Path, watered: SmallFarm) -> None:
    """Its hash stands in the entry, its bytes in the record."""
    paper = tmp_path / "7731.pdf"
    paper.write_bytes(b"certificate")
    type_("water", "P1", "ecoli=0", "--lab", "L", "--attach", paper, "--by", "AB")
    (made,) = read(type_("log", "water", "--json"))
    (file,) = made["body"]["attached"]
    assert (file["name"], file["bytes"]) == ("7731.pdf", 11)
    with watered.open() as record:
        assert record.file(file["sha256"]) == b"certificate"


def test_the_same_again_is_already_recorded(run, watered: SmallFarm) -> None:
    """A retry exits 0, even of what was out of limit."""
    words = ("water", "P1", "coliforms=5", "--lab", "L", "--by", "AB")
    assert run(*words, world=watered.world()).exit_code == 3
    made = run(*words, world=watered.world())
    assert made.exit_code == 0
    assert made.output.startswith("Already recorded as")


@pytest.mark.parametrize(
    ("words", "code", "part"),
    [
        (("water",), 2, "name one of: P0, P1, P2"),
        (("water", "P1"), 2, "hygiene water --list"),
        (("water", "P7", "free=1"), 4, "there are: P0, P1, P2"),
        (("water", "P1", "fre=1"), 4, "did you mean free?"),
        (("water", "P1", "free"), 2, "KEY=VALUE"),
        (("water", "P1", "free=lots"), 2, "write 12, 0.6, <1, >200"),
        (("water", "P1", "free=1", "--kit", "X"), 4, "there is no kit"),
        (("water", "P1", "free=1", "--after", "flood"), 2, "in a command of its own"),
        (("water", "P1", "--after", "war"), 2, "is not one of repair, flood"),
        (("water", "P1", "free=1", "ph.kit=DPD"), 2, "has no 'ph'"),
        (("water", "P1", "free=1", "--received", "05:00"), 2, "not received at"),
        (("trend", "P2"), 4, "nothing of that was read at P2"),
        (("trend", "P2", "luck"), 4, "there is no water parameter"),
    ],
)
def test_what_is_wrongly_put_says_what_to_type(
    type_, words: tuple[str, ...], code: int, part: str
) -> None:
    """One line, the right exit code, and nothing is written."""
    by = () if words[0] == "trend" else ("--by", "AB")
    made = type_(*words, *by)
    assert (made.exit_code, part in made.stderr) == (code, True), made.stderr
    assert read(type_("log", "water", "--json")) == []


def test_a_certificate_older_than_the_set_up_is_judged_by_what_counts_now(
    type_,
) -> None:
    """A new farm brings its old papers."""
    made = type_("water", "P1", "ecoli=0", "--lab", "L", "--at", "2026-01-10 08:00",
                 "--by", "AB")  # fmt: skip
    assert made.exit_code == 0
    assert "within 0 per 100 ml at most" in made.output


def test_the_list_shows_names_units_and_limits(type_) -> None:
    """And how each limit was checked."""
    made = type_("water", "p1", "--list")
    assert made.exit_code == 0
    assert "0 per 100 ml at most, stops sowing: 98/83/EC Annex I Part A" in made.output
    assert "1.0 mg/L at most: the farm's own limit" in made.output
    assert "(second hand)" in made.output
    assert "hygiene water P1 --list" in type_("water", "--list").output


def test_a_flood_makes_samples_due_on_the_page(type_) -> None:
    """At all points, or at those that are named."""
    made = type_("water", "all", "--after", "flood", "--what", "yard", "--by", "AB")
    assert made.exit_code == 0
    assert "flood at P0, P1, P2: yard" in made.output
    page = type_("today").output
    assert "WATER TO SAMPLE, OR READ AGAIN" in page
    assert "P2      today           flood on 2026-03-02, no sample since" in page
    near = read(type_("today", "--json"))
    assert {sample["point"] for sample in near["samples"]} == {"P0", "P1", "P2"}


def test_a_result_is_put_right_and_judged_anew(type_) -> None:
    """0 that was 5 opens its action and hold; the first version stays readable."""
    name = type_("water", "P1", "ecoli=0", "--lab", "L", "--by", "AB").output.split()[2]
    made = type_("correct", name.rstrip(":"), "ecoli=5", "--reason", "misread",
                 "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert "line L1 held: E. coli 5 per 100 ml at P1" in made.output
    page = type_("show", name.rstrip(":")).output
    assert "as_written 0" in page
    assert "as_written 5" in page


def test_a_result_is_added_left_out_and_told_its_kit(type_) -> None:
    """A correction writes the whole body again."""
    name = type_("water", "P2", "free=0.4", "ph=7", "--kit", "DPD", "--by", "AB")
    name = name.output.split()[2].rstrip(":")
    made = type_("correct", name, "temp=12", "ph=", "free.method=DPD no. 1",
                 "--reason", "x", "--by", "AB")  # fmt: skip
    assert made.exit_code == 0
    (found,) = read(type_("log", "water", "--json"))
    rows = found["body"]["results"]
    assert {row["parameter"]: row.get("method") for row in rows} == {
        "free": "DPD no. 1",
        "temp": None,
    }
    made = type_("correct", name, "ph.kit=PH", "--reason", "x", "--by", "AB")
    assert made.exit_code == 2


def test_cautions_stand_beside_the_answer(type_) -> None:
    """On stderr, so that a pipe stays clean."""
    made = type_("water", "P2", "free=0.8", "total=0.5", "--kit", "DPD", "--by", "AB")
    assert "Total chlorine reads below free" in made.stderr


def weeks(farm: SmallFarm, *results: str, code: str = "free") -> None:
    for text in results:
        farm.later(days=7)
        by_kit = {"kits": ("DPD",)} if code == "free" else {"lab": "Varrow"}
        sampled(farm, "P2", results={code: text}, **by_kit)


FALLING = ("0.90", "0.82", "0.80", "0.71", "0.66", "0.61", "0.50", "0.41")


def test_a_trend_is_drawn_in_eighty_columns(type_, watered: SmallFarm) -> None:
    """With its limits, its last readings, and the drift by its published name."""
    weeks(watered, *FALLING)
    made = type_("trend", "P2", "free")
    assert made.exit_code == 0
    assert max(map(len, made.output.splitlines())) <= 80
    assert made.output.isascii()
    assert (
        "free chlorine, mg/L   P2, Last nozzle of line 2   readings: 8" in made.output
    )
    assert made.output.count("o") >= 8
    assert "DRIFT: free chlorine falls" in made.output
    assert "Mann-Kendall test" in made.output
    assert "hint, not proof" in made.output


def test_censored_results_are_drawn_as_such(type_, watered: SmallFarm) -> None:
    """Less than, more than, out of limit: each its own sign."""
    weeks(watered, "<1", "3", ">2419.6", "<1", code="coliforms")
    rows = type_("trend", "P2").output.splitlines()
    plot = [row[8:66] for row in rows if row[7:8] == "|"]
    assert sum(row.count("v") for row in plot) == 2
    assert sum(row.count("X") for row in plot) == 2
    high = next(n for n, row in enumerate(plot) if "X" in row)
    assert plot[high - 1].index("^") == plot[high].index("X")


@pytest.mark.parametrize("width", [50, 80])
def test_the_signs_of_a_trend_fit_the_terminal(
    run, watered: SmallFarm, width: int
) -> None:
    """The picture and what its signs mean, on as many lines as that needs."""
    weeks(watered, *FALLING)
    world = watered.world()._replace(width=width)
    page = run("trend", "P2", "free", world=world).output.split("\n\n")[0]
    assert max(map(len, page.splitlines()[1:])) <= width
    assert "? not to be relied on" in page


def test_trend_json_keys_stay_put(type_, watered: SmallFarm) -> None:
    """What a program reads."""
    weeks(watered, *FALLING)
    (made,) = read(type_("trend", "P2", "--json"))
    assert made.keys() == {
        "point", "parameter", "unit", "readings", "limits", "sanitiser_changes",
        "drift",
    }  # fmt: skip
    assert made["readings"][0].keys() == {
        "at", "value", "sign", "as_written", "verdict", "trusted", "entry",
    }  # fmt: skip
    assert made["drift"].keys() == {
        "direction", "since", "until", "readings", "s", "p", "per_30_days", "rule",
    }  # fmt: skip
    assert (made["drift"]["direction"], made["drift"]["s"]) == ("falls", -28)


def test_a_period_is_chosen_with_both_ends(type_, watered: SmallFarm) -> None:
    """The first and the last day are both included."""
    weeks(watered, *FALLING)
    made = read(type_("trend", "P2", "--json", "--from", "2026-03-16", "--to",
                      "2026-03-23"))  # fmt: skip
    assert [r["value"] for r in made[0]["readings"]] == [0.82, 0.8]


def test_at_a_terminal_what_is_missing_is_asked_for(run, watered: SmallFarm) -> None:
    """Point, readings and kits, in words like those that are typed; Enter says none."""
    watered.later(minutes=1)
    world = watered.world(asks=True)
    made = run("water", "--by", "AB", world=world, given="P1\nfree=0.6\nDPD\n")
    assert made.exit_code == 0
    assert "free chlorine 0.6 mg/L  within 1.0 mg/L at most" in made.output
    (entry,) = read(run("log", "water", "--json", world=world))
    assert (entry["body"]["point"], entry["body"]["kit"]) == ("P1", "DPD")


def test_a_question_that_is_left_open_ends_as_ever(run, watered: SmallFarm) -> None:
    """Nothing is written, and it says what to type."""
    for given, said in (("\n\n\n", "at which point"), ("P1\n\n\n", "nothing was read")):
        made = run("water", "--by", "AB", world=watered.world(asks=True), given=given)
        assert made.exit_code == 2
        assert said in made.stderr


def test_a_full_line_is_asked_nothing(run, watered: SmallFarm) -> None:
    """Also at a terminal; a laboratory needs no kit."""
    watered.later(minutes=1)
    words = ("water", "P1", "ecoli=<1", "--lab", "L", "--by", "AB")
    assert run(*words, world=watered.world(asks=True), given="").exit_code == 0
