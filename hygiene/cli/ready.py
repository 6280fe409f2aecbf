"""``hygiene ready``: what an inspector would find, while there is time.

``--json`` gives ``from``, ``to``, ``at``, ``profile``, ``minutes`` (by heap),
``findings`` (each with ``rule``, ``what``, ``heap``, ``count``, ``minutes``, ``do``,
``clauses`` and ``places``) and ``walk``.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Annotated, Any

import typer

from hygiene.acts.clauses import published
from hygiene.acts.readiness import Looked, readiness
from hygiene.cli.desk import AsJson, Desk, NotYet, RecordPath, reading, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import folded
from hygiene.errors import FOUND_SOMETHING, Unknown, WronglyPut
from hygiene.inspection.clauses import Clause
from hygiene.inspection.readiness import HEAPS, RULES, SAY, Finding
from hygiene.inspection.seen import shown
from hygiene.inspection.walk import walk
from hygiene.kinds.moments import a_year_to, span, typed_day

app = one_command()

WIDTH = 79
MOST = 6
"""Places of a finding that are listed; ``--rule`` lists all of them."""


class NotAStretch(WronglyPut):
    """Two days of which the last lies before the first."""

    sentence = "--to {last} lies before --from {first}"


class NoSuchRule(Unknown):
    """A word that names no rule."""

    sentence = "there is no rule {given!r}; there are: {known}"


@app.command()
def ready(
    ctx: typer.Context,
    first: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="DATE", help="First day (else twelve months back)."
        ),
    ] = None,
    last: Annotated[
        str | None,
        typer.Option("--to", metavar="DATE", help="Last day, included (else today)."),
    ] = None,
    rule: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="All that one rule found, to the last."),
    ] = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """What an inspector would find: put right tonight, ring tomorrow, say it first.

    Twelve months back unless you say otherwise: what is due once a year shows only in
    a whole year. Exit code 3 says that something was found.

    Example: hygiene ready --from 2026-01-01
    """
    if rule is not None and rule not in {known.code for known in RULES}:
        raise NoSuchRule(given=rule, known=", ".join(known.code for known in RULES))
    with reading(ctx, record) as desk:
        days = _days(desk, first, last)
        looked = readiness(desk.record, *days, desk.now, desk.setup)
    found = [f for f in looked.ready.findings if rule in (None, f.rule.code)]
    if as_json:
        show_json(_json(looked, found))
    else:
        width = min(WIDTH, desk.world.width)
        for line in _page(desk, looked, found, rule is not None):
            print(folded(line, width))
    if found:
        raise typer.Exit(FOUND_SOMETHING)


def _days(desk: Desk, first: str | None, last: str | None) -> tuple[date, date]:
    today = desk.now.date()
    until = typed_day(last, today) if last else today
    since = typed_day(first, today) if first else a_year_to(until)
    if until < since:
        raise NotAStretch(first=since, last=until)
    if since > today:
        raise NotYet(given=shown(since), now=f"{today}")
    return since, until


def _page(
    desk: Desk, looked: Looked, found: list[Finding], whole: bool
) -> Iterator[str]:
    seen = looked.seen
    yield f"{seen.body.get('name')}: ready for an inspection?"
    if desk.demonstration:
        yield "DEMONSTRATION RECORD: an invented farm, nothing here is real."
    yield (
        f"{shown(seen.first)} to {shown(seen.last)}, both days included, as it stands "
        f"{shown(seen.today)}, {seen.now:%H:%M}"
    )
    if not found:
        of_rule = "by this rule" if whole else "that an inspector would ask about"
        yield f"Nothing was found {of_rule}."
    for heap, title in HEAPS.items():
        mine = [finding for finding in found if finding.rule.heap == heap]
        if mine:
            minutes = sum(finding.minutes for finding in mine)
            yield ""
            yield title.upper() + ("" if heap == SAY else f"  about {_long(minutes)}")
        for finding in mine:
            yield from _finding(finding, whole)
    if not whole:
        yield ""
        yield "THE EVENING BEFORE: a walk of ten lines"
        for number, line in enumerate(walk(seen), 1):
            yield f"{number:>3} [ ] {line.look}"
            if line.known:
                yield f"        {line.known}"
    yield ""
    yield (
        "Clauses are paraphrased, and each says how it was checked: --json. Local law, "
        "the label, the authority and the vet come first."
    )


def _long(minutes: int) -> str:
    return span(timedelta(minutes=minutes))


def _finding(finding: Finding, whole: bool) -> Iterator[str]:
    rule = finding.rule
    many = f" ({finding.places})" if finding.places > 1 else ""
    yield f"  {rule.what}{many}  [{rule.code}]"
    shown_items = finding.items if whole else finding.items[:MOST]
    for item in shown_items:
        names = f" ({', '.join(item.entries[:2])}{_more(item.entries, 2)})"
        yield f"    - {item.says}{names if item.entries else ''}"
    if len(shown_items) < finding.places:
        left = finding.places - len(shown_items)
        yield f"    and {left} more: hygiene ready --rule {rule.code}"
    time = f" ({_long(finding.minutes)})" if finding.minutes else ""
    yield f"    {rule.do}{time}"
    if finding.clauses:
        yield f"    asked for by: {_asked(finding.clauses)}"


def _more(names: tuple[str, ...], most: int) -> str:
    return f" and {len(names) - most} more" if len(names) > most else ""


def _asked(clauses: tuple[Clause, ...]) -> str:
    """The law by its clause, if there is one; else the practice."""
    laws = [clause for clause in clauses if not clause.practice]
    told = dict.fromkeys(clause.cited for clause in laws or clauses)
    return "; ".join(list(told)[:2])


def _json(looked: Looked, found: list[Finding]) -> dict[str, Any]:
    seen, ready = looked.seen, looked.ready
    return {
        "from": seen.first,
        "to": seen.last,
        "at": seen.now,
        "profile": published().profile(seen.body).code,
        "minutes": {heap: ready.minutes(heap) for heap in HEAPS},
        "findings": [_finding_json(finding) for finding in found],
        "walk": [line._asdict() for line in walk(seen)],
    }


def _finding_json(finding: Finding) -> dict[str, Any]:
    rule = finding.rule
    return {
        "rule": rule.code,
        "what": rule.what,
        "heap": rule.heap,
        "count": finding.places,
        "minutes": finding.minutes,
        "do": rule.do,
        "clauses": [
            {
                "code": clause.code,
                "clause": clause.clause,
                "says": clause.says,
                "jurisdiction": clause.jurisdiction,
                "checked": clause.how_checked,
            }
            for clause in finding.clauses
        ],
        "places": [
            {
                "says": item.says,
                "day": item.day,
                "entries": list(item.entries),
                "about": item.code or None,
            }
            for item in finding.items
        ],
    }
