"""Tables as Parquet, where the library for it is installed.

A number loses its digits as typed there (it is a double); the CSV and the lines keep
them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from hygiene.errors import ReportFailed
from hygiene.exchange.table import Table, json_text
from hygiene.kinds.moments import moment_of

ROWS_HELD = 5000


class NoParquet(ReportFailed):
    """The library that writes Parquet is not installed."""

    sentence = "Parquet needs the library pyarrow, which is not installed"


def sink_of() -> Callable[[Path, Table], ParquetRows]:
    """What makes the file of a table; raises ``NoParquet``."""
    try:
        import pyarrow.parquet  # noqa: F401
    except ImportError as failure:
        raise NoParquet(
            way_out="install it (pip install pyarrow), or leave --parquet out"
        ) from failure
    return ParquetRows


class ParquetRows:
    """The rows of one table, written some thousands at a time."""

    def __init__(self, folder: Path, table: Table) -> None:
        import pyarrow as pa
        import pyarrow.parquet as pq

        self.columns = table.columns
        types = {
            "string": pa.string(),
            "json": pa.string(),
            "integer": pa.int64(),
            "decimal": pa.float64(),
            "boolean": pa.bool_(),
            "date": pa.date32(),
            "dateTimeStamp": pa.timestamp("s", tz="UTC"),
        }
        self.schema = pa.schema([(c.name, types[c.datatype]) for c in self.columns])
        path = folder / f"{table.name}.parquet"
        self.writer = pq.ParquetWriter(path, self.schema)
        self.held: list[list[Any]] = []

    def put(self, row: Sequence[Any]) -> None:
        """Take one row."""
        pairs = zip(self.columns, row, strict=True)
        self.held.append([_native(column.datatype, value) for column, value in pairs])
        if len(self.held) >= ROWS_HELD:
            self._flush()

    def close(self) -> None:
        """Write what is still held."""
        self._flush()
        self.writer.close()

    def _flush(self) -> None:
        import pyarrow as pa

        columns = list(zip(*self.held, strict=True)) or [()] * len(self.columns)
        arrays = [
            pa.array(values, type=field.type)
            for values, field in zip(columns, self.schema, strict=True)
        ]
        self.writer.write_table(pa.Table.from_arrays(arrays, schema=self.schema))
        self.held = []


def _native(datatype: str, value: Any) -> Any:
    """A value as the library takes it."""
    if value is None:
        return None
    match datatype:
        case "json":
            return json_text(value)
        case "decimal":
            return float(value)
        case "date":
            return date.fromisoformat(value)
        case "dateTimeStamp":
            return moment_of(value)
    return value
