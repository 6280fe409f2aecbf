"""A spoilt or hostile record file is refused in a line, or taken whole.

A seeded share; thousands of them are offered by hand from tests/soak.
"""

from __future__ import annotations

from small_farm import SmallFarm
from strange_files import another, offered


def test_no_strange_file_gives_a_traceback_or_changes_the_record(
    shed: SmallFarm,
) -> None:
    """Its bytes, its pages, its layout, its lines: six ways of spoiling one."""
    codes = offered(shed, another(shed), 15, 5)
    assert sum(codes.values()) == 15
    assert any(code == 6 for _, code in codes)
