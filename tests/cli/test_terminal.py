"""What stands on a terminal, and what a program reads."""

from __future__ import annotations

import fcntl
import json
import os
import struct
import subprocess
import sys
import termios
from typing import Any

import pytest
from pseudo_terminal import terminal
from small_farm import SmallFarm

from hygiene.kinds.find import Pest

TURNED = "rat \u202etsap\u2069"


@pytest.fixture
def shown(shed: SmallFarm) -> dict[str, Any]:
    """How a pest is shown that was written with such characters."""
    pest = Pest(what=TURNED, place="store")
    entry = shed.write(lambda writing: writing.add(pest, by="AB"))
    command = [sys.executable, "-m", "hygiene", "show", entry.name]
    return {"args": command, "env": {**os.environ, **shed.world().environ}}


def test_a_terminal_is_not_turned_round_by_a_text(shown: dict[str, Any]) -> None:
    """The rest of the line, and the lines below it, stay where they are."""
    ours, theirs = terminal()
    subprocess.run(**shown, stdout=theirs, check=True)
    os.close(theirs)
    seen = os.read(ours, 65536).decode()
    os.close(ours)
    assert "rat \ufffdtsap\ufffd" in seen


def test_a_program_reads_the_text_as_it_was_typed(shown: dict[str, Any]) -> None:
    """JSON spells such characters out, and loses nothing."""
    words = {**shown, "args": [*shown["args"], "--json"]}
    made = subprocess.run(**words, capture_output=True, check=True)
    assert TURNED not in made.stdout.decode()
    assert json.loads(made.stdout)["versions"][0]["body"]["what"] == TURNED


@pytest.fixture
def narrow(shed: SmallFarm) -> dict[str, Any]:
    """An entry whose line is wider than a terminal of forty columns."""
    text = "a long remark with many words, " * 4
    pest = Pest(what=text, place="store")
    entry = shed.write(lambda writing: writing.add(pest, by="AB"))
    command = [sys.executable, "-m", "hygiene", "show", entry.name]
    return {"args": command, "env": {**os.environ, **shed.world().environ}}


def _seen(words: dict[str, Any]) -> str:
    ours, theirs = terminal()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 40, 0, 0))
    subprocess.run(**words, stdout=theirs, check=True)
    os.close(theirs)
    seen = os.read(ours, 65536).decode()
    os.close(ours)
    return seen


def test_no_word_is_cut_at_the_edge(narrow: dict[str, Any]) -> None:
    """Any command's line is broken between words where the terminal ends."""
    lines = _seen(narrow).splitlines()
    assert len(lines) > 3
    assert max(map(len, lines)) <= 40
    assert "many words, a long remark" in " ".join(" ".join(lines).split())


def test_json_is_not_broken_at_the_edge(narrow: dict[str, Any]) -> None:
    """What a program reads stays JSON, at whatever terminal it was printed."""
    words = {**narrow, "args": [*narrow["args"], "--json"]}
    (version,) = json.loads(_seen(words))["versions"]
    assert version["body"]["what"].startswith("a long remark")


def test_a_pipe_is_not_folded(narrow: dict[str, Any]) -> None:
    """A line stays a line, for whatever reads it."""
    made = subprocess.run(**narrow, capture_output=True, check=True, text=True)
    assert max(map(len, made.stdout.splitlines())) > 100
