"""The dosing log: a line for each dose, what failed told to its end, what was drawn.

It answers Regulation (EC) 183/2005 Annex I A II 2(a), the use of biocides: product,
authorisation, maker's batch, dose, place, moment and person.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.clearance import shed_of_doses
from hygiene.acts.lines import below as grown_below
from hygiene.book.record import Record
from hygiene.exchange.table import Column, Table
from hygiene.farm.in_force import InForce
from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Body, Entry, rows_of, texts_of
from hygiene.reports.amended import Amended, amended_by
from hygiene.reports.attached import Attached, data
from hygiene.reports.columns import Day, in_time
from hygiene.reports.frame import Frame, Who, frame_of, who
from hygiene.reports.lines import Line, line
from hygiene.reports.logs.page import file_of
from hygiene.reports.marks import Mark
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, read_only
from hygiene.reports.stories import Action, actions_about
from hygiene.reports.verdicts import VERDICTS, Bench, Judged, is_shock
from hygiene.reports.words import clock, count, listed, number, plain, signed
from hygiene.rota.schedule import moment_or_none
from hygiene.sanitising.containers import Container, amount, drawn_of, read_containers
from hygiene.sanitising.doses import Read, read_dose, text

MOST: Final = 500
"""So many doses stand on the pages; the rest only in the attached file."""
MOST_STORIES: Final = 100
MOST_AFTER: Final = 2
"""A line is read again with every later rinse: so many stand on the line."""
OF_A_CAN: Final = ("opened", "strength", "lost")
"""What else happens to a container: opened, measured, spilt or thrown away."""
HEADS: Final = (
    "Product", "Drawn, of container", "On", "Planned", "Read (start / end)",
    "Stood", "After", "Verdict", "By",
)  # fmt: skip
ROOM: Final = 148
"""So many letters go on a line beside the day (report_templates/log.css)."""


class Row(NamedTuple):
    """One dose: the matter, what it is worth, and its moment."""

    matter: Matter
    judged: Judged


class Gathered(NamedTuple):
    """What the page is made from."""

    reading: Reading
    rows: tuple[Row, ...]
    containers: dict[str, Container]


class Failure(NamedTuple):
    """A failed dose told to its end."""

    sign: str
    when: str
    title: str
    told: tuple[str, ...]
    by: str
    entry: str
    actions: tuple[Action, ...]


class Total(NamedTuple):
    """What was drawn from a container in the period, and what is left in it now."""

    container: str
    product: str
    maker_batch: str
    drawn: str
    doses: int
    left: str


class Product(NamedTuple):
    """A product that was used: what its label says."""

    code: str
    name: str
    authorisation: str
    label: str


class Page(NamedTuple):
    """The log as values; ``report_templates/dosing.html`` lays it out."""

    frame: Frame
    summary: tuple[str, ...]
    first: str
    head: str
    days: tuple[Day, ...]
    more: int
    key: tuple[Mark, ...]
    lacking: tuple[tuple[str, int], ...]
    failures: tuple[Failure, ...]
    more_failures: int
    amended: tuple[tuple[str, Amended], ...]
    totals: tuple[Total, ...]
    besides: tuple[Line, ...]
    products: tuple[Product, ...]
    who: tuple[Who, ...]
    attached: tuple[Attached, ...]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the period's doses, their tubs, rinses, kits and containers."""
    reading = read_only(record, period, printed_at, ("dose", *OF_A_CAN))
    names = [matter.first.name for matter in _doses(reading)]
    shed = shed_of_doses(record, record.setup(), printed_at, names)
    below = {
        told.name: {
            line: grown_below(record, line, shed._replace(doses=(told,)))
            for version in told.versions
            for line in _lines(reading.farm, version.line, version.tank)
        }
        for told in shed.doses
        if any(
            is_shock(v, shed.label_then(v.product, v.started)) for v in told.versions
        )
    }
    bench = Bench(shed, below)
    # judged here, since the checks of a kit are read when one is asked about
    rows = tuple(_row(reading, bench, matter) for matter in _doses(reading))
    return Gathered(reading, rows, _containers(record, rows))


def _doses(reading: Reading) -> list[Matter]:
    return [m for m in reading.of_kind("dose") if reading.happened_in(m)]


def _lines(farm: InForce, line: str | None, tank: str | None) -> list[str]:
    if line is not None:
        return [line]
    lines = farm.things("line")
    return [code for code, body in lines.items() if tank and body.get("tank") == tank]


