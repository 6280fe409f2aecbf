"""The boundary of all commands: nobody reads on, and nothing is said about it."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from sprout_farm import SproutFarm


@pytest.mark.skipif(sys.platform == "win32", reason="a pipe of POSIX")
def test_whoever_reads_may_stop(sprouts: SproutFarm) -> None:
    """It ends as a program does that SIGPIPE ends."""
    sprouts.lot()
    reads, writes = os.pipe()
    os.close(reads)
    done = subprocess.run(
        [sys.executable, "-u", "-m", "hygiene", "log", "--record", str(sprouts.path)],
        stdout=writes,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(writes)
    assert (done.returncode, done.stderr) == (141, b"")
