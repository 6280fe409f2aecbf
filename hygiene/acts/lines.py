"""Which lines may water at a moment: what is read to judge that.

Nothing here imports a kind's dataclass: the page of the day reads this.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from hygiene.acts.clearance import (
    A_FEW,
    INSTANT,
    Law,
    Reader,
    last_growths,
    last_sowings,
    law_at,
    matter,
)
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.moments import moment_of
from hygiene.sanitising import clearance
from hygiene.sanitising.clearance import Clearance, Shed
from hygiene.sanitising.doses import Label, Told, kept_in_the_water, read_dose

LONGEST_GROWTH: Final = timedelta(days=35)
"""Nothing grows so long: the farm file allows fourteen days from sowing to feeding."""


def line_cleared(
    record: Record, setup: Sequence[Entry], line: str, at: datetime
) -> Clearance:
    """Whether a line may water, after the last dose of it or of its tank."""
    return _cleared(record, law_at(record, setup, at), line, at)


def _cleared(record: Record, law: Law, line: str, at: datetime) -> Clearance:
    """As ``line_cleared``.

    A descaler that came last answers for nothing but itself: the last dose that was
    to sanitise is judged as well.
    """
    said = [line, (law.farm.get("line", line) or {}).get("tank")]
    names = [str(name) for name in said if name]
    shock = _last_shock(record, law.label_then, names, at)
    if shock is None:
        return Clearance(())
    last = _line_after(record, law, line, shock, at)
    if all(_sanitises(version, law.label_then) for version in shock.versions):
        return last
    before = _last_shock(record, law.label_then, names, at, sanitiser=True)
    if before is None:
        return last
    older = _line_after(record, law, line, before, at)
    return last._replace(whys=tuple(dict.fromkeys((*last.whys, *older.whys))))


def _sanitises(entry: Entry, label: Callable[[str, datetime], Label | None]) -> bool:
    dose = read_dose(entry)
    known = label(dose.product, dose.started)
    return known is None or known.least_mg_per_l is not None


def _line_after(
    record: Record, law: Law, line: str, shock: Told, at: datetime
) -> Clearance:
    reader = Reader(record)
    reader.take([shock.name])
    shed = clearance.shed(law.rules, law.label_then, (shock,), reader.rinses.values())
    return clearance.of_line(line, shed, below(record, line, shed), at)


def _last_shock(
    record: Record,
    label: Callable[[str, datetime], Label | None],
    things: Sequence[str],
    at: datetime,
    *,
    sanitiser: bool = False,
) -> Told | None:
    """The last dose of a line or its tank that does not just stay in the water."""
    found: list[tuple[datetime, Told]] = []
    for thing in things:
        before = at + INSTANT
        while page := record.latest("dose", thing, before=before, most=A_FEW):
            wanted = [e for e in page if not sanitiser or _sanitises(e, label)]
            told_ = next(_shocks(record, wanted, label), None)
            if told_ is not None:
                found.append(told_)
                break
            before = moment_of(page[-1].happened_at)
    return max(found, key=lambda pair: pair[0])[1] if found else None


def _shocks(
    record: Record,
    page: Iterable[Entry],
    label: Callable[[str, datetime], Label | None],
) -> Iterator[tuple[datetime, Told]]:
    for entry in page:
        if _is_shock(entry, label):
            whole = matter(record, entry.first)
            if entry.name in {version.name for version in whole.versions}:
                yield moment_of(entry.happened_at), whole


def _is_shock(entry: Entry, label: Callable[[str, datetime], Label | None]) -> bool:
    dose = read_dose(entry)
    known = label(dose.product, dose.started)
    if dose.target not in ("line", "tank"):
        return False
    return known is None or not kept_in_the_water(dose, known.active)


def below(record: Record, line: str, shed: Shed) -> list[str]:
    """The trays that grew below a line between its dose and its flush."""
    doses = [dose for told_ in shed.doses for dose in told_.versions]
    start = min(dose.started for dose in doses)
    flushed = [r.at for dose in doses for r in shed.rinsed(dose) if line in r.things]
    until = min(flushed, default=max(dose.ended or dose.started for dose in doses))
    return growing_below(record, line, start, until)


def growing_below(
    record: Record, line: str, start: datetime, until: datetime
) -> list[str]:
    """The trays that any version of a sowing put below a line in a stretch of time."""
    sown = record.all_versions(
        ["sow"], since=start - LONGEST_GROWTH, before=until + INSTANT
    )
    mine = [entry for entry in sown if entry.get("line") == line]
    codes = {str(entry.get("batch")) for entry in mine}
    trays = {
        str(row.get("tray")) for entry in mine for row in rows_of(entry.body, "places")
    }
    sowings = last_sowings(record, sorted(trays), until, sown)
    here = {
        tray: told_
        for tray, told_ in sowings.items()
        if any(v.get("batch") in codes for sow in told_ for v in sow.versions)
    }
    return sorted(
        tray
        for tray, growth in last_growths(record, here, until).items()
        if growth.batch in codes and (growth.emptied is None or growth.emptied > start)
    )


def lines_not_cleared(record: Record, law: Law, at: datetime) -> dict[str, Clearance]:
    """The lines that may not water yet, with why."""
    found = {line: _cleared(record, law, line, at) for line in law.farm.things("line")}
    return {line: made for line, made in found.items() if not made.cleared}
