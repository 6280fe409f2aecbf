"""What every test may use: the program run in this process, with a clock of its own."""

from __future__ import annotations

from collections.abc import Callable

import pytest
import typer.testing
from typer.testing import CliRunner, Result

from hygiene.cli import command
from hygiene.cli.world import World

Run = Callable[..., Result]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run ``hygiene WORD ...``; ``world=`` gives it a clock and an environment."""
    # typer's runner takes a Typer app; ours is the finished command already
    monkeypatch.setattr(typer.testing, "_get_command", lambda made: made)

    def invoke(*words: object, world: World | None = None, given: str | None = None):
        return CliRunner().invoke(
            command, [str(word) for word in words], obj=world or World(), input=given
        )

    return invoke
