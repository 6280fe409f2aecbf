"""container, dose, rinse, trays and cost at the terminal."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from dose_farm import FLOOR, DoseFarm, read

GOOD = (
    "--start", "190", "--end", "160", "--kit", "qs", "--temp", "14 C", "--stood",
    "12 min", "--washed", "--rinsed", "--dry", "--gear", "Gloves, goggles",
)  # fmt: skip


@pytest.fixture
def at(run: Any, doses: DoseFarm) -> Any:
    """Run a command at the shed, by AB, a minute after the one before."""

    def go(*words: object) -> Any:
        doses.later(minutes=1)
        world = doses.world()
        return run(*words, world=world)

    return go


def by(*words: str) -> tuple[str, ...]:
    return (*words, "--by", "ab")


def came(at: Any, *more: str) -> str:
    made = at(*by("container", "hypo", "--size", "10 L", "--made", "2026-03-01", *more))
    assert made.exit_code == 0, made.stderr
    return str(made.output.split("Write ")[1].split()[0])


def test_a_container_comes_in_is_opened_and_measured(at: Any) -> None:
    """Each prints what it wrote; the list shows what is left and how strong."""
    code = came(at, "--maker-batch", "HX 26/2", "--kept-at", "59 F", "--count", "2")
    assert at(*by("container", code, "--open")).exit_code == 0
    found = at(*by("container", code, "--strength", "112 g/L", "--method", "strip"))
    assert f"{code} holds 112.0 g/L by strip" in found.output
    page = at("container").output
    assert page.count("hypo") == 2
    assert "10 L of 10 L" in page
    whole = at("container", code.replace("-", "").lower()).output
    assert "maker batch: HX 26/2" in whole
    assert "opened" in whole
    (row, _) = json.loads(at("container", "--json").output)
    assert row["kept_where"] is None
    assert row["strength_at_most"] == 112


def test_a_container_is_told_as_json_too(at: Any) -> None:
    """The command lists and writes: ``--json`` holds for both."""
    words = ("container", "hypo", "--size", "10 L", "--made", "2026-03-01", "--json")
    (entry,) = json.loads(at(*by(*words)).stdout)
    assert entry["kind"] == "container"
    assert entry["body"]["product"] == "hypo"


@pytest.mark.parametrize("what", [("--size", "10 L"), ("--strength", "120 g/L")])
def test_a_photo_of_the_label_is_kept(
    at: Any, doses: DoseFarm, what: tuple[str, str]
) -> None:
    """With a container that comes in, and with one that is measured."""
    code = "hypo" if what[0] == "--size" else came(at)
    photo = doses.folder / "label.jpg"
    photo.write_bytes(b"\xff\xd8label")
    made = at(*by("container", code, *what, "--attach", str(photo), "--json"))
    assert made.exit_code == 0, made.output
    (entry,) = json.loads(made.stdout)
    assert entry["body"]["attached"][0]["name"] == "label.jpg"


def test_product_that_is_gone(at: Any) -> None:
    """Written off with a reason; a reason is wanted."""
    code = came(at)
    made = at(*by("container", code, "--lost", "250 ml", "--why", "spilled"))
    assert "250 ml of" in made.output
    assert "9.75 L of 10 L" in at("container").output
    assert at(*by("container", code, "--lost", "1 L")).exit_code == 2
    over = at(*by("container", code, "--lost", "20 L", "--why", "leaked"))
    assert over.exit_code == 3
    assert "DOES NOT ADD UP" in at("container", code).output


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("container", "hypp", "--size", "10 L"), 4),
        (("container", "hypo", "--size", "10"), 2),
        (("container", "hypo", "--size", "10 gal"), 2),
        (("container", "C-QQ-1-Q", "--open"), 4),
        (("container", "hypo", "--size", "10 L", "--open"), 2),
        (("container", "hypo", "--size", "10 L", "--made", "May"), 2),
        (("dose", "T001"), 2),
        (("dose", "T001", "L1", "--product", "hypo"), 2),
        (("dose", "T999", "--product", "hypo"), 4),
        (("dose", "T001", "--product", "hypo", "--start", "strong"), 2),
        (("dose", "T001", "--product", "hypo", "--read", "bath=190"), 2),
        (("dose", "--product", "hypo"), 2),
        (("rinse",), 2),
        (("rinse", "T001", "--not-rinsed"), 2),
        (("trays", "T999"), 4),
        (("cost", "--month", "March"), 2),
    ],
)
def test_what_is_wrongly_put(at: Any, words: tuple[str, ...], code: int) -> None:
    """One line that says what to type; nothing is written."""
    asks = () if words[0] in ("trays", "cost") else ("--by", "AB")
    made = at(*words, *asks)
    assert made.exit_code == code
    assert made.stderr.startswith(("hygiene:", "Usage:"))
    assert "Traceback" not in made.stderr


def test_a_plan_says_what_to_measure(at: Any, doses: DoseFarm) -> None:
    """Both ends, the working, the cautions; nothing is written."""
    code = came(at)
    before = doses.read(lambda record: record.count())
    words = ("dose", "T001..T012", "--from", code, "--to", "200", "--in", "60 L")
    made = at(*by(*words, "--check"))
    assert made.exit_code == 0
    assert f"from {code} into water, made up to 60 L" in made.output
    assert "If it has aged" in made.output
    assert "Nothing was written" in made.output
    found = json.loads(at(*by(*words, "--check", "--json")).output)
    assert found["planned_tenth_ml"] in range(960, 970)
    assert found["cautions"]
    assert doses.read(lambda record: record.count()) == before


def test_a_plan_without_a_can_says_what_it_lacks(at: Any) -> None:
    """The rules are answered; how much to measure hangs on the can's own age."""
    words = ("T001", "--product", "hypo", "--to", "200", "--in", "60 L", "--check")
    made = at(*by("dose", *words))
    assert made.exit_code == 0, made.stderr
    assert "not worked out" in made.output
    assert "--from CODE" in made.output


