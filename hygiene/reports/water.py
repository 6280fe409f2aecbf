"""The water test log: readings with a kit, certificates, what failed, the figures.

It answers Regulation (EC) 183/2005 Annex I A II 2(d), the results of analyses: where
and when it was taken, by which laboratory and method, the result as it was written,
the limit that counted and its source, and the certificate by number and hash.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from hygiene.acts.trends import trends
from hygiene.book.record import Record
from hygiene.errors import HygieneError
from hygiene.kinds.entry import Entry, items, rows_of
from hygiene.kinds.words import gist
from hygiene.reports.amended import Amended, amended_by
from hygiene.reports.attached import Attached
from hygiene.reports.columns import Day, in_time
from hygiene.reports.figures import KEY, trend_figure
from hygiene.reports.frame import Frame, Who, frame_of, who
from hygiene.reports.lines import Line, line
from hygiene.reports.logs.page import file_of
from hygiene.reports.marks import Mark
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, read_only, span_of
from hygiene.reports.stories import Action, actions_about
from hygiene.reports.water_rows import results_file
from hygiene.reports.words import clock, count, listed, plain, signed
from hygiene.water.parameters import BY_CODE, parameter_of, read_as
from hygiene.water.trend import Trend, in_words

MOST: Final = 500
"""So many results stand on the pages; the rest only in the attached file."""
MOST_FIGURES: Final = 12
FEWEST: Final = 4
"""A figure is drawn of so many readings; fewer are told in a sentence."""
BACK: Final = timedelta(days=365)
"""How far before the end of the period a figure begins."""
HEADS: Final = ("Point", "Read", "Verdict", "Kit", "By")
ROOM: Final = 90
VERDICTS: Final[Mapping[str, Mark]] = {
    "within": Mark("✔", "within its limit"),
    "over": Mark("▲", "out of limit: written out beneath"),
    "under": Mark("▲", "out of limit: written out beneath"),
    "cannot tell": Mark("□", "cannot show it, or is not to be relied on"),
    "": Mark("–", "no limit counts there"),
}
"""By the verdict that stands with a result in the record."""
WORDS: Final = {
    "within": "within",
    "over": "over",
    "under": "under",
    "cannot tell": "cannot tell",
    "": "no limit",
}


class Gathered(NamedTuple):
    """What the page is made from."""

    reading: Reading
    trends: tuple[Trend, ...]


class Row(NamedTuple):
    """One result of a certificate; ``source`` counts into the page's sources."""

    name: str
    found: str
    limit: str
    source: int | None
    sign: str
    said: str
    method: str


class File(NamedTuple):
    """A file of the certificate: its name, and its SHA-256 in groups to compare."""

    name: str
    groups: tuple[str, ...]


class Certificate(NamedTuple):
    """A laboratory's results."""

    when: str
    place: str
    said: tuple[str, ...]
    struck: bool
    rows: tuple[Row, ...]
    files: tuple[File, ...]


class Failure(NamedTuple):
    """A test that was out of limit or cannot be relied on, told to its end."""

    sign: str
    when: str
    title: str
    by: str
    entry: str
    actions: tuple[Action, ...]
    holds: tuple[Line, ...]


class Picture(NamedTuple):
    """A trend as a drawing, with the text that stands in its place."""

    title: str
    svg: str
    alternative: str
    drift: str


class Page(NamedTuple):
    """The log as values; ``report_templates/water.html`` lays it out."""

    frame: Frame
    summary: tuple[str, ...]
    first: str
    head: str
    days: tuple[Day, ...]
    certificates: tuple[Certificate, ...]
    sources: tuple[str, ...]
    more: int
    key: tuple[Mark, ...]
    failures: tuple[Failure, ...]
    disturbed: tuple[Line, ...]
    amended: tuple[tuple[str, Amended], ...]
    pictures: tuple[Picture, ...]
    picture_key: str
    sentences: tuple[str, ...]
    who: tuple[Who, ...]
    attached: tuple[Attached, ...]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the period's tests, and each point's history of a year up to its end."""
    reading = read_only(record, period, printed_at, ("water", "disturbance"))
    _, end = span_of(reading.rota, period)
    points = dict.fromkeys(
        [
            *reading.farm.things("point"),
            *(str(m.said.get("point")) for m in _tests(reading)),
        ]
    )
    found = [
        one
        for point in points
        for one in trends(record, reading.farm, point, since=end - BACK, before=end)
    ]
    return Gathered(reading, tuple(found))


def _tests(reading: Reading) -> list[Matter]:
    return [m for m in reading.of_kind("water") if reading.happened_in(m)]


def _disturbed(reading: Reading) -> list[Matter]:
    """What may have changed the water: a repair, a flood."""
    return [m for m in reading.of_kind("disturbance") if reading.happened_in(m)]


def page(gathered: Gathered) -> Page:
    """The log of the period's water tests."""
    reading, found = gathered
    tests = _tests(reading)
    sources: dict[str, int] = {}
    field, laboratory, more = _shown(tests)
    cells = [(matter, _printed(matter), _cells(matter)) for matter in field]
    laid = in_time(reading, HEADS, cells, ROOM)
    certificates = tuple(_certificate(reading, m, sources) for m in laboratory)
    pictures = [one for one in found if len(one.history) >= FEWEST][:MOST_FIGURES]
    return Page(
        frame=frame_of(reading, "The water test log"),
        summary=tuple(_summary(tests)),
        **laid._asdict(),
        certificates=certificates,
        sources=tuple(sources),
        more=more,
        key=_key(tests),
        failures=tuple(_failures(reading, tests)),
        disturbed=tuple(line(reading, matter) for matter in _disturbed(reading)),
        amended=tuple(_amended(reading, [*tests, *_disturbed(reading)])),
        pictures=tuple(_picture(one) for one in pictures),
        picture_key=KEY if pictures else "",
        sentences=tuple(in_words(one) for one in found if one not in pictures),
        who=tuple(who(reading.farm, _people([*tests, *_disturbed(reading)]))),
        attached=(
            *(results_file(reading.period, tests) if tests else ()),
            *file_of(reading, "disturbance", _disturbed(reading)),
        ),
    )