def _containers(record: Record, rows: Iterable[Row]) -> dict[str, Container]:
    codes = {code for row in rows for code, _, _ in drawn_of(row.matter.said.body)}
    return read_containers(record.mentioning(*sorted(codes))) if codes else {}


def page(gathered: Gathered) -> Page:
    """The log of the period's doses."""
    reading, rows, _ = gathered
    shown = rows[:MOST]
    cells = [(row.matter, row.judged.verdict, _cells(row)) for row in shown]
    laid = in_time(reading, HEADS, cells, ROOM)
    failed = [row for row in rows if row.judged.verdict == "failed"]
    amended = [pair for row in rows for pair in _amended(reading, row)]
    standing = [row for row in rows if not row.matter.struck]
    used = [row.matter.said for row in rows]
    besides = [m for m in reading.of_kind(*OF_A_CAN) if reading.happened_in(m)]
    return Page(
        frame=frame_of(reading, "The dosing log"),
        summary=tuple(_summary(rows, failed)),
        **laid._asdict(),
        more=len(rows) - len(shown),
        key=tuple(
            VERDICTS[v] for v in VERDICTS if any(r.judged.verdict == v for r in rows)
        ),
        lacking=tuple(_lacking(rows)),
        failures=tuple(_failure(reading, row) for row in failed[:MOST_STORIES]),
        more_failures=max(len(failed) - MOST_STORIES, 0),
        amended=tuple(amended[:MOST_STORIES]),
        totals=tuple(_totals(standing, gathered.containers)),
        besides=tuple(line(reading, matter) for matter in besides[:MOST_STORIES]),
        products=tuple(_products(reading.farm, used)),
        who=tuple(who(reading.farm, _people(rows))),
        attached=(
            *(_data(gathered) if rows else ()),
            *(
                file
                for kind in OF_A_CAN
                for file in file_of(
                    reading, kind, [m for m in besides if m.first.kind == kind]
                )
            ),
        ),
    )


def _row(reading: Reading, bench: Bench, matter: Matter) -> Row:
    acted = bool(reading.answers(matter, "action", struck=True))
    return Row(matter, bench.judge(matter.first.name, acted=acted))


# the lines


def _cells(row: Row) -> tuple[str, ...]:
    entry, judged = row.matter.said, row.judged
    return (
        str(entry.get("product")),
        ", ".join(f"{amount(u, n)} {code}" for code, u, n in drawn_of(entry.body)),
        treated(entry.body),
        _planned(entry.body),
        _read(entry, judged.readings),
        _stood(entry, judged.ended),
        _after(judged),
        said_of(judged),
        entry.by,
    )


def treated(body: Body) -> str:
    """What a dose or a rinse was on, in a few words."""
    trays = texts_of(body, "trays")
    if trays:
        return ranges(sorted(trays))
    named = [text(body, key) for key in ("line", "tank", "place")]
    return ", ".join([n for n in named if n] or list(texts_of(body, "tools")))


def _planned(body: Body) -> str:
    target = body.get("target_mg_per_l")
    parts = [] if target is None else [f"{number(target)} mg/L"]
    for unit in ("tenth_ml", "mg"):
        many = body.get(f"planned_{unit}")
        if isinstance(many, int):
            parts.append(amount(unit, many))
    return ", ".join(parts)


def _read(entry: Entry, readings: Sequence[Read]) -> str:
    """The strengths that count: of a tub in their order, else with their places."""
    if not readings:
        return "not read"
    if entry.get("target") == "tray":
        return f"{' / '.join(_level(read) for read in readings)} mg/L"
    return f"{_placed(readings)} mg/L"


def _placed(readings: Iterable[Read]) -> str:
    return ", ".join(f"{read.spot} {_level(read)}" for read in readings)


def _level(read: Read) -> str:
    return f"{read.sign or ''}{read.mg_per_l:g}"


def _stood(entry: Entry, ended: datetime | None) -> str:
    minutes = _minutes(entry, ended)
    if minutes is None:
        return "?"
    if minutes >= 24 * 60:
        return f"{minutes / 60:.3g} h"
    return f"{minutes:g} min"


def _minutes(entry: Entry, ended: datetime | None) -> float | None:
    began = moment_or_none(entry.happened_at)
    if began is None or ended is None:
        return None
    return round((ended - began).total_seconds() / 60, 1)


