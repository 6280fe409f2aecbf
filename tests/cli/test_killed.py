"""kill -9 in the middle of a write leaves a record that verifies and has it all.

A share; every writing command at fifty points is run by hand from tests/soak.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from dose_farm import DoseFarm
from killing import CARRYING, WRITING, Scene, killed
from traced import can_trace

SHARE = ("backup", "restore", "merge", "dose", "import")


@pytest.mark.skipif(not can_trace(), reason="no child can be traced here")
@pytest.mark.parametrize(
    "scene",
    [scene for scene in (*CARRYING, *WRITING) if scene.name in SHARE],
    ids=lambda scene: scene.name,
)
def test_killed_in_the_middle_nothing_is_lost(
    built_doses: DoseFarm, tmp_path: Path, scene: Scene
) -> None:
    """Before its first write and before its last; done again, it is done."""
    done = killed(built_doses, scene, tmp_path, 2)
    assert done.kills == 2
