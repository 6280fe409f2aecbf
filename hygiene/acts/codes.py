"""Minted codes against the record: the next one, and the one that somebody meant."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from itertools import islice

from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Unknown, WronglyPut
from hygiene.farm.in_force import InForce
from hygiene.kinds.codes import WrongCode, bare, minted, near, own_code, read_minted
from hygiene.kinds.entry import Entry

FIRST_KIND = {"lot": "seed", "batch": "sow", "container": "container"}
"""The kind of entry that gives a lot, a batch or a container its code."""
NAMED = (
    "tray", "rack", "room", "line", "tank", "point", "kit", "product", "tool",
    "animals", "supplier", "buyer", "person",
)  # fmt: skip
"""What bears a code of the set-up."""
WORDS = {"animals": "group of animals"}
"""What a sort is called, where its name is not what a person would say."""


class UnknownCode(Unknown):
    """A code that names nothing in this record."""


class CodeTaken(WronglyPut):
    """A number of the farm's own that is the name of something else."""

    sentence = "{code!r} is the name of something else already{where}"


def need_free(record: Record, farm: InForce, code: str) -> None:
    """A number of the farm's own may become a code only if nothing bears it.

    Raises ``CodeTaken``.
    """
    way_out = "write it with something before it, such as OLD-1"
    upper = code.upper()
    for sort in NAMED:
        if upper in (known_code.upper() for known_code in farm.things(sort)):
            raise CodeTaken(code=code, where=f": a {sort}", way_out=way_out)
    found = record.mentioning(code, every_version=True)
    if found:
        raise CodeTaken(code=code, where=f" ({found[0].name})", way_out=way_out)


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

    A wrong check character names the nearest code that is there. A number of an old
    paper may be given as the paper has it.
    """
    kind = FIRST_KIND[sort]
    try:
        code = read_minted(given) or bare(given)
    except WrongCode:
        code = ""
    for likely in dict.fromkeys((code, own_code(given))):
        if likely and entries_of(record, kind, sort, likely):
            return likely
    close = [c for c in near(given) if entries_of(record, kind, sort, c)]
    raise UnknownCode(
        sort=sort,
        given=given,
        way_out=f"did you mean {close[0]}?"
        if close
        else f"list them with: hygiene log {kind}",
    )


def is_batch(record: Record, given: str) -> bool:
    """Whether a text names a batch: a minted code, also a misread one, or the number
    that a batch had on an old paper.
    """
    try:
        if read_minted(given) is not None:
            return True
    except WrongCode:
        return True
    # a number of the farm's own, or a code without its last character
    likely = (given.strip(), own_code(given), *islice(near(given), 1))
    return any(entries_of(record, FIRST_KIND["batch"], "batch", c) for c in likely)


def entries_of(record: Record, kind: str, key: str, code: str) -> list[Entry]:
    """Every version of the entry that gave a code to its lot, batch or container."""
    found = record.mentioning(code, every_version=True)
    return [e for e in found if e.kind == kind and e.get(key) == code]


SHOWN = 8
"""So many of the codes that there are stand in a message."""


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
    way_out = _nearest(upper, wanted, _listed(things))
    raise UnknownCode(sort=WORDS.get(sort, sort), given=given, way_out=way_out)


def no_such(
    farm: InForce, sorts: Iterable[str], given: str, otherwise: str
) -> UnknownCode:
    """A code of none of these sorts: the nearest that there is, else what to give."""
    codes = {code.upper(): code for sort in sorts for code in farm.things(sort)}
    way_out = _nearest(codes, given.strip().upper(), otherwise)
    return UnknownCode(sort="code", given=given, way_out=way_out)


def _nearest(upper: Mapping[str, str], wanted: str, otherwise: str) -> str:
    close = get_close_matches(wanted, upper, 1)
    return f"did you mean {upper[close[0]]}?" if close else otherwise


def _without_hyphens(upper: Mapping[str, str], wanted: str) -> str | None:
    """The one code that it can be where hyphens were left out, or put in."""
    plain = wanted.replace("-", "")
    found = [code for key, code in upper.items() if key.replace("-", "") == plain]
    return found[0] if len(found) == 1 and plain else None


def _listed(things: Mapping[str, object]) -> str:
    if not things:
        return "none is set up: hygiene set-up FARM.toml"
    more = len(things) - SHOWN
    shown = ", ".join(list(things)[:SHOWN])
    return f"there are: {shown}{f' and {more} more' if more > 0 else ''}"
