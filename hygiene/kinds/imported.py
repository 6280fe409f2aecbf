"""A spreadsheet that was read in, and how its columns were understood."""

from __future__ import annotations

from dataclasses import dataclass

from hygiene.kinds.attached import SHA256, Attached
from hygiene.kinds.base import CannotBe, Kind
from hygiene.kinds.checks import need_range, need_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported(Kind):
    """A file of records of one sort was imported: its name, its hash, how it was read.

    Each entry that came from it says in its reason the line of the file and the name
    of this entry. ``read_as`` says what each heading was taken for, ``dates`` the order
    of its dates. The file itself is attached where it is no larger than 10 MB.
    """

    kind = "imported"
    sort: str
    name: str
    sha256: str
    line_count: int
    read_as: tuple[str, ...] = ()
    dates: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_text(self, "sort", "name", "dates")
        need_range(self, "line_count", 1, 10_000_000, "lines")
        if not SHA256.fullmatch(self.sha256):
            raise CannotBe(key="sha256", what="is not a SHA-256 in lower-case hex")
