"""``calibrate``, ``train``, ``visitor``, ``accident``, ``file``, ``season``, typed."""

from __future__ import annotations

import json

import pytest
from small_farm import SmallFarm

CHECK = ("calibrate", "PH", "--against", "buffer 7", "--by", "AB")


@pytest.fixture
def type_(run, watered: SmallFarm):
    """Type a command a minute later."""

    def typed(*words: object, **more: object):
        watered.later(minutes=1)
        return run(*words, world=watered.world(), **more)

    return typed


def test_a_check_that_passed(type_) -> None:
    """Exit code 0, and what it showed."""
    made = type_(*CHECK, "--shown", "7.04 pH", "--passed")
    assert made.exit_code == 0
    assert "PH against buffer 7: good, showed 7.04 pH" in made.output


def test_a_check_that_failed_lists_what_was_read_with_it(type_) -> None:
    """Exit code 3; the kit is out of use on the page of the day."""
    type_(*CHECK, "--passed")
    type_("water", "P2", "ph=7.1", "--kit", "PH", "--by", "AB")
    made = type_(*CHECK, "--failed")
    assert made.exit_code == 3
    assert "look at: " in made.output
    assert "P2: ph 7.1" in made.output
    page = type_("today").output
    assert "PH      OUT OF USE      pH meter: failed its check on 2026-03-02" in page
    made = type_(*CHECK, "--passed")
    assert "Now it can end: hygiene close" in made.output


@pytest.mark.parametrize(
    ("words", "code", "part"),
    [
        ((*CHECK[:4], "--passed", "--shown", "7"), 2, "such as '0.2 C'"),
        (("calibrate", "K9", "--against", "x", "--passed"), 4, "there is no kit"),
        (("train", "ZZ", "water"), 4, "AB"),
        (("train", "CD", "water", "--until", "soon"), 2, "is not a day"),
        (("accident", "oops", "--who", "CD", "--what", "x"), 2, "splash, gas"),
        (("file", "leaflet", "--title", "x"), 2, "site-plan"),
        (("file",), 2, "or --list"),
        (("season", "pause"), 2, "write start or stop"),
        (("season", "start"), 5, "runs already"),
    ],
)
def test_what_is_wrongly_put_says_what_to_type(
    type_, words: tuple[str, ...], code: int, part: str
) -> None:
    """One line and the right exit code."""
    by = () if "--by" in words else ("--by", "AB")
    made = type_(*words, *by)
    assert (made.exit_code, part in made.stderr) == (code, True), made.stderr


def test_a_training_of_last_week_counts_from_that_day(type_, watered) -> None:
    """It happened when it was had, whenever it is typed."""
    watered.later(days=10)
    made = type_("train", "CD", "water", "--on", "2026-03-05", "--given-by", "college",
                 "--by", "AB")  # fmt: skip
    assert made.exit_code == 0
    with watered.open() as record:
        (entry,) = record.entries(["train"])
    assert entry.happened_at.startswith("2026-03-05T12:00")
    made = type_("water", "P2", "free=0.5", "--kit", "DPD", "--at", "2026-03-06 08:00",
                 "--by", "CD")  # fmt: skip
    assert made.exit_code == 0
    made = type_("water", "P2", "free=0.5", "--kit", "DPD", "--at", "2026-03-04 08:00",
                 "--by", "CD")  # fmt: skip
    assert made.exit_code == 3
    assert "CD had no training in water that holds" in made.output


def test_a_visitor_not_well_exits_3(type_) -> None:
    """With what to do about it."""
    made = type_("visitor", "J. Reed", "--why", "pump", "--places", "GROW", "--washed",
                 "--not-well", "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert "not-well" in made.output
    assert "Look at what they touched" in made.output
    made = type_("visitor", "K. Reed", "--why", "pump", "--well", "--by", "AB")
    assert made.exit_code == 0


def test_help_stands_before_the_record_of_an_accident(type_) -> None:
    """First aid and whom to ring, then what was written."""
    made = type_("accident", "splash", "--who", "CD", "--what", "bleach in the eye",
                 "--gear", "gloves, apron", "--aid", "rinsed", "--told", "A. Birch",
                 "--by", "AB")  # fmt: skip
    assert made.exit_code == 3
    assert made.output.startswith("! Eyes or skin: rinse with clean water")
    assert made.output.index("get help") < made.output.index("Written as")
    (entry,) = json.loads(type_("log", "accident", "--json").output)
    assert entry["body"]["gear_worn"] == ["gloves", "apron"]


@pytest.mark.parametrize(
    ("sort", "part"),
    [("gas", "go upwind"), ("spill", "Keep"), ("cut", "Get help")],
)
def test_each_sort_of_accident_has_its_own_help(type_, sort: str, part: str) -> None:
    """In a line or two."""
    made = type_("accident", sort, "--who", "CD", "--what", "x", "--by", "AB")
    assert part.lower() in made.output.lower()


def test_papers_are_kept_listed_and_shown_when_due(type_) -> None:
    """The newest of a title, and its review on the page of the day."""
    type_(
        "file", "assessment", "--title", "RA-07", "--review", "2026-03-10", "--by", "AB"
    )
    assert "assessment: RA-07, review on 2026-03-10" in type_("file", "--list").output
    assert "in 8 d                  assessment: RA-07" in type_("today").output
    type_(
        "file", "assessment", "--title", "RA-07", "--review", "2027-03-10", "--by", "AB"
    )
    assert "PAPERS TO REVIEW" not in type_("today").output


def test_a_complaint_exits_3(type_) -> None:
    """It wants an answer."""
    made = type_("file", "complaint", "--title", "sour trays", "--by", "AB")
    assert made.exit_code == 3
    assert "complaint: sour trays" in type_("today").output


def test_nothing_kept_is_said(type_) -> None:
    """Not an empty page."""
    assert type_("file", "--list").output == "No paper is kept yet.\n"


def test_a_shed_that_stood_long_is_flushed_before_anybody_goes_in(
    type_, watered: SmallFarm
) -> None:
    """Nothing is due meanwhile; the start says what standing water means."""
    assert type_("season", "stop", "--on", "2026-03-01", "--by", "AB").exit_code == 0
    assert "Nothing is due today." in type_("today").output
    watered.later(days=9)
    made = type_("season", "start", "--by", "AB")
    assert made.exit_code == 0
    assert "The water stood for 9 days" in made.output
    assert "walk" in type_("today").output
