"""What a writing command answers to a program."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from small_farm import WALK_LINE, SmallFarm

from hygiene.cli import command
from hygiene.cli.lazy import LazyGroup
from hygiene.cli.world import World
from hygiene.shipped import shipped


def test_every_command_that_writes_gives_json() -> None:
    """Whoever may be said by --by has written something."""
    for name in command.list_commands(None):
        made = command.get_command(None, name)
        if isinstance(made, LazyGroup):
            continue
        options = [opt for param in made.params for opt in param.opts]
        assert "--by" not in options or options.count("--json") == 1, name


def test_the_entries_that_were_written_are_given_with_their_names(
    run, shed: SmallFarm
) -> None:
    """Also those that follow from it, and what is said to a person."""
    words = ("sign", "walk", "temp=35", *WALK_LINE[1:], "temp.did=vents opened")
    made = run(*words, "--by", "AB", "--json", world=shed.world())
    told = json.loads(made.output)
    assert made.exit_code == 3
    assert [entry["kind"] for entry in told["written"]] == ["sign_off", "action"]
    assert told["written"][0]["entry"].endswith(f"/{told['written'][0]['seq']}")
    assert told["written"][0]["body"]["task"] == "walk"
    assert any("Written as" in line for line in told["says"])


def test_a_retry_wrote_nothing(run, shed: SmallFarm) -> None:
    """It was recorded already."""
    words = ("pest", "rat", "--place", "store", "--by", "AB", "--json")
    first, again = (json.loads(run(*words, world=shed.world()).output) for _ in "12")
    assert len(first["written"]) == 1
    assert again["written"] == []
    assert again["says"][0].startswith("Already recorded as")


@pytest.mark.parametrize("more", [("--by", "ZZ"), ()])
def test_a_refusal_is_said_as_ever(run, shed: SmallFarm, more: tuple[str, ...]) -> None:
    """On stderr with its code; nobody is asked, and nothing stands on stdout."""
    made = run("pest", "rat", "--place", "x", "--json", *more, world=shed.world())
    assert made.exit_code in (2, 4)
    assert made.stdout == ""
    assert made.stderr.startswith("hygiene: ")


def test_a_backup_gives_what_it_wrote_of_itself(
    run, shed: SmallFarm, tmp_path: Path
) -> None:
    """The copy's place and heads, for whatever carries it on."""
    made = run("backup", str(tmp_path), "--json", world=shed.world())
    told = json.loads(made.stdout)
    (entry,) = told["written"]
    assert entry["kind"] == "backup"
    assert Path(entry["body"]["place"]).is_file()
    assert any(entry["body"]["heads"][0] in line for line in told["says"])


def test_a_set_up_gives_all_that_it_wrote(run, tmp_path: Path) -> None:
    """Nobody is asked: without --yes nothing is written."""
    world = World(environ={"HYGIENE_KEYS": str(tmp_path / "keys")})
    farm = str(shipped("demo_farm") / "FARM.toml")
    words = ("set-up", farm, "--json", "--record", str(tmp_path / "new.db"))
    refused = run(*words, "--by", "MP", world=world)
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert "--yes" in refused.stderr
    made = run(*words, "--by", "MP", "--yes", world=world)
    told = json.loads(made.stdout)
    assert {"farm", "person", "tray"} <= {entry["kind"] for entry in told["written"]}
    assert [e["seq"] for e in told["written"]] == [
        *range(told["written"][0]["seq"], told["written"][-1]["seq"] + 1)
    ]
