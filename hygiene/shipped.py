"""Where the files that travel with the program stand, installed or in its source."""

from __future__ import annotations

from pathlib import Path

from hygiene.errors import HygieneError


class NotShipped(HygieneError):
    """A folder that every installation should have."""

    sentence = "this installation lacks its folder {folder!r}"


def shipped(folder: str) -> Path:
    """A folder such as ``checklists``: in the wheel, else beside the package.

    Raises ``NotShipped`` where the installation is not whole.
    """
    package = Path(__file__).resolve().parent
    for home in (package / "_data", package.parent):
        if (home / folder).is_dir():
            return home / folder
    raise NotShipped(folder=folder, way_out="install the program again")
