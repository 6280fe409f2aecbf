"""What stands on a terminal, and only there."""

from __future__ import annotations

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
    """Nothing is altered in a pipe."""
    made = subprocess.run(**shown, capture_output=True, check=True)
    assert TURNED in made.stdout.decode()
