"""Sign-offs of an old rota book: through ``sign``, each with the paper as its proof."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from small_farm import SmallFarm

HEAD = "date,time,by,task,temp.GROW,STEP temp,STEP mould.R1,STEP mould.R2,STEP pests"
ANSWERED = "date,by,task,answers\n"
GOOD = "2026-03-02,AB,walk,temp=21 mould.R1=0 mould.R2=0 pests=none\n"
ROW = "2026-03-02,07:20,AB,walk,,21.3,0,0,none"


@pytest.fixture
def book(shed: SmallFarm, run: Callable[..., object]):
    shed.later(days=3)

    def imported(text: str, kind: str = "sign_off"):
        path = shed.folder / "book.csv"
        path.write_text(text)
        return run("import", path, kind, "--by", "AB", "--write", world=shed.world())

    return imported


def entries(shed: SmallFarm, kind: str):
    with shed.open() as record:
        return record.entries([kind])


def test_a_signature_of_the_book_signs_its_due(shed: SmallFarm, book):
    """Its answers are judged, its paper is kept; late is marked and opens nothing."""
    done = book(HEAD.replace("temp.GROW,", "") + "\n" + ROW.replace("walk,,", "walk,"))
    assert done.exit_code == 3, done.output
    (signed,) = entries(shed, "sign_off")
    assert signed.get("due") == "2026-03-02T07:00:00+00:00"
    assert signed.get("marks") == ["late", "paper"]
    assert signed.get("attached")[0]["name"] == "book.csv"
    assert signed.get("sheet").endswith("-2")
    assert entries(shed, "action") == []


def test_a_reading_out_of_limit_opens_its_action(shed: SmallFarm, book):
    """As it would have been typed that morning."""
    assert book(ANSWERED + GOOD.replace("21", "27")).exit_code == 3
    (action,) = entries(shed, "action")
    assert "27 C" in action.get("problem")


def test_a_book_is_signed_once(shed: SmallFarm, book):
    """What somebody signed already is recorded already, or refused with its line."""
    book(ANSWERED + GOOD)
    done = book(ANSWERED + GOOD + GOOD.replace("21", "22").replace("AB", "CD"))
    assert done.exit_code == 8
    assert "book.csv line 3" in done.stderr
    assert "is signed already, by AB" in done.stderr


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("2026-03-02,AB,wlk,temp=21", "task: no task 'wlk' was due on 02 Mar 2026"),
        ("2025-03-02,AB,walk,temp=21", "no task 'walk' was due on 02 Mar 2025"),
        ("2026-03-02,AB,walk,temp", "answers: 'temp' is no list of answers"),
        ("2026-03-02,AB,walk,temp=21", "still wanted: mould.R1="),
        (
            "2026-03-02,AB,walk,temp=x mould.R1=0 mould.R2=0",
            "temp: 'x' is not a number",
        ),
    ],
)
def test_what_is_wrong_with_a_signature_is_told(book, row: str, says: str):
    """Task, day and answers; with the line."""
    done = book(f"date,by,task,answers\n{row}\n")
    assert done.exit_code == 8
    assert says in done.stderr


def test_a_miss_of_the_book_says_why(shed: SmallFarm, book):
    """It is no sign-off, and asks nothing."""
    done = book("date,by,task,why\n2026-03-02,AB,floors,no water\n", "miss")
    assert done.exit_code == 0, done.output
    (missed,) = entries(shed, "miss")
    assert (missed.get("task"), missed.get("why")) == ("floors", "no water")
    assert missed.reason.startswith("imported from book.csv line 2")


def test_an_action_of_the_book_names_its_entry(shed: SmallFarm, book, tmp_path: Path):
    """One that is not there is told with its line."""
    book("date,by,task,why\n2026-03-02,AB,floors,no water\n", "miss")
    name = entries(shed, "miss")[0].name
    text = f"date,by,about,problem\n2026-03-03,AB,{name},tap froze\n"
    assert book(text, "action").exit_code == 0
    bad = book("date,by,about,problem\n2026-03-03,AB,shed-x/99,tap froze\n", "action")
    assert "there is no entry 'shed-x/99'" in bad.stderr


def test_a_date_that_could_be_two_is_asked_for(shed: SmallFarm, run, book):
    """A farm whose profile says nothing of dates: 2/3 is asked for, never guessed."""
    text = "date,by,name,why\n2/3/2026,AB,A driver,delivery\n"
    done = book(text, "visitor")
    assert done.exit_code == 8
    assert "'2/3/2026' could be 2 Mar or 3 Feb" in done.stderr
    words = [
        "import",
        shed.folder / "book.csv",
        "visitor",
        "--dates",
        "dmy",
        "--by",
        "AB",
    ]
    assert run(*words, world=shed.world()).exit_code == 0
