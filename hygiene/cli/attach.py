"""``--attach FILE`` on every writing command: photos, certificates, delivery notes."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

from hygiene.book.writing import Writing
from hygiene.kinds.attached import Attached

Attach = Annotated[
    list[Path] | None,
    typer.Option(
        "--attach", metavar="FILE", help="A photo or paper to keep; may be repeated."
    ),
]


def attached(writing: Writing, paths: Iterable[Path] | None) -> tuple[Attached, ...]:
    """Store the files, and give what an entry says of them."""
    return tuple(
        Attached(sha256=writing.attach(path), name=path.name, bytes=path.stat().st_size)
        for path in paths or ()
    )
