"""``--as-of``: the record read as it was, by heads that were printed or by a moment."""

from __future__ import annotations

from datetime import datetime

from hygiene.book.as_of import cut, heads_at
from hygiene.book.record import Head, Record
from hygiene.book.verify import HEAD, head_of
from hygiene.cli.desk import note
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import in_force
from hygiene.kinds.moments import typed_moment


class NotAsOf(WronglyPut):
    """Values of --as-of that say no one moment of the record."""

    sentence = "--as-of {what}"


def read_as_of(record: Record, given: list[str], now: datetime) -> None:
    """Cut what is read at the heads, or at the moment, that were typed."""
    heads = _heads(record, given, now)
    held = record.heads()
    full = cut(record, heads)
    left_out = {head.book for head in held} - {head.book for head in full}
    for book in sorted(left_out):
        note(f"{book} is left out: no head of it was given, or it was opened later.")


def _heads(record: Record, given: list[str], now: datetime) -> tuple[Head, ...]:
    typed = [each for each in given if HEAD.fullmatch(each.strip())]
    if len(typed) == len(given):
        heads = tuple(head_of(each) for each in typed)
        if len({head.book for head in heads}) < len(heads):
            raise NotAsOf(what="names a book twice: give one head of each")
        return heads
    if len(given) > 1:
        raise NotAsOf(
            what="takes heads, or one moment",
            way_out="heads as they are printed: --as-of BOOK/SEQ:HASH; or a moment: "
            "--as-of '2026-03-31 18:00'",
        )
    farm = in_force(record.setup(), now)
    heads = heads_at(
        record, typed_moment(given[0], now.astimezone(farm.zone), farm.zone)
    )
    if not heads:
        raise NotAsOf(what=f"{given[0]!r}: nothing was written yet")
    return heads