def _after(judged: Judged) -> str:
    rinsed = {True: "rinsed", False: "no rinse", None: "rinse ?"}[judged.rinsed]
    parts = [rinsed, "dry" if judged.dry else "", _placed(judged.after[:MOST_AFTER])]
    more = len(judged.after) - MOST_AFTER
    parts += [f"and {more} later" if more > 0 else ""]
    return ", ".join(part for part in parts if part)


def said_of(judged: Judged) -> str:
    """The verdict with its mark, in words."""
    if judged.verdict == "struck":
        return f"{judged.sign} ruled through"
    if judged.verdict == "good":
        return "; ".join((f"{judged.sign} good", *judged.words))
    return f"{judged.sign} {', '.join(judged.words) or judged.verdict}"


# what went wrong


def _failure(reading: Reading, row: Row) -> Failure:
    entry, judged = row.matter.said, row.judged
    actions = actions_about(reading, row.matter)
    known = " ".join(action.problem for action in actions)
    hours = reading.rota.hours_on(reading.period.last)
    return Failure(
        judged.sign,
        clock(entry.happened_at, hours, reading.period),
        _said(entry),
        tuple(f.says for f in judged.faults if f.failed and f.says not in known),
        signed(entry),
        row.matter.first.name,
        actions,
    )


def _lacking(rows: Sequence[Row]) -> list[tuple[str, int]]:
    """What is not written, and at how many doses."""
    found: Counter[str] = Counter()
    for row in rows:
        if row.judged.verdict == "unknown":
            says = [fault.says for fault in row.judged.faults if not fault.failed]
            found.update(list(dict.fromkeys([*says, *row.judged.whys])))
    return found.most_common()


def _amended(reading: Reading, row: Row) -> Iterator[tuple[str, Amended]]:
    if row.matter.changed:
        hours = reading.rota.hours_on(reading.period.last)
        when = clock(row.matter.first.happened_at, hours, reading.period)
        for each in amended_by(reading, row.matter, _said):
            yield f"{when} {_said(row.matter.first)}", each


def _said(entry: Entry) -> str:
    return f"{entry.get('product')} on {treated(entry.body)}"


def _summary(rows: Sequence[Row], failed: Sequence[Row]) -> Iterator[str]:
    if not rows:
        return
    times = Counter(row.judged.verdict for row in rows)
    parts = [
        f"{times[verdict]:,} {said}"
        for verdict, said in (
            ("good", "as the label asks"),
            ("failed", "failed"),
            ("unknown", "with something not written"),
            ("struck", "ruled through"),
        )
        if times[verdict]
    ]
    yield f"{count(len(rows), 'dose')}: {listed(parts)}."


def _people(rows: Iterable[Row]) -> set[str]:
    return {
        code
        for row in rows
        for entry in row.matter.history
        for code in (entry.by, entry.written_by)
        if code
    }


# totals


def _totals(rows: Sequence[Row], containers: dict[str, Container]) -> Iterator[Total]:
    drawn: Counter[tuple[str, str]] = Counter()
    doses: Counter[str] = Counter()
    product: dict[str, str] = {}
    for row in rows:
        body = row.matter.said.body
        for code, unit, many in drawn_of(body):
            drawn[code, unit] += many
            doses[code] += 1
            product.setdefault(code, str(body.get("product")))
    for (code, unit), many in sorted(drawn.items()):
        held = containers.get(code)
        yield Total(
            code,
            held.product if held else product[code],
            (held.maker_batch or "") if held else "not in the record",
            amount(unit, many),
            doses[code],
            amount(held.unit, held.left) if held else "?",
        )


def _products(farm: InForce, used: Iterable[Entry]) -> Iterator[Product]:
    for code in sorted({str(entry.get("product")) for entry in used}):
        found = farm.last_described("product", code)
        if found is None:
            yield Product(code, "not known at the farm", "", "")
            continue
        types = listed(texts_of(found.body, "product_types"))
        number_ = str(found.get("authorisation") or "")
        yield Product(
            code,
            str(found.get("name")),
            ", ".join(part for part in (number_, types) if part) or "none",
            label_words(found.body),
        )


