"""``--attach FILE`` on every writing command: photos, certificates, delivery notes."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, NamedTuple

import typer

from hygiene.book.writing import Writing, to_keep
from hygiene.cli.desk import note
from hygiene.kinds.attached import Attached


class Paper(NamedTuple):
    """A file that is to be kept, read before anything is locked."""

    name: str
    content: bytes


def read_paper(given: str) -> Paper:
    """Read a file that was named; raises ``FileTooLarge``, ``WronglyPut``."""
    return Paper(Path(given).name, to_keep(Path(given)))


Attach = Annotated[
    list[Paper] | None,
    typer.Option(
        "--attach",
        metavar="FILE",
        parser=read_paper,
        help="A photo or paper to keep; may be repeated.",
    ),
]


def attached(writing: Writing, papers: Iterable[Paper] | None) -> tuple[Attached, ...]:
    """Store the files, and give what an entry says of them."""
    return tuple(_attached(writing, paper) for paper in papers or ())


def _attached(writing: Writing, paper: Paper) -> Attached:
    digest = writing.store(paper.content)
    _say_hard_to_show(paper)
    return Attached(sha256=digest, name=paper.name, bytes=len(paper.content))


def _say_hard_to_show(paper: Paper) -> None:
    """While the telephone is still at hand."""
    from hygiene.reports.pictures import hard_to_show

    said = hard_to_show(paper.content[:64])
    if said:
        note(f"{paper.name} {said}. It is kept whole.")
