"""What other devices may have written since: said wherever a hold would matter."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from hygiene.acts.elsewhere import Elsewhere, elsewhere
from hygiene.cli.desk import Desk, note
from hygiene.kinds.moments import span


def say_elsewhere(desk: Desk) -> None:
    """Beside an answer: how far the books of other devices are known here."""
    for known in elsewhere(desk.record, desk.world.keys()):
        note(f"Not known here, nor any hold in it: {_told(known, desk.now)}.")


def section(known: list[Elsewhere], now: datetime) -> Iterator[str]:
    """The same as a part of the page of the day; nothing where there is one device."""
    if known:
        yield ""
        yield "NOT KNOWN HERE, nor any hold in it: hygiene merge THEIR.db"
    for each in known:
        yield f"  {_told(each, now)}"


def as_json(known: list[Elsewhere]) -> list[dict[str, Any]]:
    """Under the names of its fields."""
    return [each._asdict() for each in known]


def _told(known: Elsewhere, now: datetime) -> str:
    if known.lost:
        lines = "line" if known.lost == 1 else f"{known.lost} lines"
        return (
            f"the last {lines} that this device wrote in {known.book}, after "
            f"{known.book}/{known.seq} (this file was restored or copied)"
        )
    age = now - known.written
    ago = f"{span(age)} ago" if age.total_seconds() >= 60 else "just now"
    when = known.written.astimezone(now.tzinfo)
    return f"what {known.book} wrote after {when:%d %B %Y, %H:%M} ({ago})"
