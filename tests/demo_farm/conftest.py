"""The demonstration's record, built once: its last weeks, and a stretch of its summer.

Both are only read.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from parts_of_a_year import Part, part


@pytest.fixture(scope="session")
def recent(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Part]:
    """The last forty days."""
    yield from part(tmp_path_factory.mktemp("recent"), 40)


@pytest.fixture(scope="session")
def summer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Part]:
    """From before the worker's training ends to after the stop."""
    yield from part(tmp_path_factory.mktemp("summer"), 54, stops_before=125)
