"""Entries about the book itself."""

from __future__ import annotations

from dataclasses import dataclass

from hygiene.kinds.base import CannotBe, Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening(Kind):
    """The first entry of a book: which farm's record this is, and why it was opened.

    ``record`` is the same in every book of one farm's record. A demonstration book
    is the only one whose times may be given by the program that fills it.
    """

    kind = "opening"
    record: str
    why: str
    demonstration: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike(Kind):
    """An entry ruled through: it stays readable, and no longer stands.

    ``struck`` is the kind of what is ruled through; the envelope's ``corrects``
    names its first entry.
    """

    kind = "strike"
    struck: str

    def __post_init__(self) -> None:
        if self.struck == "opening":
            raise CannotBe(
                key="struck", what="a book's opening cannot be ruled through"
            )
