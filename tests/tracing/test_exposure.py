"""What animals were exposed to by what they ate."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from entry_makers import Book, at

from hygiene.tracing.exposure import exposures

LONDON = ZoneInfo("Europe/London")


def test_a_feed_from_a_mouldy_batch_stays_flagged_for_half_a_year() -> None:
    """Also where the mould was found afterwards, and where the find was struck."""
    book = Book()
    feeds = [book.feed(5, "B", "T1"), book.feed(5, "C", "T2")]
    moulds = [book.add("mould", 6, rack="R1", batches=["B"])]
    (exposure,) = exposures(feeds, moulds, LONDON)
    assert (exposure.animals, exposure.batch) == ("EWES", "B")
    assert (exposure.until - at(5).date()).days == 183
