"""A file that travels inside a PDF."""

from __future__ import annotations

from typing import NamedTuple


class Attached(NamedTuple):
    """Its name, its bytes, what it is, and its relation to the pages (ISO 32000-2,
    7.11.3: Source, Data, Supplement, Alternative, Unspecified).
    """

    name: str
    content: bytes
    description: str
    relation: str = "Data"
