"""A seeded share of tests/soak/signings.py: kills and two shells, few of each."""

from __future__ import annotations

import importlib.util
import random
from pathlib import Path

SOAK = Path(__file__).parents[1] / "soak" / "signings.py"
spec = importlib.util.spec_from_file_location("soak_signings", SOAK)
soak = importlib.util.module_from_spec(spec)
spec.loader.exec_module(soak)


def test_a_killed_signing_is_there_once_or_not_at_all(tmp_path: Path) -> None:
    """Every signing that was acknowledged is there, none is there twice."""
    path = soak.build(tmp_path, 4)
    kills, _ = soak.sign_with_kills(path, 4, random.Random(7), 0.02, 0.3)
    assert kills > 0
    assert soak.check(path, 4) == []


def test_two_shells_lose_nothing(tmp_path: Path) -> None:
    """Both write, neither sees an error."""
    path = soak.build(tmp_path, 8)
    assert soak.sign_together(path, 8) == []
    assert soak.check(path, 8) == []


def test_which_task_is_asked_with_what_is_open(run, shed, monkeypatch) -> None:
    """Whoever types ``sign`` alone need not look up the number."""
    monkeypatch.setattr("builtins.input", lambda question: "nothing like it")
    made = run("sign", "--by", "AB", world=shed.world(asks=True))
    assert "  1  walk " in made.output
    assert made.exit_code == 4
