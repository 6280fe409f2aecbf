"""What a dose still lacks, asked for at a terminal; Enter leaves a question open."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hygiene.cli.complete import containers
from hygiene.cli.desk import Desk
from hygiene.cli.dose_typed import drawn_of
from hygiene.cli.guided import if_known, offered, show, words_of
from hygiene.errors import HygieneError

SOURCES = ("from_", "product", "tub")
TARGETS = ("what", "surface", "tools")
MEASURED = (
    ("to", "The strength wanted, mg/L"),
    ("volume", "Made up to, such as 60 L"),
    ("start", "Read before the first tray, mg/L"),
    ("end", "Read after the last tray, mg/L"),
    ("temp", "The solution's temperature, such as 14 C"),
    ("stood", "How long it stayed wet, such as 12 min"),
)
DONE = (
    ("washed", "Washed first?"),
    ("rinsed", "Rinsed after?"),
    ("dry", "Stood until dry?"),
)
"""What a tray is cleared by, in the order of the work."""


def filled(desk: Desk, words: Mapping[str, Any]) -> dict[str, Any]:
    """The words of a dose, with what a person said when asked.

    Whoever says how it went at all is asked nothing: the rest is then not known.
    """
    said = dict(words)
    if not any(said[name] for name in TARGETS):
        said["what"] = words_of(offered("What: trays T001..T012, or a line") or "")
    if not any(said[name] for name in SOURCES):
        said["from_"] = _source(desk)
    if all(said[name] in (None, (), []) for name in _hows()):
        said |= {name: offered(text) for name, text in MEASURED}
        if said["start"] or said["end"]:
            said["kit"] = said["kit"] or _kit(desk)
        said |= {name: if_known(text) for name, text in DONE}
    return said


def _hows() -> tuple[str, ...]:
    return (*(name for name, _ in (*MEASURED, *DONE)), "read", "ended")


def _source(desk: Desk) -> list[str]:
    """Asked until it is one that is there: what is typed after it is not to be lost."""
    show(list(containers(desk)))
    while True:
        given = offered("The container, and how much was drawn, such as C-K7-3-X=96ml")
        words = words_of(given or "")
        try:
            for word in words:
                drawn_of(desk, word)
        except HygieneError as failure:
            print(f"  {failure}")
        else:
            return words


def _kit(desk: Desk) -> str | None:
    kits = {code.upper(): code for code in desk.farm.things("kit")}
    given: str | None = "?" if kits else None
    while given and given.upper() not in kits:
        given = offered(f"Read with which kit ({', '.join(kits.values())})")
    return kits[given.upper()] if given else None
