"""The envelope of an act: who did it and when, who typed it, and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from hygiene.book.writing import RETRY, Writing
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry


class How(NamedTuple):
    """What everything of one act shares; ``happened_at`` None: it is done just now.

    ``gathered`` takes the ordinary corrective actions in place of the book, where many
    acts are written at once and one action is to answer for all of them. ``fresh`` says
    that nothing of its kind happened at that moment, so that it cannot be a retry.
    """

    by: str
    happened_at: datetime | None = None
    written_by: str | None = None
    reason: str | None = None
    gathered: list[Kind] | None = None
    fresh: bool = False

    def at(self, writing: Writing) -> datetime:
        """When it happened."""
        return self.happened_at or writing.clock()

    def add(self, writing: Writing, thing: Kind) -> Entry:
        """Write one entry of the act."""
        if self.gathered is not None and _ordinary(writing, thing):
            self.gathered.append(thing)
            return writing.record.entry(str(thing.body()["about"]))
        return writing.add(
            thing,
            by=self.by,
            happened_at=self.happened_at,
            written_by=self.written_by,
            reason=self.reason,
        )

    def retried(self, writing: Writing, thing: Kind, *follows: str) -> Entry | None:
        """The entry that says just this, where the act is a retry after a crash.

        ``follows`` are fields that the act itself works out (a minted code, marks):
        they may differ, since the first time changed what stands.
        """
        if self.fresh:
            return None
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


def _ordinary(writing: Writing, thing: Kind) -> bool:
    """An action that is no incident, and that no later water test answers by itself."""
    if thing.kind != "action":
        return False
    body = thing.body()
    if body.get("incident"):
        return False
    return "step" not in body or writing.record.entry(body["about"]).kind != "water"


def _plain(value: Any, thing: Kind, key: str) -> Any:
    """A field as the dataclass holds it: a list of texts is a tuple there."""
    if isinstance(getattr(thing, key), tuple):
        return tuple(value or ())
    return value