def test_a_plan_refused_exits_5(at: Any) -> None:
    """The rule, its source, the way out; nothing is half written."""
    code = came(at)
    words = ("dose", "T001", "--from", code, "--to", "600", "--in", "60 L", "--check")
    made = at(*by(*words))
    assert made.exit_code == 5
    for word in ("refused:", "rule: the label of Shed Hypochlorite", "way out:"):
        assert word in made.stderr


def test_a_good_dose_clears_its_trays(at: Any) -> None:
    """Until when, and what is left in the can."""
    code = came(at)
    words = ("dose", "T001..T012", "--from", f"{code}=96ml", "--to", "200")
    made = at(*by(*words, "--in", "60 L", *GOOD))
    assert made.exit_code == 0, made.stderr
    assert "hypo on T001..T012, 96 ml, start 190 mg/L, end 160 mg/L" in made.output
    assert "CLEARED until Thu 05 March" in made.output
    assert "CLEARED until" in at("trays").output
    found = json.loads(at("trays", "t001", "T040", "--json").output)
    assert found["trays"]["T001"]["cleared"] is True
    assert found["trays"]["T040"]["cleared"] is False
    assert "9.904 L of 10 L" in at("container").output


def test_a_failed_dose_exits_3_and_says_what_next(at: Any) -> None:
    """Marked, its action named, and no tray cleared."""
    words = ("dose", "T001..T003", "--product", "hypo", *GOOD, "--end", "60")
    made = at(*by(*words))
    assert made.exit_code == 3
    assert "MARKED too-weak: 60 mg/L at the end is too weak" in made.output
    assert "hygiene recheck" in made.output
    assert "NOT CLEARED T001..T003" in made.output
    assert "TO PUT RIGHT" in at("today").output


def test_an_incident_says_so(at: Any) -> None:
    """Peracid after bleach in the same jug."""
    at(*by("dose", "T001", "--product", "hypo", "--tools", "jug1", *GOOD))
    words = ("dose", "T002", "--product", "peracid", "--tools", "JUG1")
    made = at(*by(*words, "--read", "start=150", "--kit", "QS"))
    assert made.exit_code == 3
    assert "INCIDENT:" in made.output
    assert "go upwind" in made.output
    asked = at(*by(*words, "--check"))
    assert asked.exit_code == 5
    assert at(*by("rinse", "JUG1")).exit_code == 0
    again = ("dose", "T003", "--product", "hypo", "--tools", "JUG1", "--check")
    assert at(*by(*again)).exit_code == 0


def test_a_shock_of_a_line_and_its_flush(at: Any, doses: DoseFarm) -> None:
    """On today until it is flushed, read and running."""
    code = came(at)
    words = ("dose", "L1", "--from", f"{code}=8.7ml", "--to", "110")
    made = at(*by(*words, "--read", "nozzle=110", "--kit", "QS", "--temp", "12 C",
                  "--locked-off-by", "AB"))  # fmt: skip
    assert made.exit_code == 0, made.output
    assert "NOT CLEARED line L1" in made.output
    assert "NOT CLEARED: do not water or sow" in at("today").output
    doses.later(hours=4)
    made = at(*by("rinse", "L1", "--read", "end=60", "--read", "nozzle=0.3",
                  "--read", "incoming=0.3", "--kit", "QS", "--timer-on"))  # fmt: skip
    assert "Line L1 is cleared." in made.output
    assert "NOT CLEARED" not in at("today").output


