"""``hygiene devices``: whose books there are, and a device that is no more."""

from __future__ import annotations

import json

import pytest
from small_farm import SmallFarm

from hygiene.kinds.find import Pest


@pytest.fixture
def hygiene(run, shed: SmallFarm):
    """Run a command on the shed's device, by AB, a minute after the one before."""

    def go(*words: object):
        shed.later(minutes=1)
        return run(*words, "--by", "AB", world=shed.world())

    return go


@pytest.fixture
def tablet(shed: SmallFarm) -> str:
    """The book of another device, which wrote one line."""
    away = shed.keys.with_name("their keys")
    shed.keys.rename(away)
    entry = shed.write(lambda w: w.add(Pest(what="rat", place="door"), by="CD"))
    shed.keys.rename(shed.keys.with_name("tablet's keys"))
    away.rename(shed.keys)
    return str(entry.book)


def test_each_book_is_listed_with_its_last_line(run, shed: SmallFarm, tablet) -> None:
    """This device's own and another's, and the same to a program."""
    page = run("devices", world=shed.world()).output
    assert "this device" in page
    (line,) = [line for line in page.splitlines() if line.startswith(tablet)]
    assert line.split() == [
        tablet, "2", "02", "March", "2026,", "06:00", "another", "device",
    ]  # fmt: skip
    told = json.loads(run("devices", "--json", world=shed.world()).stdout)
    assert {each["book"] for each in told} >= {tablet}


def test_nothing_more_is_awaited_of_a_device_that_is_gone(
    run, hygiene, shed: SmallFarm, tablet
) -> None:
    """Until more of it comes all the same."""
    assert tablet in run("today", world=shed.world()).output
    made = hygiene("devices", "--gone", tablet, "--why", "fell into the trough")
    assert made.exit_code == 0, made.stderr
    assert tablet not in run("today", world=shed.world()).output
    assert "a device that is no more" in run("devices", world=shed.world()).output
    shed.keys.rename(shed.keys.with_name("ours"))
    shed.keys.with_name("tablet's keys").rename(shed.keys)
    shed.write(lambda w: w.add(Pest(what="rat", place="yard"), by="CD"))
    shed.keys.rename(shed.keys.with_name("theirs"))
    shed.keys.with_name("ours").rename(shed.keys)
    assert tablet in run("today", world=shed.world()).output


def test_written_twice_it_is_recorded_once(hygiene, tablet) -> None:
    """A retry within a minute is no second act."""
    words = ("devices", "--gone", tablet, "--why", "lost")
    names = {hygiene(*words).output.split()[2] for _ in range(2)}
    assert len(names) == 1


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--gone", "shed-none", "--why", "x"), 4, "there is no book 'shed-none'"),
        (("--gone", "OWN", "--why", "x"), 2, "that this device writes"),
        (("--gone", "THEIRS"), 2, "--why TEXT"),
        (("--gone", "THEIRS", "--why", "x", "--by", "CD"), 5, "refused: CD is worker"),
    ],
)
def test_what_is_refused(
    run, shed: SmallFarm, tablet, words: tuple[str, ...], code: int, says: str
) -> None:
    """With the documented code, in a line."""
    (key,) = shed.keys.iterdir()
    names = {"OWN": key.stem, "THEIRS": tablet}
    words = tuple(names.get(word, word) for word in words)
    words = words if "--by" in words else (*words, "--by", "AB")
    made = run("devices", *words, world=shed.world())
    assert made.exit_code == code
    assert says in made.stderr
