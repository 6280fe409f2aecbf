"""What stands on a terminal, and what a program reads."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from typing import Any

import pytest
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
    ours, theirs = pty.openpty()
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
