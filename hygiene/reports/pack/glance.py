"""The period at a glance: numbers by month, and four figures drawn of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

from hygiene.kinds.entry import Entry, rows_of
from hygiene.reports.figures import Figure
from hygiene.reports.pack.bars import Series, bars
from hygiene.reports.pack.buckets import Bucket, buckets, place_of
from hygiene.reports.reading import Reading
from hygiene.rota.day import State, states, written
from hygiene.rota.schedule import moment_or_none

GRAMS: Final = 1000
TOTAL: Final = "In all"


class Measure(NamedTuple):
    """A row of the table: what is counted, a number for each column, and their sum.

    ``part`` is true of a row that is a part of the one above it.
    """

    name: str
    values: tuple[str, ...]
    total: str
    part: bool = False


class Drawn(NamedTuple):
    """A figure with its title."""

    title: str
    figure: Figure


class Glance(NamedTuple):
    """The chapter: the columns' heads, each row with its line, the figures."""

    head: str
    lines: tuple[tuple[Measure, str], ...]
    figures: tuple[Drawn, ...]
    kept_percent: str


class _Count:
    """Numbers by column, filled entry by entry."""

    def __init__(self, reading: Reading, columns: tuple[Bucket, ...]) -> None:
        self.reading = reading
        self.columns = columns

    def of_days(self, days: Iterable[tuple[date, float]]) -> list[float]:
        made = [0.0] * len(self.columns)
        known: dict[date, int | None] = {}
        for day, many in days:
            if day not in known:
                known[day] = place_of(self.columns, day)
            place = known[day]
            if place is not None:
                made[place] += many
        return made

    def of_entries(
        self, entries: Iterable[Entry], many: Callable[[Entry], float] = lambda e: 1
    ) -> list[float]:
        return self.of_days(
            (day, many(entry))
            for entry in entries
            if (day := self._day(entry)) is not None
        )

    def of_kind(
        self, *kinds: str, many: Callable[[Entry], float] = lambda e: 1
    ) -> list[float]:
        return self.of_entries(self.reading.standing(*kinds), many)

    def _day(self, entry: Entry) -> date | None:
        moment = moment_or_none(entry.happened_at)
        return self.reading.rota.day_of(moment) if moment else None


def glance(reading: Reading, verdicts: Sequence[tuple[Entry, str]]) -> Glance:
    """The numbers of the period; ``verdicts`` is each standing dose and its worth."""
    columns = buckets(reading.period)
    count = _Count(reading, columns)
    tasks = _tasks(reading, count)
    doses = count.of_entries(entry for entry, _ in verdicts)
    failed = count.of_entries(e for e, verdict in verdicts if verdict == "failed")
    tests = count.of_kind("water", many=lambda e: len(rows_of(e, "results")))
    out = count.of_kind("water", many=_out_of_limit)
    sown = count.of_kind("sow")
    seed = count.of_kind("sow", many=lambda e: _grams(e, "seeds"))
    mould = count.of_kind("mould")
    fed = count.of_kind("feed", many=lambda e: _number(e.get("grams")))
    sent = count.of_kind("dispatch", many=lambda e: _number(e.get("grams")))
    actions = count.of_entries(m.first for m in reading.of_kind("action"))
    measures = (
        *_of_tasks(tasks),
        _measure("Doses", doses),
        _measure("failed", failed, part=True),
        _measure("Water results", tests),
        _measure("out of limit", out, part=True),
        _measure("Batches sown", sown),
        _measure("of dry seed, kg", seed, part=True, kg=True),
        _measure("Finds of mould", mould),
        _measure("Fed to own animals, kg", fed, kg=True),
        _measure("Sent away, kg", sent, kg=True),
        _measure("Sick animals, written", count.of_kind("ill")),
        _measure("Corrective actions", actions),
    )
    names = [(column.name, column.year) for column in columns]
    figures = _figures(names, tasks, (doses, failed), (sown, mould), (fed, sent))
    head, lines = _lines(names, measures)
    rows_ = tuple(zip(measures, lines, strict=True))
    return Glance(head, rows_, figures, _percent(tasks))


def _lines(
    names: Sequence[tuple[str, str]], measures: Sequence[Measure]
) -> tuple[str, list[str]]:
    """The table as lines in letters of one width, every number flush right."""
    every = [(*measure.values, measure.total) for measure in measures]
    named = [*(name for name, _ in names), TOTAL]
    columns = zip(named, *every, strict=True)
    widths = [max(5, *map(len, column)) + 1 for column in columns]
    years = ["" if y == before else y for (_, y), before in _neighbours(names)]
    heads = (named, [*years, ""])
    head = "\n".join(_line(row, widths) for row in heads)
    return head, [_line(row, widths) for row in every]


def _neighbours(
    names: Sequence[tuple[str, str]],
) -> Iterable[tuple[tuple[str, str], str]]:
    return zip(names, ["", *(year for _, year in names)], strict=False)


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "".join(
        f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True)
    )


