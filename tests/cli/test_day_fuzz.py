"""A seeded share of ``tests/soak/fuzz_day.py``: random arguments, never a traceback."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from day_arguments import Shed, fault, got_past_the_parser, lines


def test_no_argument_line_gives_a_traceback(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every line ends with a documented code and a word; the record verifies after."""
    monkeypatch.chdir(tmp_path)
    shed, passed, wrong = Shed(tmp_path), 0, []
    for words in lines(7, 50, shed):
        made = run(*words, world=shed.world())
        passed += got_past_the_parser(made)
        found = fault(words, made)
        wrong += [f"{found}: hygiene {shlex.join(words)[:200]}"] if found else []
    assert wrong == []
    assert passed > 40
    assert run("verify", world=shed.world()).exit_code == 0
