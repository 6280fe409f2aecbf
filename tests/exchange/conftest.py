"""The farm of the ring binder, set up once and copied for each test."""

from __future__ import annotations

from pathlib import Path

import pytest
import typer.testing
from binder_farm import BinderFarm, made


@pytest.fixture(scope="session")
def built_binder(tmp_path_factory: pytest.TempPathFactory) -> BinderFarm:
    before = typer.testing._get_command
    try:
        return made(tmp_path_factory.mktemp("binder"))
    finally:
        typer.testing._get_command = before


@pytest.fixture
def farm(
    tmp_path: Path, built_binder: BinderFarm, monkeypatch: pytest.MonkeyPatch
) -> BinderFarm:
    """The farm in ``tmp_path``; a moment in November 2025, no terminal."""
    monkeypatch.setattr(typer.testing, "_get_command", lambda given: given)
    return built_binder.into(tmp_path)
