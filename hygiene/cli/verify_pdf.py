"""``hygiene verify FILE.pdf``: what a report shows by itself, and what it does not."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from hygiene.book.compare import Found, untied, with_heads
from hygiene.book.record import Head, Record
from hygiene.book.verify import Fault, faults
from hygiene.cli.desk import show_json
from hygiene.cli.screen import folded
from hygiene.errors import FOUND_SOMETHING, Damaged
from hygiene.reports import checking
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.period import plain_day

if TYPE_CHECKING:
    from hygiene.reports.checking import Handed


class Verdict(NamedTuple):
    """What is shown, what is not, and what does not agree, in words."""

    shown: list[str]
    untold: list[str]
    faults: list[Fault]
    asked: bool
    """Whether something that was asked could not be told."""
    record: Path | None


def check(
    path: Path, record: Path | None, heads: tuple[Head, ...], *, rebuild: bool
) -> tuple[Handed, Verdict]:
    """Every check that was asked for; raises ``NoProof`` and what a PDF may raise."""
    of = checking.handed(path)
    made = Verdict([], [], [], False, record)
    made.untold.extend(untied(of.carried))
    _alone(of, made)
    if heads and record is None:
        made = _heads(of, heads, made)
    if record is not None:
        made = _record(of, record, heads, made)
    else:
        made.untold.append("that the record holds these entries: add --record FILE")
    if rebuild:
        made = _again(of, made)
    else:
        made.untold.append("that the pages say what these entries say: add --rebuild")
    if not heads:
        made.untold.append(_ANEW)
    made.untold.append(_TRUE)
    return of, made


_ANEW = (
    "that nobody wrote the whole record anew before the file was made: compare with a "
    "head that you had earlier: --head BOOK/SEQ:HASH"
)
_TRUE = "that what was written is true, or that nothing was left unwritten"


def _alone(of: Handed, made: Verdict) -> None:
    found = checking.by_itself(of)
    made.faults.extend(found.faults)
    made.untold.extend(found.untold)
    if not found.faults:
        many = len(of.carried.lines)
        made.shown.append(
            f"the {many:,} entries inside are, byte for byte, those that lead to the "
            "heads below"
            if many != 1
            else "the entry inside is, byte for byte, one that leads to the heads below"
        )


def _heads(of: Handed, heads: tuple[Head, ...], made: Verdict) -> Verdict:
    found = with_heads(of.carried, heads)
    made.faults.extend(found.faults)
    made.untold.extend(found.untold)
    if not found.faults and not found.untold:
        made.shown.append("the heads that you gave are those of the file's own chain")
    return made._replace(asked=made.asked or bool(found.untold))


def _record(of: Handed, path: Path, heads: tuple[Head, ...], made: Verdict) -> Verdict:
    with Record.open(path) as record:
        broken = faults(record, heads)
        grown = record.count()
    with Record.open(path) as record:
        try:
            found = checking.with_its_record(of, record)
        except Damaged as failure:
            broken.append(Fault("record", str(failure)))
            found = Found()
    made.faults.extend(found.faults)
    named = {fault.where for fault in found.faults}
    made.faults.extend(fault for fault in broken if fault.where not in named)
    made.untold.extend(found.untold)
    if not made.faults:
        since = grown - sum(head.seq for head in of.told.heads)
        made.shown.append(
            f"the record {path} still holds exactly those entries, and has only grown "
            f"since, by {since:,}"
        )
        if heads:
            made.shown.append("the record holds what each head you gave says")
    return made._replace(asked=made.asked or bool(found.untold))


def _again(of: Handed, made: Verdict) -> Verdict:
    found = checking.made_again(of)
    made.faults.extend(found.faults)
    made.untold.extend(found.untold)
    if not found.faults and not found.untold:
        made.shown.append(
            "its pages, made again from those entries alone, are the same to the byte"
        )
    return made._replace(asked=made.asked or bool(found.untold))


def show(of: Handed, verdict: Verdict, *, width: int, as_json: bool) -> int:
    """Say it, and give the exit code."""
    code = FOUND_SOMETHING if verdict.asked else 0
    code = Damaged.exit_code if verdict.faults else code
    if as_json:
        show_json(_told(of, verdict))
        return code
    for line in _lines(of, verdict):
        plain = "".join(c if c.isprintable() else "\ufffd" for c in line)
        print(plain if plain.startswith(WHOLE) else folded(plain, width))
    return code


def _lines(of: Handed, verdict: Verdict) -> Iterator[str]:
    """The answer; what the file says may hold anything, and goes to a terminal."""
    if verdict.faults:
        first, *others = verdict.faults
        yield f"NOT as it was made. First: {first.where}: {first.what}"
        yield from (f"  also {fault.where}: {fault.what}" for fault in others[:MOST])
        if len(others) > MOST:
            yield f"  and {len(others) - MOST} more (--json has them)"
        yield "Do not rely on this file; ask for the record, or for the file again."
    else:
        yield f"What is inside {of.path.name} agrees with itself: {_title(of)}."
    for title, told in (("Shown:", verdict.shown), ("Not shown:", verdict.untold)):
        yield from (title, *(f"  - {each}" for each in told)) if told else ()
    yield from (f"  head {head}" for head in of.told.heads)
    if verdict.record is not None and not verdict.faults:
        yield "To make it again from the record as it was:"
        yield f"  {shlex.join(_again_by(of, verdict.record))}"


def _again_by(of: Handed, record: Path) -> Iterator[str]:
    """The words of the command."""
    told, wanted = of.told, REPORTS[of.told.report]
    yield from ("hygiene", "report", told.report)
    yield from (told.subject,) if told.subject is not None else ()
    if wanted.of == "day":
        yield from ("--on", str(told.period.first))
    elif wanted.of != "now":
        yield from ("--from", str(told.period.first), "--to", str(told.period.last))
    for head in told.heads:
        yield from ("--as-of", str(head))
    yield from ("--printed-at", told.printed_at.isoformat())
    yield from ("--record", str(record))


WHOLE = ("  head ", "  hygiene ")
"""Begin a line that is to be copied whole."""
MOST = 10
"""So many faults are listed beside the first."""


def _title(of: Handed) -> str:
    told = of.told
    about = f" {told.subject}" if told.subject else ""
    first, last = (plain_day(day) for day in (told.period.first, told.period.last))
    days = first if first == last else f"{first} to {last}"
    printed = f"printed {told.printed_at:%Y-%m-%d %H:%M:%S}"
    return f"report {told.report}{about}, {days}, {printed}"


def _told(of: Handed, verdict: Verdict) -> dict[str, Any]:
    told = of.told
    return {
        "verified": not verdict.faults,
        "file": str(of.path),
        "report": told.report,
        "about": told.subject,
        "from": told.period.first,
        "to": told.period.last,
        "printed_at": told.printed_at,
        "carried": len(of.carried.lines),
        "heads": [str(head) for head in told.heads],
        "shown": verdict.shown,
        "not_shown": verdict.untold,
        "faults": [fault._asdict() for fault in verdict.faults],
    }
