"""From a page's values to HTML or to an archive PDF, and into its file in one step.

The templates hold no clock, and everything that a person wrote is escaped: it changes
nothing but its own cell. Fetching is refused, in HTML by holding no address at all.
"""

from __future__ import annotations

import base64
import re
import unicodedata
from collections.abc import Iterable
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hygiene.errors import ReportFailed
from hygiene.plain_file import written_whole
from hygiene.reports.attached import Attached
from hygiene.reports.marks import MARKS, NOT_RUNNING, NOTHING_DUE, OWN_WORK
from hygiene.shipped import shipped

if TYPE_CHECKING:
    from jinja2 import Environment

DIRECTIONS = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""Characters that turn the direction of all that follows, also outside their cell."""
CELLS = re.compile(r"( {2,}|\n)")
"""What stands between the cells of a line of a log."""
LONG_WORD = re.compile(r"\S{40}(?=\S)")
"""A word longer than any line may be broken here: the engine's own search for a place
takes a minute for ten thousand letters."""


class NoEngine(ReportFailed):
    """The layout engine, or a library of the system that it needs, is not there."""

    sentence = "the PDF cannot be made: {what}"


class CannotWrite(ReportFailed):
    """The file cannot be written there."""

    sentence = "{path} cannot be written: {what}"


def html(template: str, page: Any, seal: Any = None) -> str:
    """The page as HTML that stands alone: styles and drawings are inside it.

    ``seal`` is what it prints of the entries that travel inside (``proof.Seal``).
    """
    found = environment().get_template(f"{template}.html")
    made: str = found.render(page=page, seal=seal)
    return made


def pdf(source: str, printed_at: datetime, attached: Iterable[Attached] = ()) -> bytes:
    """The HTML as an archive PDF; raises ``NoEngine``.

    ``printed_at`` (aware) dates the files inside it.
    """
    made: bytes = _press().make(source, attached, printed_at)
    return made


def engine() -> dict[str, str]:
    """What lays pages out, and its versions; raises ``NoEngine``."""
    made: dict[str, str] = _press().engine()
    return made


def _press() -> Any:
    try:
        from hygiene.reports import press
    except (ImportError, OSError) as failure:
        what = " ".join(str(failure).split())[:120]
        raise NoEngine(
            what=what,
            way_out="install Pango (Debian: apt-get install libpango-1.0-0 "
            "libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu), or add --html",
        ) from failure
    return press


def put(path: Path, content: bytes) -> None:
    """Write the file whole or not at all, also when stopped; ``CannotWrite``."""
    try:
        with written_whole(path) as waiting:
            waiting.write_bytes(content)
    except OSError as failure:
        raise CannotWrite(
            path=path,
            what=failure.strerror or failure,
            way_out="give another place with --out FILE",
        ) from failure


@cache
def environment(base: str | None = None) -> Environment:
    """What reads the templates; ``base`` stands in the place of ``base.html``."""
    import jinja2

    shelf = jinja2.FileSystemLoader(shipped("report_templates"))
    instead = jinja2.DictLoader({"base.html": base} if base is not None else {})
    made = jinja2.Environment(
        loader=jinja2.ChoiceLoader([instead, shelf]),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=tamed,
    )
    made.filters["picture"] = picture
    made.globals.update(
        MARKS=MARKS, NOT_DUE=NOTHING_DUE, NOT_RUNNING=NOT_RUNNING, OWN_WORK=OWN_WORK
    )
    return made


def picture(drawing: str) -> str:
    """A drawing that a template holds (SVG), as an address that contains it."""
    from markupsafe import Markup

    content = base64.b64encode(" ".join(drawing.split()).encode()).decode()
    return Markup(f"data:image/svg+xml;base64,{content}")


def tamed(value: Any) -> Any:
    """A text that stays within its own cell; what is no plain text passes as it is.

    Control characters and turns of direction become the sign for what cannot be
    shown; a text written from right to left is set apart, so that the figures beside
    it keep their order. So is each cell of a line whose columns stand two spaces apart.
    """
    if not isinstance(value, str) or hasattr(value, "__html__"):
        return value
    shown = LONG_WORD.sub(lambda word: f"{word[0]}\u200b", value)
    if value.isascii() and value.isprintable():
        return shown
    shown = "".join(_shown(char) for char in shown)
    return "".join(map(_set_apart, CELLS.split(shown)))


def _set_apart(text: str) -> str:
    if any(unicodedata.bidirectional(char) in ("R", "AL") for char in text):
        return f"\u2068{text}\u2069"
    return text


def _shown(char: str) -> str:
    if char in "\t\n":
        return char
    if char in DIRECTIONS or unicodedata.category(char) in ("Cc", "Cs", "Cn"):
        return "\ufffd"
    return char
