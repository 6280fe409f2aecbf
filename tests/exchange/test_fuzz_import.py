"""A seeded share of tests/soak/fuzz_import.py."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from binder_farm import BinderFarm

SOAK = Path(__file__).parents[1] / "soak" / "fuzz_import.py"
spec = importlib.util.spec_from_file_location("soak_fuzz_import", SOAK)
soak = importlib.util.module_from_spec(spec)
spec.loader.exec_module(soak)


def test_hostile_files_end_in_a_message_and_write_nothing(farm: BinderFarm):
    """No traceback, no change, and the record verifies."""
    found = soak.fuzz(farm, 60, seed=8)
    assert sum(found.values()) >= 60
