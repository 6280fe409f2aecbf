"""``hygiene ready``: exit codes, the three heaps, one rule in full, and JSON."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from inspected_farm import Clean, begin
from troubles import gap, late, open_action

from hygiene.cli.world import World


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return begin(tmp_path_factory.mktemp("begun"))


def there(farm: Clean, folder: Path, begun: Path) -> World:
    """The world of that farm's last evening."""
    path = farm.write(folder, begun)
    environ = {"HYGIENE_RECORD": str(path), "HYGIENE_KEYS": str(folder / "keys")}
    return World(now=lambda: farm.now, environ=environ)


@pytest.fixture
def troubled(tmp_path: Path, begun: Path) -> World:
    """A gap, an open action, and something typed late."""
    farm = Clean(12, seed=4)
    days = [farm.first + timedelta(days=n) for n in (2, 4, 6)]
    for plant, day in zip((gap, open_action, late), days, strict=True):
        plant(farm, day)
    return there(farm, tmp_path, begun)


def test_nothing_found_is_exit_0(run, tmp_path: Path, begun: Path) -> None:
    """A clean farm: said in a line, with the walk all the same."""
    world = there(Clean(9, seed=3), tmp_path, begun)
    made = run("ready", "--from", "2026-03-02", world=world)
    assert made.exit_code == 0
    assert "Nothing was found that an inspector would ask about." in made.output
    assert made.output.count("[ ]") == 10


def test_twelve_months_are_looked_at_unless_others_are_said(
    run, troubled: World
) -> None:
    """Both ends are said, and belong to it."""
    made = run("ready", world=troubled)
    assert "14 Mar 2025 to 13 Mar 2026, both days included" in made.output


def test_what_is_found_stands_in_its_heap_and_is_exit_3(run, troubled: World) -> None:
    """What can be put right first, what cannot last."""
    made = run("ready", "--from", "2026-03-02", world=troubled)
    assert made.exit_code == 3
    tonight, say = made.output.split("CANNOT BE PUT RIGHT: SAY IT FIRST")
    assert "PUT RIGHT TONIGHT" in tonight
    assert "wash, due 4 Mar 2026 10:00" in tonight
    assert "nobody looked again" not in say
    assert "the telephone was flat" in say


def test_every_line_fits_a_narrow_terminal(run, troubled: World) -> None:
    """Eighty columns, or fewer."""
    made = run("ready", "--from", "2026-03-02", world=troubled)
    assert max(map(len, made.output.splitlines())) <= 79


def test_one_rule_is_shown_in_full_and_alone(run, troubled: World) -> None:
    """``--rule`` lists every place of it, and leaves the walk out."""
    made = run("ready", "--from", "2026-03-02", "--rule", "late", world=troubled)
    assert made.exit_code == 3
    assert "[late]" in made.output
    assert "[gap]" not in made.output
    assert "[ ]" not in made.output


def test_an_unknown_rule_is_exit_4_and_names_those_there_are(
    run, troubled: World
) -> None:
    """Said in a line, with what there is."""
    made = run("ready", "--rule", "lateness", world=troubled)
    assert made.exit_code == 4
    assert "there is no rule 'lateness'; there are: gap, unsigned" in made.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--from", "2026-03-09", "--to", "2026-03-02"], "lies before --from"),
        (["--from", "2031-01-01"], "lies before --from"),
        (["--from", "March"], "is not a day"),
    ],
)
def test_days_that_are_no_stretch_are_exit_2(
    run, troubled: World, words: list[str], said: str
) -> None:
    """The command was wrongly put: what is wrong with it is said."""
    made = run("ready", *words, world=troubled)
    assert made.exit_code == 2
    assert said in made.stderr


def test_json_has_every_place_with_its_entries_and_clauses(
    run, troubled: World
) -> None:
    """For a program: rule, heap, places, and how each clause was checked."""
    made = run("ready", "--from", "2026-03-02", "--json", world=troubled)
    told = json.loads(made.output)
    assert {f["rule"]: f["count"] for f in told["findings"]} == {
        "gap": 1,
        "open-action": 1,
        "late": 1,
    }
    (late_one,) = [f for f in told["findings"] if f["rule"] == "late"]
    assert late_one["places"][0]["day"] == "2026-03-08"
    assert late_one["places"][0]["entries"]
    assert all(clause["checked"] for clause in late_one["clauses"])
    assert told["profile"] == "uk-primary"
    assert len(told["walk"]) == 10
    assert told["minutes"]["say"] == 0
