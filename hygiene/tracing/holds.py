"""What is held and why: the strictest reading of all versions of every entry.

Striking or correcting a find, a tray or a date never ends a hold, and never lets out
what was held: whatever any version of an entry said still counts. Only a release that
stands ends a hold; it names the hold, so no clock decides.
"""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from hygiene.kinds.entry import Entry, rows_of, texts_of

SOWING: Final = "sowing"
"""What a hold stops that stops nothing else."""


class Hold(NamedTuple):
    """A hold with all its versions, the first one first."""

    name: str
    versions: tuple[Entry, ...]

    @property
    def first(self) -> Entry:
        """As it was first written: it gives the hold its name."""
        return self.versions[0]

    @property
    def held(self) -> frozenset[tuple[str, str]]:
        """Everything that any version holds, as (sort, code)."""
        return frozenset((str(v.get("sort")), str(v.get("held"))) for v in self._said)

    @property
    def causes(self) -> frozenset[str]:
        """The entries that it follows from, by any version."""
        return frozenset(str(v.get("because")) for v in self._said if v.get("because"))

    @property
    def stops_sowing_only(self) -> bool:
        """Whether every version stops sowing alone."""
        return all(v.get("stops") == SOWING for v in self._said)

    @property
    def shares(self) -> str | None:
        """What is shared with a mouldy batch, where every version is a precaution."""
        said = [v.get("shares") for v in self._said]
        return str(said[-1]) if said and all(said) else None

    @property
    def is_precaution(self) -> bool:
        """Whether any version says that it is one, in its reason or by what it shares.

        Whoever holds something by hand need not name what it follows from.
        """
        return any(
            v.get("shares") or "precaution" in str(v.get("why")).casefold()
            for v in self._said
        )

    @property
    def of_a_find_in_a_tray(self) -> bool:
        """Whether any version holds a tray for what was found in it."""
        return any(
            v.get("sort") == "tray" and v.get("because") and not v.get("shares")
            for v in self._said
        )

    @property
    def only_trays(self) -> frozenset[str] | None:
        """The only trays of the batch that it holds, or None: all of them."""
        named = [texts_of(v, "trays") for v in self._said]
        return frozenset(t for n in named for t in n) if named and all(named) else None

    @property
    def _said(self) -> list[Entry]:
        return [v for v in self.versions if v.kind == "hold"]


class Layout(NamedTuple):
    """Which room a rack stands in, and which tank feeds a line.

    The last two say where each ever was: setting the shed up anew lets nothing out.
    """

    room_of: Mapping[str, str]
    tank_of: Mapping[str, str]
    rooms_ever: Mapping[str, frozenset[str]] = MappingProxyType({})
    tanks_ever: Mapping[str, frozenset[str]] = MappingProxyType({})

    def stood_in(self, rack: str | None, room: str) -> bool:
        """Whether a rack stands in a room, or ever did."""
        code = rack or ""
        return self.room_of.get(code) == room or room in self.rooms_ever.get(code, ())

    def fed_by(self, line: str, tank: str) -> bool:
        """Whether a tank feeds a line, or ever did."""
        return self.tank_of.get(line) == tank or tank in self.tanks_ever.get(line, ())


class Ever(NamedTuple):
    """All that any version said of a batch: where its trays stood, what went in."""

    places: frozenset[tuple[str, str | None]]
    lots: frozenset[str]
    lines: frozenset[str]

    def trays_at(self, sort: str, code: str, layout: Layout) -> frozenset[str]:
        """The trays that a hold of this sort catches; a rack not written is none."""
        match sort:
            case "tray":
                return frozenset(tray for tray, _ in self.places if tray == code)
            case "rack":
                return frozenset(tray for tray, rack in self.places if rack == code)
            case "room":
                there = layout.stood_in
                return frozenset(tray for tray, r in self.places if there(r, code))
            case "lot" if code in self.lots:
                return self._all()
            case "line" if code in self.lines:
                return self._all()
            case "tank" if any(layout.fed_by(line, code) for line in self.lines):
                return self._all()
        return frozenset()

    def _all(self) -> frozenset[str]:
        return frozenset(tray for tray, _ in self.places)


class Stop(NamedTuple):
    """One reason why trays of a batch may not be fed or sent, and its entry."""

    entry: str
    why: str
    trays: frozenset[str]


def ever(versions: Iterable[Entry]) -> Ever:
    """All that these versions of sowings and moves of one batch ever said."""
    found = [v for v in versions if v.kind in ("sow", "move")]
    places = (
        (row.get("tray"), row.get("rack"))
        for v in found
        for row in rows_of(v, "places")
    )
    return Ever(
        frozenset((str(tray), None if r is None else str(r)) for tray, r in places),
        frozenset(str(row.get("lot")) for v in found for row in rows_of(v, "seeds")),
        frozenset(str(v.get("line")) for v in found if v.get("line")),
    )


def stops(
    batch: str, versions: Sequence[Entry], open_holds: Iterable[Hold], layout: Layout
) -> list[Stop]:
    """Every reason why something of a batch is held.

    ``versions`` is every version of every entry that names the batch: sowings, moves,
    finds and holds. ``open_holds`` are those that no standing release names.
    """
    known = ever(versions)
    whole = frozenset(tray for tray, _ in known.places)
    found = []
    for hold in open_holds:
        trays = _caught(hold, batch, whole, known, layout)
        if trays is not None:
            found.append(Stop(hold.name, str(hold.first.get("why")), trays))
    return [*found, *_not_yet_held(batch, whole, versions)]


def _caught(
    hold: Hold, batch: str, whole: frozenset[str], known: Ever, layout: Layout
) -> frozenset[str] | None:
    if ("batch", batch) in hold.held:
        only = hold.only_trays
        return whole if only is None else only
    if hold.stops_sowing_only:
        return None
    caught = frozenset(
        tray for sort, code in hold.held for tray in known.trays_at(sort, code, layout)
    )
    # where a find named a tray alone its batch was not known: what grew there is in it
    return whole if caught and hold.of_a_find_in_a_tray else caught or None


def _not_yet_held(
    batch: str, whole: frozenset[str], versions: Sequence[Entry]
) -> list[Stop]:
    """Finds of mould that no hold on the batch answers: a correction, another book."""
    answered = {
        str(v.get("because"))
        for v in versions
        if v.kind == "hold" and v.get("held") == batch
    }
    finds: dict[str, set[str]] = {}
    for version in mould_records(batch, versions):
        finds.setdefault(version.first, set()).add(version.name)
    return [
        Stop(first, "mould, and no hold was written for it", whole)
        for first, names in finds.items()
        if not answered & {first, *names}
    ]


def mould_records(batch: str, versions: Iterable[Entry]) -> list[Entry]:
    """The versions of mould records that name a batch, struck ones as well.

    A batch with one ends as discard or sample, never as feed.
    """
    return [
        v
        for v in versions
        if v.kind == "mould"
        and (v.get("batch") == batch or batch in texts_of(v, "batches"))
    ]
