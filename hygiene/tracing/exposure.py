"""What animals were exposed to by what they ate."""

from collections.abc import Iterable
from datetime import date, timedelta, tzinfo
from typing import Final, NamedTuple

from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.moments import moment_of

FLAG_DAYS: Final = 183
"""How long an exposure stays flagged: half a year. Sheep that ate a mouldy sprouted
barley by-product went on dying for over five months (Shlosberg and others, 1991)."""


class Exposure(NamedTuple):
    """Animals that ate of a batch in which mould was found."""

    animals: str
    batch: str
    feed: Entry
    mould: str
    until: date


def exposures(
    feeds: Iterable[Entry], moulds: Iterable[Entry], zone: tzinfo
) -> list[Exposure]:
    """Each feed from a batch with a mould record, whenever the mould was found.

    ``moulds`` are all versions: a struck find leaves the flag.
    """
    found: dict[str, str] = {}
    for mould in moulds:
        for batch in (mould.get("batch"), *texts_of(mould, "batches")):
            if batch:
                found.setdefault(str(batch), mould.first)
    return [
        Exposure(
            str(feed.get("animals")), batch, feed, found[batch], _until(feed, zone)
        )
        for feed in feeds
        if (batch := str(feed.get("batch"))) in found
    ]


def _until(feed: Entry, zone: tzinfo) -> date:
    fed = moment_of(feed.happened_at).astimezone(zone).date()
    return fed + timedelta(days=FLAG_DAYS)
