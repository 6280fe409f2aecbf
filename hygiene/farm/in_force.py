"""What is in force at a moment: the set-up's entries folded into one picture.

A thing is in force from the moment its entry happened, until a later entry of the same
kind and code replaces its whole body, or retires it. So a past day is read with what
stood then. Nothing here ever raises on an odd body: what cannot be placed is kept
aside in ``odd``. This is on the path of every command, so it imports nothing heavy.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, time, tzinfo
from functools import cached_property
from typing import Any, Final, NamedTuple

from hygiene.errors import CannotBe
from hygiene.kinds import FOLDED, SETUP
from hygiene.kinds.checks import expand
from hygiene.kinds.entry import Body, Entry, rows_of
from hygiene.kinds.moments import NoSuchZone, zone_of
from hygiene.rota.season import Stretch, Turn, stretches, turn_of

FARM_CODE: Final = ""
"""The code under which the farm itself stands, which has none."""
DAY_ENDS: Final = "20:00"
"""The end of the working day where the set-up does not say it, or says it oddly."""


class _Fold(NamedTuple):
    """One thing after another: what stands, and what was last said of each code."""

    standing: dict[str, Entry]
    touched: dict[str, Entry]
    described: dict[str, Entry]
    ever: dict[str, list[Entry]]

    def add(self, code: str, entry: Entry) -> None:
        self.touched[code] = entry
        if entry.kind == "retire":
            self.standing.pop(code, None)
        else:
            self.standing[code] = self.described[code] = entry
            self.ever.setdefault(code, []).append(entry)


class InForce:
    """The set-up as it stood at one moment; made by ``in_force``."""

    def __init__(
        self,
        folds: Mapping[str, _Fold],
        trays: list[tuple[str, Entry]],
        odd: list[Entry],
        written: Iterable[Entry] = (),
    ) -> None:
        self._folds = folds
        self._tray_entries = trays
        self._odd = odd
        self._written = list(written)

    @property
    def farm(self) -> Body | None:
        """The farm itself, or None where nothing was set up yet."""
        return self.get("farm", FARM_CODE)

    def things(self, kind: str) -> dict[str, Body]:
        """The bodies of a kind by code, in the order in which they were written.

        A tray stands under its own code; its body's ``code`` is the range it came in.
        """
        return {code: entry.body for code, entry in self._fold(kind).standing.items()}

    def get(self, kind: str, code: str) -> Body | None:
        """The body of one thing, or None where it is not in force."""
        entry = self.entry(kind, code)
        return None if entry is None else entry.body

    def entry(self, kind: str, code: str) -> Entry | None:
        """The entry by which a thing is in force, for a citation."""
        return self._fold(kind).standing.get(code)

    def last_described(self, kind: str, code: str) -> Entry | None:
        """The latest entry that described a thing, even if it was retired since."""
        return self._fold(kind).described.get(code)

    def ever_said(self, kind: str, key: str) -> dict[str, frozenset[str]]:
        """What a field of each thing of a kind ever said, up to this moment."""
        return {
            code: frozenset(str(entry.get(key)) for entry in entries if entry.get(key))
            for code, entries in self._fold(kind).ever.items()
        }

    def last_touched(self, kind: str, code: str) -> Entry | None:
        """The latest entry about a thing: what it is, or that it is no more."""
        return self._fold(kind).touched.get(code)

    def trays(self) -> dict[str, Body]:
        """Every tray by its own code; ranges are expanded when first asked for."""
        return self.things("tray")

    @property
    def people(self) -> dict[str, Body]:
        """Those who may write here, by the code that they sign with."""
        return self.things("person")

    @property
    def odd(self) -> list[Entry]:
        """Entries left out, since their moment, sort or code cannot be read."""
        return [*self._odd, *self._folded_trays[1]]

    @cached_property
    def zone(self) -> tzinfo:
        """The farm's own zone; UTC where it is not set up or not known."""
        try:
            return zone_of(str((self.farm or {}).get("time_zone") or ""))
        except NoSuchZone:
            return UTC

    @property
    def day_ends(self) -> str:
        """The end of the working day at the farm, HH:MM."""
        return _clock_time((self.farm or {}).get("day_ends")) or DAY_ENDS

    @property
    def growing_days(self) -> int:
        """The growing day on which a batch has stood its time; 7, if not said."""
        given = (self.farm or {}).get("growing_days")
        return given if type(given) is int and 0 < given < 100 else 7

    @property
    def season(self) -> list[Stretch]:
        """The stretches in which the shed runs: as set up, and started and stopped."""
        rows = rows_of(self.farm or {}, "season")
        said = ((_day(row.get("first")), _day(row.get("last"))) for row in rows)
        base = [(first, last) for first, last in said if first is not None]
        return list(stretches(base, self.turns))

    @property
    def turns(self) -> list[Turn]:
        """The starts and stops of the shed that were written, in order."""
        turns = (turn_of(e.body) for e in self._written if e.kind == "season")
        return [turn for turn in turns if turn is not None]

    def roles(self, person: str) -> tuple[str, ...]:
        """The roles of a person, had they left since; none where nobody is known."""
        given = self._last_said("person", person).get("roles")
        return tuple(map(str, given)) if isinstance(given, list | tuple) else ()

    def trained(self, person: str, topic: str, on: date) -> bool:
        """Whether a person holds a training on a day: had by then, and not lapsed."""
        return any(
            _same_words(row.get("topic"), topic) and _holds(row, on)
            for row in self.trainings(person)
        )

    def trainings(self, person: str) -> list[Mapping[str, Any]]:
        """The trainings of a person: of the farm file, and written since.

        They outlast the person's leaving, since earlier work is judged by them.
        """
        written = [
            e.body
            for e in self._written
            if e.kind == "train" and e.get("person") == person
        ]
        return [*rows_of(self._last_said("person", person), "training"), *written]

    def _last_said(self, kind: str, code: str) -> Body:
        entry = self.last_described(kind, code)
        return {} if entry is None else entry.body

    def _fold(self, kind: str) -> _Fold:
        if kind == "tray":
            return self._folded_trays[0]
        return self._folds.get(kind) or _Fold({}, {}, {}, {})

    @cached_property
    def _folded_trays(self) -> tuple[_Fold, list[Entry]]:
        fold, odd = _Fold({}, {}, {}, {}), []
        for codes, entry in self._tray_entries:
            try:
                for code in expand(codes):
                    fold.add(code, entry)
            except CannotBe:
                odd.append(entry)
        return fold, odd


