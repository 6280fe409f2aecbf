"""``hygiene trays``: which trays and lines are cleared, and why the others are not."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

import typer

from hygiene.acts.batches import CLEARANCE
from hygiene.acts.clearance import law_at, trays_cleared, trays_now
from hygiene.acts.lines import line_cleared
from hygiene.acts.rules import Against, refuse
from hygiene.cli.desk import AsJson, At, RecordPath, reading, show_json
from hygiene.cli.dose_typed import What, sorted_codes
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import columns
from hygiene.cli.typed import Check
from hygiene.kinds.checks import ranges
from hygiene.sanitising.clearance import Clearance

trays_app = one_command()


def clearance_lines(
    trays: Mapping[str, Clearance], lines: Mapping[str, Clearance]
) -> Iterator[str]:
    """Which trays and lines are cleared, and why the others are not."""
    alike: dict[tuple[str, ...], list[str]] = {}
    until: dict[str, datetime] = {}
    for tray, made in trays.items():
        alike.setdefault(made.whys, []).append(tray)
        if made.until is not None:
            until[tray] = made.until
    good = alike.pop((), [])
    if good:
        last = min(until[tray] for tray in good)
        yield f"CLEARED until {last:%a %d %B %H:%M}: {ranges(good)}"
    for whys, codes in alike.items():
        yield from _why_not(ranges(codes), whys)
    for line, made in lines.items():
        if made.cleared:
            yield f"Line {line} is cleared."
        else:
            yield from _why_not(f"line {line}", made.whys)


def _why_not(what: str, whys: Sequence[str]) -> Iterator[str]:
    yield from textwrap.wrap(
        f"NOT CLEARED {what}: {'; '.join(whys)}", columns(), subsequent_indent="    "
    )


def clearance_json(made: Clearance) -> dict[str, Any]:
    """A clearance for a program."""
    return {
        "cleared": made.cleared,
        "until": made.until,
        "why_not": list(made.whys),
        "dose": made.dose,
    }


@trays_app.command()
def trays(
    ctx: typer.Context,
    what: What = None,
    at: At = None,
    check: Check = False,
    as_json: AsJson = False,
    record: RecordPath = None,
) -> None:
    """Which trays and lines are cleared, and why the others are not.

    With --check it ends with exit code 5 where one of them is not.

    Example: hygiene trays T001..T012 --check
    """
    with reading(ctx, record) as desk:
        moment = desk.moment(at)
        found = sorted_codes(desk, what or ())
        listed = found["tray"] or None
        wanted = found["line"] or ([] if what else list(desk.farm.things("line")))
        made = (
            {}
            if what and listed is None
            else trays_cleared(desk.record, desk.setup, moment, listed)
        )
        lines = {
            line: line_cleared(desk.record, desk.setup, line, moment) for line in wanted
        }
        law = law_at(desk.record, desk.setup, moment)
        now = None if what else trays_now(desk.record, law, moment)
    if check:
        _check({**made, **lines})
    if as_json:
        show_json(
            {
                "at": moment,
                "trays": {tray: clearance_json(m) for tray, m in made.items()},
                "lines": {line: clearance_json(m) for line, m in lines.items()},
                "sown_a_day": now.sown_a_day if now else None,
            }
        )
        return
    if now is not None:
        print(f"{len(now.cleared)} trays cleared, {now.sown_a_day} sown on a day")
    for text in clearance_lines(made, lines):
        print(text)


def _check(asked: Mapping[str, Clearance]) -> None:
    """Refuse what is not cleared; raises ``PlanRefused`` with every reason."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for code, made in asked.items():
        alike.setdefault(made.whys, []).append(code)
    alike.pop((), None)
    refuse(
        [
            Against(
                "not-cleared",
                f"{ranges(codes)} not cleared: {'; '.join(whys)}",
                CLEARANCE,
                "wash, sanitise, rinse and dry it, and write it down: hygiene dose",
            )
            for whys, codes in alike.items()
        ]
    )