def _shown(tests: Sequence[Matter]) -> tuple[list[Matter], list[Matter], int]:
    """The readings and certificates for which there is room, and how many are left."""
    field: list[Matter] = []
    laboratory: list[Matter] = []
    taken = 0
    for place, matter in enumerate(tests):
        own = matter.said.get("laboratory") is not None
        taken += len(rows_of(matter.said, "results")) if own else 1
        if taken > MOST:
            return field, laboratory, len(tests) - place
        (laboratory if own else field).append(matter)
    return field, laboratory, 0


# results


def _verdict(row: Mapping[str, Any]) -> str:
    given = row.get("verdict")
    return given if isinstance(given, str) and given in VERDICTS else ""


def _verdicts(tests: Iterable[Matter]) -> set[str]:
    return {_verdict(r) for m in tests for r in rows_of(m.said, "results")}


def _key(tests: Sequence[Matter]) -> tuple[Mark, ...]:
    found = _verdicts(tests)
    if any(matter.said.get("marks") for matter in tests):
        found.add("cannot tell")
    return tuple(dict.fromkeys(VERDICTS[v] for v in VERDICTS if v in found))


def _out(entry: Entry) -> list[Mapping[str, Any]]:
    found = rows_of(entry, "results")
    return [row for row in found if _verdict(row) in ("over", "under")]


def name_of(row: Mapping[str, Any]) -> str:
    """What was measured, in words."""
    code = str(row.get("parameter"))
    return BY_CODE[code].name if code in BY_CODE else code


def found_of(row: Mapping[str, Any]) -> str:
    """A result as written, with its unit, and beside it in ours if that is another."""
    written = str(row.get("as_written", ""))
    try:
        read = read_as(parameter_of(str(row.get("parameter"))), written)
    except HygieneError:
        return written
    unit, shown = read.parameter.unit, read.shown
    bare = read.result.value is not None and shown[-1:].isdigit()
    return f"{shown} {unit}" if bare and unit != read.parameter.name else shown


def _limit(row: Mapping[str, Any]) -> tuple[str, str]:
    """The limit that counted then, and who says so."""
    bounds, _, source = str(row.get("held_against") or "").partition(" (")
    return bounds, source.removesuffix(")")


def _cells(matter: Matter) -> tuple[str, ...]:
    entry = matter.said
    found = rows_of(entry, "results")
    kits = [entry.get("kit"), *(row.get("kit") for row in found)]
    return (
        str(entry.get("point")),
        ", ".join(f"{name_of(row)} {found_of(row)}" for row in found),
        _said(matter),
        ", ".join(dict.fromkeys(str(kit) for kit in kits if kit)) or "none named",
        entry.by,
    )


def _said(matter: Matter) -> str:
    """The verdict on a whole test, the gravest of its results first."""
    if matter.struck:
        return "– ruled through"
    entry = matter.said
    found = [_verdict(row) for row in rows_of(entry, "results")]
    grave = next(
        (v for v in ("over", "under", "cannot tell", "within") if v in found), ""
    )
    which = [name_of(r) for r in rows_of(entry, "results") if _verdict(r) == grave]
    what = f"{WORDS[grave]}: {listed(which)}" if grave not in ("within", "") else ""
    marks = ", ".join(str(m).replace("-", " ") for m in items(entry, "marks"))
    said = "; ".join(word for word in (what or WORDS[grave], marks) if word)
    if not _out(entry) and any(_out(v) for v in _versions(matter)):
        return f"{VERDICTS['over'].sign} {said} since it was put right"
    doubt = "cannot tell" if marks and grave in ("within", "") else grave
    return f"{VERDICTS[doubt].sign} {said}"


def _versions(matter: Matter) -> list[Entry]:
    return [version for version in matter.history if version.kind == "water"]


def _printed(matter: Matter) -> str:
    if matter.struck:
        return "struck"
    return "failed" if any(_out(v) for v in _versions(matter)) else "good"