class _Tasks(NamedTuple):
    due: list[float]
    in_time: list[float]
    late: list[float]
    failed: list[float]
    missed: list[float]
    silent: list[float]

    @property
    def asked(self) -> float:
        return sum(map(sum, self[1:]))


OF_STATUS: Final = {
    "in_time": ("done",),
    "late": ("late",),
    "failed": ("failed",),
    "missed": ("missed",),
    "silent": ("gap", "overdue"),
}


def _tasks(reading: Reading, count: _Count) -> _Tasks:
    rota, (first, last) = reading.rota, reading.period
    found = written(reading.standing("sign_off", "miss"))
    made = states(rota, rota.dues(first, last), found, reading.printed_at)

    def of(*statuses: str) -> list[float]:
        return count.of_days((s.due.day, 1) for s in made if s.status in statuses)

    asked = [s for s in made if _was_asked(s)]
    return _Tasks(
        count.of_days((s.due.day, 1) for s in asked),
        **{name: of(*statuses) for name, statuses in OF_STATUS.items()},
    )


def _was_asked(state: State) -> bool:
    return state.status not in ("not needed", "due", "not yet")


def _of_tasks(tasks: _Tasks) -> tuple[Measure, ...]:
    return (
        _measure("Tasks that were due", tasks.due),
        _measure("done in time", tasks.in_time, part=True),
        _measure("done late", tasks.late, part=True),
        _measure("done, something out of limit", tasks.failed, part=True),
        _measure("not done, and why", tasks.missed, part=True),
        _measure("nothing written", tasks.silent, part=True),
    )


def _percent(tasks: _Tasks) -> str:
    """How many were done in time, rounded down: only all of them are 100 %."""
    if not tasks.asked:
        return ""
    return f"{int(sum(tasks.in_time) * 1000 // tasks.asked) / 10:g} %"


def _measure(
    name: str,
    values: Sequence[float],
    *,
    part: bool = False,
    kg: bool = False,
) -> Measure:
    shown = tuple(_shown(value, kg) for value in values)
    return Measure(name, shown, _shown(sum(values), kg), part)


def _shown(value: float, kg: bool) -> str:
    if not value:
        return "–"
    return f"{round(value / GRAMS):,}" if kg else f"{int(value):,}"


def _figures(
    names: Sequence[tuple[str, str]],
    tasks: _Tasks,
    doses: tuple[list[float], list[float]],
    batches: tuple[list[float], list[float]],
    fodder: tuple[list[float], list[float]],
) -> tuple[Drawn, ...]:
    odd = [sum(column) for column in zip(*tasks[2:], strict=True)]
    late, failed, missed, silent = (tuple(values) for values in tasks[2:])
    return (
        Drawn(
            "Tasks not done as planned",
            bars(
                "Tasks not done as planned",
                names,
                (
                    Series("late", late, 1),
                    Series("out of limit", failed, 0),
                    Series("not done", missed, 2),
                    Series("not written", silent, 3),
                ),
                [f"{int(n)}" for n in odd],
            ),
        ),
        _doses(names, *doses),
        _sown(names, *batches),
        Drawn(
            "Fodder, kg",
            bars(
                "Fodder, kg",
                names,
                (
                    Series("fed", tuple(n / GRAMS for n in fodder[0]), 0),
                    Series("sent away", tuple(n / GRAMS for n in fodder[1]), 1),
                ),
                [_kg(a + b) for a, b in zip(*fodder, strict=True)],
            ),
        ),
    )


def _doses(
    names: Sequence[tuple[str, str]], every: list[float], failed: list[float]
) -> Drawn:
    rest = tuple(a - b for a, b in zip(every, failed, strict=True))
    series = (Series("failed", tuple(failed), 3), Series("others", rest, 0))
    return Drawn("Doses", bars("Doses", names, series, [f"{int(n)}" for n in every]))


def _sown(
    names: Sequence[tuple[str, str]], sown: list[float], mould: list[float]
) -> Drawn:
    title = "Batches sown; ▲ finds of mould"
    labels = [
        f"{int(many)} ▲{int(found)}" if found else f"{int(many)}"
        for many, found in zip(sown, mould, strict=True)
    ]
    return Drawn(title, bars(title, names, (Series("sown", tuple(sown), 0),), labels))


def _kg(grams: float) -> str:
    kg = grams / GRAMS
    return f"{kg / 1000:.1f} t" if kg >= 10_000 else f"{kg:,.0f}"


def _out_of_limit(entry: Entry) -> float:
    given = rows_of(entry, "results")
    return sum(row.get("verdict") in ("over", "under") for row in given)


def _grams(entry: Entry, key: str) -> float:
    return sum(_number(row.get("grams")) for row in rows_of(entry, key))


def _number(value: Any) -> float:
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else 0
