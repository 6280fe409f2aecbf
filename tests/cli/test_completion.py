"""What Tab offers, and what is asked where something is missing."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from hygiene.cli import command
from hygiene.cli.complete import OF_ALL, OF_ONE, looked_up, teach
from hygiene.cli.world import World


def asking(world: World) -> World:
    """The same world, with a person who can be asked."""
    return World(now=world.now, environ=world.environ, asks=True)


def offered(world: World, name: str, parameter: str, typed: str = "") -> list[str]:
    """What Tab offers for a parameter of a command."""
    made = command.get_command(None, name)
    teach(made, name)
    (found,) = [p for p in made.params if p.name == parameter]
    context: Any = type("Context", (), {"obj": world, "params": {}})()
    return [offer.value for offer in found.shell_complete(context, typed)]


def test_every_parameter_that_is_offered_for_is_there() -> None:
    """A parameter that was renamed would silently offer nothing."""
    names = {
        (name, parameter.name)
        for name in command.table
        for parameter in command.get_command(None, name).params
    }
    assert OF_ONE.keys() <= names
    assert OF_ALL.keys() <= {parameter for _, parameter in names}


def test_people_tasks_groups_and_trays_are_offered(sprouts, world: World) -> None:
    """Codes of the farm as it stands."""
    assert offered(world, "feed", "by") == ["AB", "CD"]
    assert offered(world, "feed", "group") == ["EWES", "GOATS"]
    assert offered(world, "sow", "where", "t00")[:2] == ["T001", "T002"]
    assert "day" in offered(world, "report", "name")


def test_without_a_record_nothing_is_offered(world: World) -> None:
    """Nor is anything said."""
    assert offered(world, "feed", "by") == []


def test_what_a_shell_would_run_is_never_offered(sprouts, world: World) -> None:
    """The scripts of some shells pass an offer through eval."""
    from hygiene.cli import complete

    hostile = [complete.Offer("$(reboot)"), complete.Offer("T1", "a`b`;c'd\\$e")]
    offer = complete._offering(lambda desk: hostile)
    context: Any = type("Context", (), {"obj": world, "params": {}})()
    assert offer(context, "") == [complete.Offer("T1", "a b c d e")]


def test_a_demonstration_is_not_read_by_default(sprouts, world: World) -> None:
    """As for any command: what stands as ./farm.db must be the farm's own."""
    context: Any = type("Context", (), {"obj": World(), "params": {}})
    assert looked_up(context(), OF_ALL["by"]) == []


