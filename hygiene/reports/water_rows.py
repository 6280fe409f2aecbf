"""The rows behind the water test log: one for each result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from hygiene.exchange.table import Column, Table
from hygiene.kinds.entry import items, rows_of
from hygiene.reports.attached import Attached, data
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter

COLUMNS: Final = (
    Column("entry", "string", "the test's name for ever", required=True),
    Column("taken_at", "dateTimeStamp", "when the sample was taken"),
    Column("point", says="where"),
    Column("parameter", says="what was looked for"),
    Column("as_written", says="by the laboratory, or typed at the tap"),
    Column("sign", says="= < <= > >=, not detected, detected or too many"),
    Column("value", "decimal"),
    Column("unit"),
    Column("held_against", says="the limit of that day and its source"),
    Column("verdict", says="what came of it"),
    Column("stops", says="sowing, where it stopped that"),
    Column("method"),
    Column("kit"),
    Column("laboratory"),
    Column("certificate"),
    Column("received_at", "dateTimeStamp", "when the laboratory had it"),
    Column("sampler", says="who took it, if no person of the farm"),
    Column("files_sha256", "json", "the files attached to it"),
    Column("marks", "json", "rules that it stands against for ever"),
    Column("struck", "boolean", "whether it no longer stands"),
    Column("by", says="who took or read it"),
    Column("written_by", says="who typed it, if another"),
    Column("recorded_at", "dateTimeStamp", "when it was written down"),
)


def results_file(period: Period, tests: Iterable[Matter]) -> tuple[Attached, ...]:
    """Every result of the period, also those for which the pages had no room."""
    first, last = period
    table = Table(
        f"water-{first}-to-{last}",
        "Every result of the period, a row each",
        COLUMNS,
        ("entry", "parameter"),
    )
    return data(
        table,
        (
            _row(matter, row)
            for matter in tests
            for row in rows_of(matter.said, "results")
        ),
    )


def _row(matter: Matter, row: Mapping[str, Any]) -> tuple[Any, ...]:
    entry = matter.said
    of_result = (
        "parameter", "as_written", "sign", "value", "unit", "held_against", "verdict",
        "stops", "method",
    )  # fmt: skip
    return (
        matter.first.name,
        entry.happened_at,
        entry.get("point"),
        *(row.get(key) for key in of_result),
        row.get("kit") or entry.get("kit"),
        *(
            entry.get(key)
            for key in ("laboratory", "certificate", "received_at", "sampler")
        ),
        [file.get("sha256") for file in rows_of(entry, "attached")],
        list(items(entry, "marks")),
        matter.struck,
        entry.by,
        entry.written_by,
        entry.recorded_at,
    )
