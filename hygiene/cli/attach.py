"""``--attach FILE`` on every writing command: photos, certificates, delivery notes."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

from hygiene.book.writing import Writing, to_keep
from hygiene.cli.desk import note
from hygiene.kinds.attached import Attached

Attach = Annotated[
    list[Path] | None,
    typer.Option(
        "--attach", metavar="FILE", help="A photo or paper to keep; may be repeated."
    ),
]


def attached(writing: Writing, paths: Iterable[Path] | None) -> tuple[Attached, ...]:
    """Store the files, and give what an entry says of them."""
    return tuple(_attached(writing, path) for path in paths or ())


def _attached(writing: Writing, path: Path) -> Attached:
    content = to_keep(path)
    digest = writing.store(content)
    _say_hard_to_show(path, content)
    return Attached(sha256=digest, name=path.name, bytes=len(content))


def _say_hard_to_show(path: Path, content: bytes) -> None:
    """While the telephone is still at hand."""
    from hygiene.reports.pictures import hard_to_show

    said = hard_to_show(content[:64])
    if said:
        note(f"{path.name} {said}. It is kept whole.")
