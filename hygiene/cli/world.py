"""What a command needs from outside: the clock, the terminal, the record, the writer.

It is made once by the boundary from the process, or by a test with a clock of its
own. There is no environment variable for the time: in a record that must stand up to
an inspector, that would be a back-dating switch.
"""

import os
import re
import sys
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from hygiene.errors import WronglyPut
from hygiene.kinds.entry import Entry

PLACE = re.compile(r"[a-z]{1,12}")


def _clock() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


class World(NamedTuple):
    """The clock, the environment and the terminal of one run."""

    now: Callable[[], datetime] = _clock
    environ: Mapping[str, str] = MappingProxyType({})
    asks: bool = False
    """Whether a person can be asked: both ends are a terminal."""
    width: int = 80
    entries: list[Entry] | None = None
    """Where what a command writes is collected, to be shown as JSON."""

    @classmethod
    def from_process(cls) -> "World":
        """Read the process: its environment, its terminal and its clock."""
        # a stream that was closed before we began is None
        ends = (sys.stdin, sys.stdout)
        terminal = all(end is not None and end.isatty() for end in ends)
        try:
            width = os.get_terminal_size().columns if terminal else 80
        except OSError:
            width = 80
        return cls(environ=os.environ, asks=terminal, width=max(width, 40))

    def record(self, given: Path | None) -> Path:
        """The record's path: as given, else ``HYGIENE_RECORD``, else ./farm.db."""
        if given is not None:
            return given
        return Path(self.environ.get("HYGIENE_RECORD") or "farm.db")

    def wrote(self, entries: Iterable[Entry]) -> None:
        """Collect what was written, where it is to be shown."""
        if self.entries is not None:
            self.entries.extend(entries)

    def by(self, given: str | None) -> str | None:
        """The writer's code: as given, else ``HYGIENE_BY``, else not known."""
        return given or self.environ.get("HYGIENE_BY") or None

    def place(self) -> str:
        """After what this device's book is named: ``HYGIENE_PLACE``, else shed."""
        given = self.environ.get("HYGIENE_PLACE") or "shed"
        if not PLACE.fullmatch(given):
            raise WronglyPut(
                what=f"HYGIENE_PLACE is {given!r}: one word in small letters is wanted"
            )
        return given

    def keys(self) -> Path:
        """Where this device keeps the keys to the books that it may write.

        ``HYGIENE_KEYS``, else the user's folder for the state of programs: outside
        every record, so that a copied record does not carry the right to write.
        """
        given = self.environ.get("HYGIENE_KEYS")
        if given:
            return Path(given)
        state = self.environ.get("XDG_STATE_HOME") or self.environ.get("LOCALAPPDATA")
        try:
            home = Path(state or Path.home() / ".local" / "state")
        except RuntimeError:  # nobody knows this user: no key is there, nor can one be
            return Path(os.devnull, "no home folder is known")
        return home / "hygiene" / "keys"