def test_the_script_of_a_shell_asks_the_program(tmp_path: Path) -> None:
    """What bash's script runs gives the commands that begin so."""
    made = subprocess.run(
        [sys.executable, "-c", "from hygiene.cli import main; main()"],
        env={
            "_HYGIENE_COMPLETE": "complete_bash",
            "COMP_WORDS": "hygiene si",
            "COMP_CWORD": "1",
            "PATH": "/usr/bin:/bin",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert made.stdout.split() == ["sign"]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish", "powershell"])
def test_each_shell_has_its_script(run, shell: str) -> None:
    """The script names the variable by which it asks."""
    made = run("completion", shell)
    assert made.exit_code == 0
    assert "_HYGIENE_COMPLETE" in made.output


def test_what_is_missing_is_asked_for_at_a_terminal(
    run, sprouts, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it was, where, and who saw it, one after the other."""
    answers = iter(["rat droppings", "", "seed store", "ab"])
    asked: list[str] = []

    def answer(question: str) -> str:
        asked.append(question)
        return next(answers)

    monkeypatch.setattr("builtins.input", answer)
    made = run("pest", world=asking(sprouts.world()))
    assert made.exit_code == 0, made.output
    (pest,) = sprouts.entries("pest")
    assert (pest.get("what"), pest.get("place"), pest.by) == (
        "rat droppings",
        "seed store",
        "AB",
    )
    assert asked[0] == "Rat, mouse, fly, droppings ... (what): "
    assert asked[-1] == "Who did it (AB, CD): "


def test_in_a_pipe_nothing_is_asked(run, sprouts) -> None:
    """What is missing is named, and the command ends."""
    made = run("feed")
    assert made.exit_code == 2
    assert "Missing argument" in made.output


def test_a_wrong_value_is_not_asked_for_again(run, sprouts) -> None:
    """It was given: the failure says what is wrong with it."""
    made = run(
        "pest", "rat", "--place", "x", "--count", "many", world=asking(sprouts.world())
    )
    assert made.exit_code == 2
    assert "many" in made.output


def _says(monkeypatch: pytest.MonkeyPatch, *answers: str) -> list[str]:
    """Type these; the questions are noted."""
    left, asked = iter(answers), []

    def answer(question: str) -> str:
        asked.append(question)
        return next(left)

    monkeypatch.setattr("builtins.input", answer)
    return asked


def test_who_saw_the_word_of_a_lot_is_asked(run, sprouts, monkeypatch) -> None:
    """A lot of which nobody saw it would be held: at a terminal it is asked first."""
    _says(monkeypatch, "AB", "note 12")
    words = ("seed", "ALDER", "AF 9", "500", "--by", "AB")
    made = run(*words, world=asking(sprouts.world()))
    assert made.exit_code == 0, made.output
    seed = sprouts.entries("seed")[-1]
    assert (seed.get("untreated_seen_by"), seed.get("declaration")) == ("AB", "note 12")


def test_enter_leaves_the_word_of_a_lot_unsaid(run, sprouts, monkeypatch) -> None:
    """Then the lot is held, as it is where nobody can be asked."""
    _says(monkeypatch, "")
    words = ("seed", "ALDER", "AF 9", "500", "--by", "AB")
    made = run(*words, world=asking(sprouts.world()))
    assert made.exit_code == 3
    assert "DO NOT SOW FROM IT" in made.output


def test_how_a_dose_went_is_asked(run, doses, monkeypatch) -> None:
    """Strength, readings, time and what clears a tray; Enter leaves one open."""
    asked = _says(
        monkeypatch,
        "200",
        "60 L",
        "200",
        "",
        "14 C",
        "12 min",
        "K9",
        "qs",
        "?",
        "y",
        "y",
        "n",
    )
    words = ("dose", "T001..T002", "--product", "hypo", "--by", "AB")
    made = run(*words, world=asking(doses.world()))
    assert made.exit_code == 0, made.output
    dose = doses.entries("dose")[-1]
    assert (dose.get("target_mg_per_l"), dose.get("rinsed"), dose.get("dry")) == (
        200,
        True,
        False,
    )
    assert len(asked) == 12
    assert [row["spot"] for row in dose.get("readings")] == ["start"]


def test_who_said_how_a_dose_went_is_asked_nothing(run, doses, monkeypatch) -> None:
    """The rest is then not known, as on one line in a script."""
    asked = _says(monkeypatch)
    words = ("dose", "T001..T002", "--product", "hypo", "--to", "200", "--by", "AB")
    made = run(*words, world=asking(doses.world()))
    assert made.exit_code == 0, made.output
    assert asked == []
    assert doses.entries("dose")


def test_a_wrong_container_is_asked_for_again_at_once(run, doses, monkeypatch) -> None:
    """Before the rest is typed, which would be lost."""
    can = doses.can()
    nothing = ("",) * 9
    asked = _says(monkeypatch, "C-ZZ-9-Z", 'C-"', f"{can}=96ml", *nothing)
    run("dose", "T001..T002", "--by", "AB", world=asking(doses.world()))
    assert asked[0] == asked[1] == asked[2] != asked[3]
    assert doses.entries("dose")[-1].get("drawn")[0]["container"] == can


def test_enter_does_not_answer_how_fodder_looked(run, sprouts, monkeypatch) -> None:
    """One slip would else write that animals were fed what looked bad."""
    batch = sprouts.sow((sprouts.lot(), 4_000)).sow.get("batch")
    sprouts.later(days=7)
    asked = _says(monkeypatch, "", "good", "y", "y")
    made = run("feed", batch, "EWES", "20", "--by", "AB", world=asking(sprouts.world()))
    assert made.exit_code == 0, made.output
    assert len(asked) == 4
    assert sprouts.entries("feed")[-1].get("look_ok") is True
