"""What can be written down: one frozen dataclass per kind of entry.

``HOMES`` is the whole list. A kind's module is imported when the kind is wanted, since
making forty dataclasses would cost more than reading the day.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from hygiene.errors import Unknown

if TYPE_CHECKING:
    from hygiene.kinds.base import Kind

HOMES: dict[str, str] = {
    # the book itself
    "opening": "book",
    "strike": "book",
    "backup": "book",
    "gone": "book",
    "issued": "book",
    "imported": "imported",
    # the set-up: what stands at the farm, in force from a moment
    "farm": "setup",
    "person": "setup",
    "room": "setup",
    "rack": "setup",
    "tray": "setup",
    "line": "setup",
    "tank": "setup",
    "point": "setup",
    "kit": "setup",
    "product": "setup",
    "tool": "setup",
    "animals": "setup",
    "supplier": "setup",
    "buyer": "setup",
    "checklist": "checklist",
    "retire": "setup",
    # what the day writes, and what is in force by it
    "train": "people",
    "season": "papers",
    # the day
    "sign_off": "day",
    "miss": "day",
    "countersign": "day",
    # what went wrong, and what was done about it
    "action": "action",
    "recheck": "action",
    "close": "action",
    # seed, batches, and where they went
    "seed": "seed",
    "germination": "seed",
    "scrap": "seed",
    "sow": "batch",
    "move": "batch",
    "feed": "batch",
    "dispatch": "batch",
    "discard": "batch",
    "sample": "batch",
    # what was found, and what may not go on
    "mould": "find",
    "pest": "find",
    "hold": "find",
    "release": "find",
    # sanitisers: containers, doses, rinses
    "container": "sanitising",
    "opened": "sanitising",
    "strength": "sanitising",
    "lost": "sanitising",
    "dose": "sanitising",
    "rinse": "sanitising",
    # sick animals, assessments, and who was told
    "ill": "incident",
    "assess": "incident",
    "notify": "incident",
    "drill": "drill",
    # water, and what it is measured with
    "water": "water",
    "disturbance": "water",
    "calibrate": "kits",
    # who came in, who was hurt, and the papers
    "visitor": "people",
    "accident": "people",
    "file": "papers",
}
SETUP = tuple(k for k, home in HOMES.items() if home in ("setup", "checklist"))
"""The kinds that a farm file says."""
FOLDED = (*SETUP, "train", "season")
"""The kinds that are folded into what is in force at a moment."""


class UnknownKind(Unknown):
    """A word that names no kind of entry."""

    sentence = "there is no kind of entry called {given!r}; there are: {known}"


def kind_class(name: str) -> type[Kind]:
    """The dataclass of a kind; raises ``UnknownKind``."""
    home = HOMES.get(name)
    if home is None:
        raise UnknownKind(given=name, known=", ".join(HOMES))
    made: type[Kind] = getattr(import_module(f"hygiene.kinds.{home}"), class_name(name))
    return made


def class_name(kind: str) -> str:
    """``sign_off`` is written down as ``SignOff``."""
    return "".join(word.capitalize() for word in kind.split("_"))
