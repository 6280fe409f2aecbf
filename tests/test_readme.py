"""The README cannot rot: each of its commands is run, in order, in an empty folder."""

from __future__ import annotations

import re
import shlex
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from hygiene.cli.table import COMMANDS
from hygiene.cli.world import World

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", README, re.S)
MINTED = re.compile(r"\b([LBC])-[A-Z0-9]{2}-(\d+)-[A-Z0-9*]\b")
SHEET = re.compile(r"W\d{4}-[0-9A-Z]{4}-[0-9A-Z]")
"""A line of a sheet: the README shows one of the visitors' line."""
HEAD = re.compile(r"[a-z]+-\w{4}/\d+:[0-9a-f]{8,64}")
MORNING = datetime(2026, 3, 2, 6, 40, tzinfo=UTC)
LATER = {"hygiene sign walk": timedelta(minutes=25), "hygiene mould": timedelta(days=5)}
"""What time passes before a command, as the tour tells it."""


def commands() -> list[tuple[list[str], int]]:
    """The words of every ``hygiene`` command, and the exit code beside it."""
    made = []
    for line in "\n".join(BLOCKS).splitlines():
        line, _, code = line.partition("# exit ")
        if line.startswith("hygiene "):
            made.append((shlex.split(line)[1:], int(code or 0)))
    return made


def ours(word: str, minted: dict[tuple[str, str], str]) -> str:
    """The code that this run minted, for the one that the README shows."""
    if SHEET.fullmatch(word):
        return minted["sheet", "visitors"]
    if HEAD.fullmatch(word):
        return minted["head", "last"]
    return MINTED.sub(lambda m: minted.get((m[1], m[2]), m[0]), word)


def test_every_command_of_the_tour_works(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the template to the bad tray, with the exit codes that it says."""
    shutil.copy(ROOT / "demo_farm" / "FARM.toml", tmp_path)
    shutil.copytree(ROOT / "demo_farm" / "ring_binder", tmp_path / "ring_binder")
    (tmp_path / "stick").mkdir()
    monkeypatch.chdir(tmp_path)
    now, minted = MORNING, {}
    environ = {"HYGIENE_KEYS": str(tmp_path / "keys"), "HYGIENE_BY": "MP"}
    for words, code in commands():
        for start, span in LATER.items():
            if " ".join(["hygiene", *words]).startswith(start):
                now += span
        world = World(now=lambda moment=now: moment, environ=environ)
        made = run(*(ours(word, minted) for word in words), world=world)
        assert (made.exit_code, words) == (code, words), made.output + made.stderr
        for line in made.output.splitlines():
            if line.endswith(" visitors") and (sheet := SHEET.search(line)):
                minted["sheet", "visitors"] = sheet[0]
        if head := HEAD.findall(made.output):
            minted["head", "last"] = head[-1]
        for kind, number, *_ in MINTED.findall(made.output):
            found = re.search(
                rf"\b{kind}-[A-Z0-9]{{2}}-{number}-[A-Z0-9*]\b", made.output
            )
            minted[kind, number] = found[0]


def test_the_two_commands_are_those_of_ci() -> None:
    """CI calls the README's test command word by word."""
    test_command = "./.ci/get-ready test && .venv/bin/pytest -n auto"
    assert f"    {test_command}\n" in README
    assert f"\n{test_command}\n" in (ROOT / ".ci" / "run").read_text("utf-8")


def test_the_readme_opens_with_the_job() -> None:
    """One paragraph, before anything else."""
    first = README.split("\n\n")[1]
    assert first.startswith("A person runs a small shed")


def test_every_exit_code_is_told() -> None:
    """The table in the README has the codes of the classes."""
    from hygiene.cli.lazy import NOBODY_READS
    from hygiene.errors import HygieneError

    codes = {c.exit_code for c in HygieneError.__subclasses__()}
    codes |= {0, 1, 3, 130, NOBODY_READS}
    assert {int(n) for n in re.findall(r"^\| (\d+) \|", README, re.M)} == codes


@pytest.mark.parametrize("entry", COMMANDS, ids=lambda entry: entry.name)
def test_every_command_has_help_with_an_example(run, entry) -> None:
    """``--help`` says what it does, and shows one real command."""
    made = run(entry.name, "--help")
    assert made.exit_code == 0
    if entry.name not in ("calc", "verify"):
        assert f"hygiene {entry.name}" in " ".join(made.output.split())
