"""A file that travels inside a PDF."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from hygiene.exchange.table import Table, metadata, to_csv


class Attached(NamedTuple):
    """Its name, its bytes, what it is, and its relation to the pages (ISO 32000-2,
    7.11.3: Source, Data, Supplement, Alternative, Unspecified).
    """

    name: str
    content: bytes
    description: str
    relation: str = "Data"


def data(table: Table, rows: Iterable[Sequence[Any]]) -> tuple[Attached, Attached]:
    """The rows behind a page as CSV, and what its columns are (CSV on the Web)."""
    return (
        Attached(table.file, to_csv(table, rows), table.says, "Data"),
        Attached(
            f"{table.file}-metadata.json",
            metadata(table),
            f"The columns of {table.file}",
            "Supplement",
        ),
    )