def label_words(body: Body) -> str:
    """What a product's label asks for, in a line."""
    low, high = body.get("label_min_mg_per_l"), body.get("label_max_mg_per_l")
    parts = []
    if low is not None or high is not None:
        parts.append(f"{plain(low) or '0'} to {plain(high) or '?'} mg/L")
    if body.get("contact_minutes") is not None:
        parts.append(f"{plain(body.get('contact_minutes'))} min")
    if body.get("lowest_temp_c") is not None:
        parts.append(f"{plain(body.get('lowest_temp_c'))} °C or warmer")
    rinse = {"True": "rinse", "False": "no rinse needed"}
    asked = rinse.get(str(body.get("rinse_needed")))
    return ", ".join([*parts, *([asked] if asked else [])]) or "says nothing of it"


# the attached file

COLUMNS: Final = (
    Column("entry", "string", "the dose's name for ever", required=True),
    Column("began_at", "dateTimeStamp", "when the contact began"),
    Column("ended_at", "dateTimeStamp", "when the contact ended"),
    Column("contact_minutes", "decimal", "between the two"),
    Column("product", says="the farm's code of it"),
    Column("product_name", says="as on the label"),
    Column("authorisation", says="the number on the label"),
    Column("containers", "json", "what it was drawn from"),
    Column("maker_batches", "json", "of those containers, in the same order"),
    Column("drawn_tenth_ml", "integer", "tenths of a millilitre in all"),
    Column("drawn_mg", "integer", "milligrams in all"),
    Column("planned_tenth_ml", "integer", "tenths of a millilitre"),
    Column("planned_mg", "integer", "milligrams"),
    Column("target_mg_per_l", "decimal", "strength that was wanted"),
    Column("volume_l", "decimal", "made up to that"),
    Column("target", says="tray, line, tank, surface or tool"),
    Column("treated", says="which"),
    Column("readings_mg_per_l", "json", "where, and what the kit said"),
    Column("kits", "json", "of those readings, in the same order"),
    Column("ph", "json", "of those readings, in the same order"),
    Column("temp_c", "json", "of those readings, in the same order"),
    Column("rinsed", "boolean"),
    Column("dry", "boolean"),
    Column("gear", "json", "what was worn"),
    Column("locked_off_by", says="who locked the timer of a line"),
    Column("verdict", says="what the dose is worth"),
    Column("reasons", "json", "of that verdict"),
    Column("marks", "json", "rules that it stands against for ever"),
    Column("struck", "boolean", "whether it no longer stands"),
    Column("by", says="who did it"),
    Column("written_by", says="who typed it, if another"),
    Column("recorded_at", "dateTimeStamp", "when it was written down"),
)


def _data(gathered: Gathered) -> tuple[Attached, ...]:
    """Every dose of the period, also those for which the pages had no room."""
    first, last = gathered.reading.period
    table = Table(
        f"doses-{first}-to-{last}",
        "Every dose of the period, a row each",
        COLUMNS,
        ("entry",),
    )
    return data(table, (_csv_row(gathered, row) for row in gathered.rows))


def _csv_row(gathered: Gathered, row: Row) -> tuple[Any, ...]:
    entry, judged = row.matter.said, row.judged
    body, drawn = entry.body, drawn_of(entry.body)
    held = [gathered.containers.get(code) for code, _, _ in drawn]
    product = gathered.reading.farm.last_described("product", str(body.get("product")))
    sheet = product.body if product else {}
    own = rows_of(body, "readings")
    reasons = [fault.says for fault in judged.faults] + list(judged.whys)
    return (
        row.matter.first.name,
        entry.happened_at,
        judged.ended and judged.ended.isoformat(timespec="seconds"),
        _minutes(entry, judged.ended),
        body.get("product"),
        sheet.get("name"),
        sheet.get("authorisation"),
        [code for code, _, _ in drawn],
        [each.maker_batch or "" if each else "" for each in held],
        sum(many for _, unit, many in drawn if unit == "tenth_ml") or None,
        sum(many for _, unit, many in drawn if unit == "mg") or None,
        *(body.get(key) for key in ("planned_tenth_ml", "planned_mg")),
        *(body.get(key) for key in ("target_mg_per_l", "volume_l", "target")),
        treated(body),
        [f"{r.spot} {_level(r)}" for r in read_dose(entry).readings],
        *([r.get(key) for r in own] for key in ("kit", "ph", "temp_c")),
        judged.rinsed,
        judged.dry,
        list(texts_of(body, "gear")),
        body.get("locked_off_by"),
        judged.verdict,
        reasons,
        list(texts_of(body, "marks")),
        row.matter.struck,
        entry.by,
        entry.written_by,
        entry.recorded_at,
    )
