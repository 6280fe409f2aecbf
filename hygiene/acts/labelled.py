"""What labels are wanted for: sorts of things, single codes, and ranges of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from hygiene.acts.codes import FIRST_KIND, UnknownCode, known, meant, no_such
from hygiene.acts.store import LONGEST_KEPT, containers_since
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.base import CannotBe
from hygiene.kinds.checks import expand
from hygiene.kinds.codes import PREFIXES, WrongCode, bare, read_minted
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of

STANDING: Final = ("tray", "rack", "line", "tank", "point", "room", "kit", "tool")
"""What the farm file names, in the order in which a code is looked for."""
PLURALS: Final = {
    "batches": "batch",
    **{f"{sort}s": sort for sort in (*STANDING, "lot", "container")},
}
SINCE: Final = {"batch": timedelta(days=35), "lot": timedelta(days=400)}
"""How long back a batch or a lot is still about, where all of them are asked for."""


class Labelled(NamedTuple):
    """A thing that is labelled: its code, what sort it is, and a few words."""

    code: str
    sort: str
    words: str


def labelled(
    record: Record, farm: InForce, wanted: Iterable[str], now: datetime
) -> list[Labelled]:
    """Everything that the words mean, each once, in the order asked for.

    A word is a sort (``trays``, ``racks``, ``lots``, ``batches``, ``containers``,
    ``lines``), a code, or a range such as ``T001..T012``. Raises ``UnknownCode``.
    """
    found = [thing for word in wanted for thing in _meant(record, farm, word, now)]
    return list({(thing.sort, thing.code): thing for thing in found}.values())


def _meant(
    record: Record, farm: InForce, word: str, now: datetime
) -> Iterator[Labelled]:
    lower = word.strip().lower()
    sort = PLURALS.get(lower, lower)
    if sort in STANDING and not farm.things(sort).get(word):
        for code, body in farm.things(sort).items():
            yield Labelled(code, sort, _words(sort, body))
    elif sort == "container":
        for code, held in containers_since(record, now - LONGEST_KEPT).items():
            if held.left > 0:
                yield _of_container(farm, code, held.product)
    elif sort in SINCE:
        for entry in record.entries([FIRST_KIND[sort]], since=now - SINCE[sort]):
            yield _of_entry(farm, sort, entry)
    else:
        for part in word.split(","):
            yield from _coded(record, farm, part)


def _coded(record: Record, farm: InForce, given: str) -> Iterator[Labelled]:
    try:
        minted = read_minted(given)
    except WrongCode:
        minted = bare(given).upper()
    if minted is not None:
        sort = {prefix: sort for sort, prefix in PREFIXES.items()}[minted[0]]
        code = meant(record, sort, given)
        yield from _of_minted(record, farm, sort, code)
        return
    try:
        codes = expand(bare(given))
    except CannotBe:
        codes = (given,)
    for code in codes:
        yield _standing(farm, code)


def _standing(farm: InForce, given: str) -> Labelled:
    for sort in STANDING:
        try:
            code = known(farm, sort, given)
        except UnknownCode:
            continue
        return Labelled(code, sort, _words(sort, farm.things(sort)[code]))
    raise no_such(
        farm,
        STANDING,
        given,
        "give trays, racks, lots, batches, containers or lines, or a code or "
        "range of them such as T001..T012",
    )


def _of_minted(
    record: Record, farm: InForce, sort: str, code: str
) -> Iterator[Labelled]:
    for entry in record.mentioning(code):
        if entry.kind == FIRST_KIND[sort] and entry.get(sort) == code:
            if sort == "container":
                yield _of_container(farm, code, str(entry.get("product")))
            else:
                yield _of_entry(farm, sort, entry)
            return


def _of_container(farm: InForce, code: str, product: str) -> Labelled:
    body = farm.get("product", product) or {}
    return Labelled(code, "container", str(body.get("name") or product))


def _of_entry(farm: InForce, sort: str, entry: Entry) -> Labelled:
    day = moment_of(entry.happened_at).astimezone(farm.zone).date()
    said = "came" if sort == "lot" else "sown"
    words = f"{sort}, {said} {day.day} {day:%b %Y}"
    return Labelled(str(entry.get(sort)), sort, words)


def _words(sort: str, body: Mapping[str, Any]) -> str:
    return str(body.get("name") or sort)