def in_force(entries: Iterable[Entry], at: datetime) -> InForce:
    """Fold the standing set-up entries into what is in force at ``at`` (aware).

    The order of ``entries`` does not matter: they take effect in the order of the
    instants at which they happened, then were recorded, then by book and number.
    Entries that are not of the set-up are passed over.
    """
    placed, odd = _in_order(entries, at.timestamp())
    folds: dict[str, _Fold] = {}
    trays: list[tuple[str, Entry]] = []
    written = [entry for entry in placed if entry.kind not in SETUP]
    for entry in placed:
        if entry.kind not in SETUP:
            continue
        sort = entry.get("sort") if entry.kind == "retire" else entry.kind
        code = FARM_CODE if sort == "farm" else entry.get("code")
        if not isinstance(sort, str) or sort not in SETUP or not isinstance(code, str):
            odd.append(entry)
        elif sort == "tray":
            trays.append((code, entry))
        else:
            folds.setdefault(sort, _Fold({}, {}, {}, {})).add(code, entry)
    return InForce(folds, trays, odd, written)


def _in_order(
    entries: Iterable[Entry], until: float
) -> tuple[list[Entry], list[Entry]]:
    placed: list[tuple[float, float, str, int, Entry]] = []
    odd = []
    for entry in entries:
        if entry.kind not in FOLDED:
            continue
        happened, recorded = _instant(entry.happened_at), _instant(entry.recorded_at)
        if happened is None or recorded is None or not isinstance(entry.body, Mapping):
            odd.append(entry)
        elif happened <= until:
            placed.append((happened, recorded, entry.book, entry.seq, entry))
    placed.sort(key=lambda row: row[:4])
    return [row[4] for row in placed], odd


def _instant(text: str) -> float | None:
    try:
        made = datetime.fromisoformat(text)
    except (ValueError, TypeError):
        return None
    return made.timestamp() if made.tzinfo else None


def _day(given: Any) -> date | None:
    try:
        return date.fromisoformat(given)
    except (ValueError, TypeError):
        return None


def _same_words(one: Any, other: str) -> bool:
    return isinstance(one, str) and one.casefold() == other.casefold()


def _holds(row: Mapping[str, Any], on: date) -> bool:
    had_on, until = _day(row.get("had_on")), row.get("until")
    last = on if until is None else _day(until)
    return had_on is not None and last is not None and had_on <= on <= last


def _clock_time(given: Any) -> str | None:
    try:
        made = time.fromisoformat(given).strftime("%H:%M")
    except (ValueError, TypeError):
        return None
    return made if made == given else None
