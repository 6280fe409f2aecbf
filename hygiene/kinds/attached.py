"""A file that an entry names: a photo, a certificate, a delivery note."""

from __future__ import annotations

import re
from dataclasses import dataclass

from hygiene.kinds.base import CannotBe
from hygiene.kinds.checks import need_range, need_text

SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Attached:
    """One file in the record: its SHA-256 in hex, its name and its size in bytes."""

    sha256: str
    name: str
    bytes: int

    def __post_init__(self) -> None:
        if not SHA256.fullmatch(self.sha256):
            raise CannotBe(key="sha256", what="is not a SHA-256 in lower-case hex")
        need_text(self, "name")
        need_range(self, "bytes", 0, 10 * 1024 * 1024, "bytes")
