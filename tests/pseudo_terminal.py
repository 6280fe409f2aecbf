"""A terminal for tests; a bare system may have none to give."""

from __future__ import annotations

import pty

import pytest


def terminal() -> tuple[int, int]:
    """Both ends of a new one; the test is passed over where there is none."""
    try:
        return pty.openpty()
    except OSError as failure:
        pytest.skip(f"no terminal can be had here: {failure}")