def test_a_time_past_midnight_is_the_next_day(at: Any, doses: DoseFarm) -> None:
    """A soak that began in the evening ended in the morning."""
    doses.later(days=1)
    words = ("dose", "T001", "--product", "hypo", "--at", "2026-03-02 22:00")
    made = at(*by(*words, "--ended", "06:00"))
    assert made.exit_code == 0
    entry = doses.entries("dose")[-1]
    assert entry.get("ended_at") == "2026-03-03T06:00:00+00:00"


def test_a_reading_is_put_right_on_one_line(at: Any, doses: DoseFarm) -> None:
    """And judged anew; it clears nothing until a second person has looked."""
    doses.dose(1, 2, readings=(read("start", 190), read("end", 60)))
    name = doses.entries("dose")[0].name
    made = at(*by("correct", name, "end=160", "--reason", "misread"))
    assert made.exit_code == 0
    fixed = made.output.split()[2].rstrip(":")
    assert "NOT CLEARED" in at("trays", "T001").output
    assert at("countersign", fixed, "--by", "CD").exit_code == 0
    assert "CLEARED until" in at("trays", "T001").output
    assert at(*by("correct", name, "middle=1", "--reason", "x")).exit_code == 4


def test_trays_may_be_asked_about_beforehand(at: Any, doses: DoseFarm) -> None:
    """Exit code 5 with every reason and the way out, 0 where all are cleared."""
    doses.dose(1, 2)
    assert at("trays", "T001,T002", "--check").exit_code == 0
    made = at("trays", "T001..T003", "--check")
    assert made.exit_code == 5
    assert "refused: T003 not cleared: nothing shows" in made.stderr


def test_a_correction_says_who_lets_it_count(at: Any, doses: DoseFarm) -> None:
    """The way out is named where only the old version stands against it."""
    doses.dose(1, readings=(read("start", 60),))
    name = doses.entries("dose")[0].name
    at(*by("correct", name, "start=160", "--reason", "misread"))
    assert "hygiene countersign" in at("trays", "T001").output.replace("\n    ", " ")


def test_a_product_that_does_not_hang_together(at: Any, doses: DoseFarm) -> None:
    """Said when a container of it comes in."""
    odd = replace(FLOOR, code="odd", uses=("tray",))
    doses.act(lambda w: w.add(odd, by="AB"))
    made = at(*by("container", "odd", "--size", "5 L"))
    assert made.exit_code == 0
    assert "said to be for tray and is PT2" in made.output


def test_a_draw_is_put_right_on_one_line(at: Any, doses: DoseFarm) -> None:
    """By the container's code."""
    code = came(at)
    at(*by("dose", "T001", "--from", f"{code}=900ml", *GOOD))
    name = doses.entries("dose")[0].name
    made = at(*by("correct", name, f"{code.lower()}=90ml", "--reason", "a nought"))
    assert made.exit_code == 0
    assert "9.91 L of 10 L" in at("container").output


def test_today_shows_clean_trays_and_cans_near_their_end(
    at: Any, doses: DoseFarm
) -> None:
    """Against what a day's sowing takes."""
    doses.batch(trays=range(21, 25))
    doses.dose(1, 2)
    came(at, "--expires", "2026-03-10")
    page = at("today").output
    assert "CLEARED TRAYS: 2; a day's sowing takes 4  NOT ENOUGH" in page
    assert "by 10 March 2026: its expiry date" in page
    made = json.loads(at("today", "--json").output)
    assert made["trays_cleared"] == ["T001", "T002"]
    assert made["trays_sown_a_day"] == 4
    assert made["lines_not_cleared"] == {}
    assert [c["last"] for c in made["containers_ending"]] == ["2026-03-10"]


def test_cost_says_what_has_no_price(at: Any, doses: DoseFarm) -> None:
    """Product alone here; the currency is the farm's."""
    doses.setting(currency="GBP")
    code = came(at)
    at(*by("dose", "T001", "--from", f"{code}=1L", "--in", "60 L", *GOOD))
    page = at("cost").output
    assert "2.50 GBP  hypo 2.50" in page
    assert "Not counted: water: no price" in page
    found = json.loads(at("cost", "--month", "2026-03", "--json").output)
    assert found["product"] == 2.5
    assert found["first"] == "2026-03-01"
    assert date.fromisoformat(found["last"]).day == 31


def test_a_contact_has_not_ended_tomorrow(at: Any, doses: DoseFarm) -> None:
    """A clock time before the start is of the next day only once that has come."""
    words = ("dose", "T001", "--product", "hypo", "--at", "2026-03-02 06:00")
    made = at(*by(*words, "--ended", "05:50"))
    assert made.exit_code == 2
    assert "2026-03-03 05:50 has not come yet" in made.output
    assert doses.entries("dose") == []
