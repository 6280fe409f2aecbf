from __future__ import annotations

import pytest

from hygiene.shipped import NotShipped, shipped


@pytest.mark.parametrize("folder", ["checklists", "report_templates", "demo_farm"])
def test_what_travels_with_the_program_is_found(folder: str) -> None:
    """In a wheel and in the source, whatever the current folder is."""
    assert shipped(folder).is_dir()
    assert shipped(folder).name == folder


def test_a_folder_that_is_missing_is_said() -> None:
    """An installation that is not whole says which folder it lacks."""
    with pytest.raises(NotShipped, match="'no-such-folder'"):
        shipped("no-such-folder")
