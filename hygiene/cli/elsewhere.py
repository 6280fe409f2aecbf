"""What lies elsewhere, where it matters: other devices' books, and the last backup."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from hygiene.acts.elsewhere import (
    Elsewhere,
    backup_due,
    elsewhere,
    last_backup,
    recorded_later,
    without_copy,
)
from hygiene.cli.desk import Desk, clock_behind, note
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of, span


class Away(NamedTuple):
    """The books of other devices, the last backup, and whether another is due."""

    books: list[Elsewhere]
    last: Entry | None
    due: bool
    ahead: str | None = None
    """When the last line was recorded, where this device's clock is behind it."""


def say_elsewhere(desk: Desk) -> None:
    """Beside an answer: how far the books of other devices are known here."""
    for known in elsewhere(desk.record, desk.world.keys()):
        note(f"Not known here, nor any hold in it: {_told(known, desk)}.")


def away_now(desk: Desk) -> Away:
    """What the page of the day says of it; a demonstration needs no backup."""
    last = last_backup(desk.record)
    due = not desk.demonstration and (
        backup_due(last, desk.now) or without_copy(desk.record, desk.now)
    )
    keys = desk.world.keys()
    ahead = recorded_later(desk.record, keys, desk.now)
    return Away(elsewhere(desk.record, keys), last, due, ahead)


def clock(desk: Desk, away: Away) -> Iterator[str]:
    """Where the clock was set back, all that is due and late is told wrongly."""
    if away.ahead:
        yield ""
        yield from clock_behind(away.ahead, desk.now).split("\n")


def books_elsewhere(desk: Desk, away: Away) -> Iterator[str]:
    """A heading of the page, where another device writes as well."""
    if away.books:
        yield ""
        yield "NOT KNOWN HERE, nor any hold in it: hygiene merge THEIR.db"
    for known in away.books:
        yield f"  {_told(known, desk)}"


def backup(desk: Desk, away: Away) -> Iterator[str]:
    """When the last verified copy was made, and whether another is due."""
    if away.due or away.last:
        yield ""
    if away.due:
        yield "BACK UP the record: hygiene backup FOLDER"
    if away.last:
        at = moment_of(away.last.happened_at).astimezone(desk.now.tzinfo)
        yield f"Last backup: {at:%d %B %Y, %H:%M}, {away.last.get('place')}"
    elif away.due:
        yield "  there is none yet that this record knows of"


def away_json(away: Away) -> dict[str, Any]:
    """The same under its keys."""
    last = away.last
    return {
        "elsewhere": [known._asdict() for known in away.books],
        "last_backup": {"at": last.happened_at, "place": last.get("place")}
        if last
        else None,
        "backup_due": away.due,
        "clock_behind": away.ahead,
    }


def _told(known: Elsewhere, desk: Desk) -> str:
    if known.lost:
        lines = "line" if known.lost == 1 else f"{known.lost} lines"
        return (
            f"the last {lines} that this device wrote in {known.book}, after "
            f"{known.book}/{known.seq} (this file was restored or copied)"
        )
    age = desk.now - known.written
    ago = f"{span(age)} ago" if age.total_seconds() >= 60 else "just now"
    when = known.written.astimezone(desk.now.tzinfo)
    return f"what {known.book} wrote after {when:%d %B %Y, %H:%M} ({ago})"
