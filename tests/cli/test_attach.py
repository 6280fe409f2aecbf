"""Files that are kept with an entry."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from small_farm import SmallFarm


def test_a_file_is_read_before_anything_is_locked(
    run, shed: SmallFarm, tmp_path: Path
) -> None:
    """One that is not there is told at once, though another command is writing."""
    words = ("pest", "rat", "--place", "store", "--by", "AB", "--attach")
    with closing(sqlite3.connect(shed.path, isolation_level=None)) as other:
        other.execute("begin immediate")
        made = run(*words, tmp_path / "none.jpg", world=shed.world())
    assert made.exit_code == 2
    assert "none.jpg: No such file or directory" in made.stderr
