"""How ``labels`` and ``sheets`` hand over what they made: a PDF, or HTML."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from hygiene.cli.desk import Desk, show_json
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import typed_moment
from hygiene.plain_file import replaceable

Out = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Where to write it.")
]
Html = Annotated[
    bool, typer.Option("--html", help="Write HTML: needs nothing installed.")
]
PrintedAt = Annotated[
    str | None,
    typer.Option(
        "--printed-at", metavar="TIME", help="The moment it was printed (else now)."
    ),
]
PAGES = (b"%pdf-", b"<!doctype html", b"<html")
"""How the files begin that a page may be written over."""


class NotAPage(WronglyPut):
    """A file that is no page stands where the page is to go."""

    sentence = "{path} is no page, and is not written over"


def printed(desk: Desk, given: str | None) -> datetime:
    """The moment of printing: as typed, else now, by the farm's clock."""
    return typed_moment(given, desk.now, desk.farm.zone) if given else desk.now


def need_page(path: Path) -> None:
    """Only a page is written over: never a record, a farm file or a photo."""
    if not replaceable(path, _is_page):
        raise NotAPage(path=path, way_out="give another place with --out FILE")


def _is_page(begins: bytes) -> bool:
    plainly = begins.lstrip().lower()
    return not plainly or plainly.startswith(PAGES)


def place_of(out: Path | None, name: str, suffix: str) -> Path:
    """Where it goes: as said, a folder that was said, or here."""
    if out is not None and not out.is_dir():
        return out
    return (out or Path()) / f"{name}{suffix}"


def written(
    template: str,
    page: Any,
    moment: datetime,
    out: Path | None,
    as_html: bool,
    name: str,
    told: dict[str, Any],
    says: str,
    as_json: bool,
) -> None:
    """Lay it out, put it in its file, and say so."""
    from hashlib import sha256

    from hygiene.reports import paper

    path = place_of(out, name, ".html" if as_html else ".pdf")
    need_page(path)
    source = paper.html(template, page)
    made = source.encode() if as_html else paper.pdf(source, moment)
    paper.put(path, made)
    told = {
        "file": str(path),
        **told,
        "bytes": len(made),
        "sha256": sha256(made).hexdigest(),
    }
    if as_json:
        show_json(told)
        return
    print(f"Written: {path}")
    for line in says.splitlines():
        print(f"  {line}")
