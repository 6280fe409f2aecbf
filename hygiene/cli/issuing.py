"""Writing down that a report was made, once its file is in place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from hygiene.cli.desk import at_work, note
from hygiene.cli.world import World
from hygiene.errors import HygieneError

NOBODY = "That it was made is not written down: add --by CODE, or set HYGIENE_BY."


def issue(
    ctx: typer.Context, record: Path | None, by: str | None, told: dict[str, Any]
) -> str | None:
    """Write it; the entry's name. Without a writer, or where that cannot be, say so.

    The file is in place already, so nothing here fails the report.
    """
    from hygiene.acts.issuing import issue as write
    from hygiene.kinds.book import Issued

    world: World = ctx.obj
    if world.by(by) is None:
        note(NOBODY)
        return None
    try:
        with at_work(ctx, record) as desk:
            person = desk.person(by)
            made = Issued(
                report=told["report"],
                subject=told["about"],
                first=told["from"],
                last=told["to"],
                file_name=Path(told["file"]).name,
                file_sha256=told["sha256"],
                heads=tuple(told["heads"]),
            )
            with desk.writing() as writing:
                entry, _ = write(writing, made, person)
    except HygieneError as failure:
        note(f"The file is in place. That it was made is not written down: {failure}")
        return None
    return entry.name
