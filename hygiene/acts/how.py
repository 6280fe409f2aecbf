"""The envelope of an act: who did it and when, who typed it, and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from hygiene.book.writing import RETRY, Writing
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry


class How(NamedTuple):
    """What everything of one act shares; ``happened_at`` None: it is done just now."""

    by: str
    happened_at: datetime | None = None
    written_by: str | None = None
    reason: str | None = None

    def at(self, writing: Writing) -> datetime:
        """When it happened."""
        return self.happened_at or writing.clock()

    def add(self, writing: Writing, thing: Kind) -> Entry:
        """Write one entry of the act."""
        return writing.add(thing, **self._asdict())

    def retried(self, writing: Writing, thing: Kind, *follows: str) -> Entry | None:
        """The entry that says just this, where the act is a retry after a crash.

        ``follows`` are fields that the act itself works out (a minted code, marks):
        they may differ, since the first time changed what stands.
        """
        at = self.at(writing).replace(microsecond=0)
        since = at if self.happened_at else at - RETRY
        for entry in writing.record.entries(
            [thing.kind], since=since, before=at + timedelta(seconds=1)
        ):
            given = {key: _plain(entry.get(key), thing, key) for key in follows}
            found = writing.same(
                replace(thing, **given),  # type: ignore[type-var]
                by=self.by,
                happened_at=self.happened_at,
            )
            if found is not None:
                return found
        return None


def _plain(value: Any, thing: Kind, key: str) -> Any:
    """A field as the dataclass holds it: a list of texts is a tuple there."""
    if isinstance(getattr(thing, key), tuple):
        return tuple(value or ())
    return value
