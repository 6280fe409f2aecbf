"""Minted codes against the record: the next one, and the one that somebody meant."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches

from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Unknown
from hygiene.farm.in_force import InForce
from hygiene.kinds.codes import WrongCode, bare, minted, near, read_minted
from hygiene.kinds.entry import Entry

FIRST_KIND = {"lot": "seed", "batch": "sow", "container": "container"}
"""The kind of entry that gives a lot, a batch or a container its code."""
WORDS = {"animals": "group of animals"}
"""What a sort is called, where its name is not what a person would say."""


class UnknownCode(Unknown):
    """A code that names nothing in this record."""


def mint(writing: Writing, sort: str) -> str:
    """The next code of a sort in the book that is being written.

    Found by halving, since the numbers run without a gap; asked by index, so that it
    costs the same in the tenth year.
    """

    def taken(number: int) -> bool:
        code = minted(sort, writing.head.book, number)
        return bool(writing.record.mentioning(code, every_version=True))

    high = 1
    while taken(high):
        high *= 2
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if taken(middle) else (low, middle)
    return minted(sort, writing.head.book, high)


def meant(record: Record, sort: str, given: str) -> str:
    """The code of a lot, batch or container that is there; ``UnknownCode`` if none.

    A wrong check character names the nearest code that is there.
    """
    kind = FIRST_KIND[sort]
    try:
        code = read_minted(given) or bare(given)
    except WrongCode:
        code = ""
    if code and entries_of(record, kind, sort, code):
        return code
    close = [c for c in near(given) if entries_of(record, kind, sort, c)]
    raise UnknownCode(
        sort=sort,
        given=given,
        way_out=f"did you mean {close[0]}?"
        if close
        else f"list them with: hygiene log {kind}",
    )


def entries_of(record: Record, kind: str, key: str, code: str) -> list[Entry]:
    """Every version of the entry that gave a code to its lot, batch or container."""
    found = record.mentioning(code, every_version=True)
    return [e for e in found if e.kind == kind and e.get(key) == code]


def known(farm: InForce, sort: str, given: str) -> str:
    """The code of a thing of the set-up as it was set up; ``UnknownCode`` if none.

    ``sort`` is a kind of the set-up: tray, rack, line, animals, supplier, buyer ...
    """
    things = farm.things(sort)
    if given in things:
        return given
    upper = {code.upper(): code for code in things}
    wanted = bare(given).upper()
    found = upper.get(wanted) or _without_hyphens(upper, wanted)
    if found is not None:
        return found
    close = get_close_matches(wanted, upper, 1)
    raise UnknownCode(
        sort=WORDS.get(sort, sort),
        given=given,
        way_out=f"did you mean {upper[close[0]]}?" if close else _listed(things),
    )


def _without_hyphens(upper: Mapping[str, str], wanted: str) -> str | None:
    """The one code that it can be where hyphens were left out, or put in."""
    plain = wanted.replace("-", "")
    found = [code for key, code in upper.items() if key.replace("-", "") == plain]
    return found[0] if len(found) == 1 and plain else None


def _listed(things: Mapping[str, object]) -> str:
    shown = ", ".join(list(things)[:8])
    return (
        f"there are: {shown}" if shown else "none is set up: hygiene set-up FARM.toml"
    )
