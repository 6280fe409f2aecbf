"""That a report was made: written once its file is in place."""

from __future__ import annotations

from hygiene.book.writing import Writing
from hygiene.kinds.book import Issued
from hygiene.kinds.entry import Entry


def issue(writing: Writing, made: Issued, by: str) -> tuple[Entry, bool]:
    """Write it down; the entry, and whether it was there already.

    The same bytes under the same name are one issue, however often they are made.
    """
    for found in writing.record.entries(["issued"]):
        same = (found.get("file_sha256"), found.get("file_name"))
        if same == (made.file_sha256, made.file_name):
            return found, True
    return writing.add(made, by=by), False