def _certificate(
    reading: Reading, matter: Matter, sources: dict[str, int]
) -> Certificate:
    entry = matter.said
    point = str(entry.get("point"))
    body = reading.farm.last_described("point", point)
    name = f", {body.get('name')}" if body else ""
    made = [_row(row, sources) for row in rows_of(entry, "results")]
    return Certificate(
        _clock(reading, entry.happened_at),
        f"{point}{name}",
        tuple(_about(reading, matter)),
        matter.struck,
        tuple(made),
        tuple(_files(entry)),
    )


def _row(row: Mapping[str, Any], sources: dict[str, int]) -> Row:
    verdict, (bounds, source) = _verdict(row), _limit(row)
    number = sources.setdefault(source, len(sources) + 1) if source else None
    return Row(
        name_of(row),
        found_of(row),
        bounds,
        number,
        VERDICTS[verdict].sign,
        WORDS[verdict],
        str(row.get("method") or ""),
    )


def _about(reading: Reading, matter: Matter) -> Iterator[str]:
    entry = matter.said
    paper = entry.get("certificate") or "not named"
    yield f"{entry.get('laboratory')}, certificate {paper}"
    if entry.get("received_at"):
        yield f"received {_clock(reading, str(entry.get('received_at')))}"
    sampler = entry.get("sampler")
    yield f"sampled by {sampler or signed(entry)}"
    if sampler:
        yield f"written by {signed(entry)}"
    yield matter.first.name
    if entry.get("marks"):
        yield f"not to be relied on: {plain(entry.get('marks')).replace('-', ' ')}"


def _files(entry: Entry) -> Iterator[File]:
    for row in rows_of(entry, "attached"):
        digest = str(row.get("sha256"))
        groups = tuple(digest[n : n + 8] for n in range(0, len(digest), 8))
        yield File(str(row.get("name")), groups)


def _clock(reading: Reading, moment: str) -> str:
    return clock(moment, reading.rota.hours_on(reading.period.last), reading.period)


# what went wrong


def _failures(reading: Reading, tests: Iterable[Matter]) -> Iterator[Failure]:
    for matter in tests:
        actions = actions_about(reading, matter)
        entry = matter.said
        if not actions and not any(_out(v) for v in _versions(matter)):
            continue
        out = [f"{name_of(r)} {found_of(r)}" for r in _out(entry)]
        marks = [str(mark).replace("-", " ") for mark in items(entry, "marks")]
        yield Failure(
            "▲" if any(_out(v) for v in _versions(matter)) else "□",
            _clock(reading, entry.happened_at),
            f"{entry.get('point')}: {listed([*out, *marks]) or 'put right since'}",
            signed(entry),
            matter.first.name,
            actions,
            tuple(
                line(reading, hold)
                for hold in reading.answers(matter, "hold", struck=True)
            ),
        )


def _amended(
    reading: Reading, tests: Iterable[Matter]
) -> Iterator[tuple[str, Amended]]:
    for matter in tests:
        for each in amended_by(reading, matter, _in_short):
            where = (
                f"{_clock(reading, matter.first.happened_at)} {_in_short(matter.first)}"
            )
            yield where, each


def _in_short(entry: Entry) -> str:
    if entry.kind != "water":
        return gist(entry)
    found = [f"{name_of(r)} {r.get('as_written')}" for r in rows_of(entry, "results")]
    return f"{entry.get('point')}: {', '.join(found)}"


def _picture(one: Trend) -> Picture:
    figure = trend_figure(one)
    way = ""
    if one.drift is not None:
        way = "It falls" if one.drift.falls else "It rises"
        way += " over the last eight readings (Mann-Kendall test): a hint, not proof."
    title = f"{one.point}, {one.place}: {one.name}"
    return Picture(title, figure.svg, figure.alternative, way)


def _summary(tests: Sequence[Matter]) -> Iterator[str]:
    standing = [m.said for m in tests if not m.struck]
    found = Counter(_verdict(r) for e in standing for r in rows_of(e, "results"))
    if not tests:
        return
    laboratory = sum(e.get("laboratory") is not None for e in standing)
    yield (
        f"{count(len(standing), 'test')}, {laboratory} of them by a laboratory, with "
        f"{count(found.total(), 'result')}."
    )
    parts = [
        f"{found['within']:,} within the limit" if found["within"] else "",
        f"{found['over'] + found['under']:,} out of limit",
        f"{found['cannot tell']:,} that cannot show it" if found["cannot tell"] else "",
        f"{found['']:,} for which no limit counts" if found[""] else "",
    ]
    yield f"{listed(parts)}."
    doubtful = sum(bool(e.get("marks")) for e in standing)
    if doubtful:
        yield f"{count(doubtful, 'test')} not to be relied on (kit or training)."


def _people(tests: Iterable[Matter]) -> set[str]:
    return {
        code
        for matter in tests
        for entry in matter.history
        for code in (entry.by, entry.written_by)
        if code
    }
