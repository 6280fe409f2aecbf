"""What went into what: from the seed's seller to the milk, and from there back.

A lineage is a graph of links that run with the material: several lots go into a batch,
a tray through many batches, a batch to several groups. Each link has its time and the
entry that says so. A dose is linked to what met it, and to nothing later: a tray's
next batch has its own wash. What is *shared* and does not flow (a room, a rack, a day)
is no link; ``beside`` reads it, one step from a batch and no further.

Every version of an entry counts, since the strictest reading must be followed: a link
that no longer stands says so. Nothing here raises on an odd body.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import datetime, tzinfo
from typing import Any, Final, NamedTuple

from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import ENDS, Batch, Stay
from hygiene.tracing.holds import Layout
from hygiene.tracing.siblings import overlap

CLOSEST: Final = ("wash", "lot", "rack", "line", "room", "container", "sowing day")
"""What two batches may share, the most telling first."""
NO_ANIMALS: Final[Mapping[str, Collection[str]]] = {}


class Node(NamedTuple):
    """Something that material came from or went to.

    ``sort`` is supplier, lot, container, dose, line, batch, animals, buyer, waste,
    sample or produce; a dose, waste and a sample bear their entry's name.
    """

    sort: str
    code: str


class Link(NamedTuple):
    """One step of the material: from, to, how, when, and the entry that says so.

    ``how`` is supplied, drawn, tub, washed, dosed, water, sown, fed, sent, discarded,
    sampled or gives; a dose in another one's tub comes from that by ``tub``.
    ``grams`` is dry seed or fresh fodder.
    """

    source: Node
    target: Node
    how: str
    at: datetime
    entry: str
    grams: int | None = None
    trays: tuple[str, ...] = ()
    stands: bool = True


class Lineage:
    """The links of a farm, or of a part of it; made by ``read_lineage``."""

    def __init__(self, links: Iterable[Link]) -> None:
        self.links = tuple(sorted(links, key=_by_time))
        self._from: dict[Node, list[Link]] = {}
        self._to: dict[Node, list[Link]] = {}
        for link in self.links:
            self._from.setdefault(link.source, []).append(link)
            self._to.setdefault(link.target, []).append(link)

    def out_of(self, node: Node) -> tuple[Link, ...]:
        """One step forward, in order of time."""
        return tuple(self._from.get(node, ()))

    def into(self, node: Node) -> tuple[Link, ...]:
        """One step back, in order of time."""
        return tuple(self._to.get(node, ()))

    def forward(self, *nodes: Node) -> tuple[Link, ...]:
        """Every step that the material took from there on, the nearest first."""
        return _followed(nodes, self.out_of, lambda link: link.target)

    def back(self, *nodes: Node) -> tuple[Link, ...]:
        """Every step that brought it there, the nearest first."""
        return _followed(nodes, self.into, lambda link: link.source)

    def washes(self, batch: str) -> frozenset[str]:
        """The washes of a batch's trays before it was sown; one tub is one wash."""
        links = self.into(Node("batch", batch))
        doses = [link.source for link in links if link.how == "washed"]
        return frozenset(self.tub(dose).code for dose in doses)

    def containers(self, batch: str) -> frozenset[str]:
        """The containers from which its washes, and what was in its water, came."""
        links = self.back(*(n.source for n in self.into(Node("batch", batch))))
        return frozenset(link.source.code for link in links if link.how == "drawn")

    def tub(self, dose: Node) -> Node:
        """The dose that made up the tub of a dose: often itself."""
        heads = (link.source for link in self.into(dose) if link.how == "tub")
        return next(heads, dose)


def _by_time(link: Link) -> tuple[datetime, Link]:
    return link.at, link


def _followed(
    nodes: Iterable[Node],
    step: Callable[[Node], Iterable[Link]],
    end: Callable[[Link], Node],
) -> tuple[Link, ...]:
    waiting = deque(dict.fromkeys(nodes))
    seen, found = set(waiting), []
    while waiting:
        for link in step(waiting.popleft()):
            found.append(link)
            if end(link) not in seen:
                seen.add(end(link))
                waiting.append(end(link))
    return tuple(found)


def read_lineage(
    entries: Iterable[Entry],
    layout: Layout,
    *,
    superseded: Collection[str] = (),
    produces: Mapping[str, Collection[str]] = NO_ANIMALS,
) -> Lineage:
    """The lineage that entries tell, all versions of them.

    ``superseded`` names those that no longer stand, ``produces`` what each group of
    animals gives. Kinds that move no material are passed over.
    """
    every = sorted(entries, key=lambda e: (moment_of(e.happened_at), e.book, e.seq))
    told = _Told(every, frozenset(superseded), layout)
    links = [link for entry in every for link in told.links_of(entry)]
    links += told.washes()
    links += _gives(links, produces)
    return Lineage(_once(links))


def _once(links: Iterable[Link]) -> list[Link]:
    """Without what no longer stands, where a link that stands says the same step."""
    found = list(dict.fromkeys(links))
    standing = {(link.source, link.target, link.how) for link in found if link.stands}
    return [
        link
        for link in found
        if link.stands or (link.source, link.target, link.how) not in standing
    ]


def _gives(
    links: Iterable[Link], produces: Mapping[str, Collection[str]]
) -> Iterator[Link]:
    """From animals to what they give, from the first feed on."""
    first: dict[Node, Link] = {}
    for link in links:
        if link.how == "fed" and (
            link.target not in first or link.at < first[link.target].at
        ):
            first[link.target] = link
    for node, fed in first.items():
        for what in produces.get(node.code, ()):
            target = Node("produce", f"{what} of {node.code}")
            yield Link(node, target, "gives", fed.at, fed.entry, stands=fed.stands)


class _Use(NamedTuple):
    """A tray in one version of a sowing: until it ended, or the end of time."""

    sown: datetime
    batch: str
    sow: Entry
    until: datetime | None


class _Told:
    """The entries laid out by tray, line and tank, while links are read from them."""

    def __init__(
        self, every: Iterable[Entry], superseded: frozenset[str], layout: Layout
    ) -> None:
        self.superseded = superseded
        self.tank_of = layout.tank_of
        self.doses: dict[str, list[Entry]] = {}
        self.ends: dict[tuple[str, str], datetime] = {}
        self.sowings: list[Entry] = []
        for entry in every:
            self._lay_out(entry)

    def _lay_out(self, entry: Entry) -> None:
        if entry.kind == "dose":
            pipes = (entry.get("line"), entry.get("tank"))
            for code in (*texts_of(entry, "trays"), *pipes):
                if isinstance(code, str):
                    self.doses.setdefault(code, []).append(entry)
        elif entry.kind == "sow":
            self.sowings.append(entry)
        elif entry.kind in ENDS and entry.name not in self.superseded:
            at, batch = moment_of(entry.happened_at), str(entry.get("batch"))
            for tray in texts_of(entry, "trays"):
                self.ends[batch, tray] = min(at, self.ends.get((batch, tray), at))

    def links_of(self, entry: Entry) -> Iterator[Link]:
        """The links that one entry alone tells."""
        match entry.kind:
            case "seed":
                yield from self._supplied(entry, "lot")
            case "container":
                yield from self._supplied(entry, "container")
            case "dose":
                yield from self._drawn(entry)
            case "sow":
                yield from self._sown(entry)
            case "feed" | "dispatch" | "discard" | "sample":
                yield from self._left(entry)

    def _link(
        self, source: Node, target: Node, how: str, entry: Entry, **said: Any
    ) -> Link:
        at = moment_of(entry.happened_at)
        stands = entry.name not in self.superseded
        return Link(source, target, how, at, entry.name, stands=stands, **said)

    def _supplied(self, entry: Entry, sort: str) -> Iterator[Link]:
        supplier = entry.get("supplier")
        if supplier:
            source, target = _node("supplier", supplier), _node(sort, entry.get(sort))
            yield self._link(
                source, target, "supplied", entry, grams=_grams(entry.body)
            )

    def _drawn(self, dose: Entry) -> Iterator[Link]:
        target, tub = Node("dose", dose.first), dose.get("tub")
        for row in rows_of(dose, "drawn"):
            source = _node("container", row.get("container"))
            yield self._link(source, target, "drawn", dose)
        if tub and tub != dose.first:
            yield self._link(_node("dose", tub), target, "tub", dose)

    def _sown(self, sow: Entry) -> Iterator[Link]:
        target = _node("batch", sow.get("batch"))
        for row in rows_of(sow, "seeds"):
            source = _node("lot", row.get("lot"))
            yield self._link(source, target, "sown", sow, grams=_grams(row))
        line = sow.get("line")
        if isinstance(line, str):
            yield self._link(Node("line", line), target, "water", sow)

    def _left(self, entry: Entry) -> Iterator[Link]:
        how = ENDS[entry.kind]
        target = {
            "fed": _node("animals", entry.get("animals")),
            "sent": _node("buyer", entry.get("buyer")),
            "discarded": Node("waste", entry.first),
            "sampled": Node("sample", entry.first),
        }[how]
        given = entry.get("batch")
        source = _node("batch", given) if given else _node("lot", entry.get("lot"))
        yield self._link(
            source,
            target,
            how,
            entry,
            grams=_grams(entry.body),
            trays=texts_of(entry, "trays"),
        )

    def washes(self) -> Iterator[Link]:
        """From each dose to the batches that met it, in their trays or their water."""
        uses: dict[str, list[_Use]] = {}
        for sow in self.sowings:
            batch, sown = str(sow.get("batch")), moment_of(sow.happened_at)
            for tray in _trays_of(sow):
                until = self.ends.get((batch, tray))
                uses.setdefault(tray, []).append(_Use(sown, batch, sow, until))
            yield from self._in_the_water(sow, batch, sown)
        met: dict[tuple[str, str, str], list[str]] = {}
        told: dict[tuple[str, str, str], tuple[Entry, Entry]] = {}
        for tray, each in uses.items():
            for use, how, dose in self._met(tray, each):
                key = (dose.name, use.sow.name, how)
                met.setdefault(key, []).append(tray)
                told[key] = (dose, use.sow)
        for key, trays in met.items():
            yield self._dosed(*told[key], key[2], tuple(trays))

    def _met(
        self, tray: str, uses: Iterable[_Use]
    ) -> Iterator[tuple[_Use, str, Entry]]:
        """The doses that each batch met in one tray.

        Those since the tray was sown before; where there are none, the last one: it was
        the wash of both. And what was dosed while the batch stood in it.
        """
        doses = [(moment_of(d.happened_at), d) for d in self.doses.get(tray, ())]
        uses = list(uses)
        for use in uses:
            earlier = [u.sown for u in uses if u.batch != use.batch]
            before = max((s for s in earlier if s < use.sown), default=None)
            past = [(at, dose) for at, dose in doses if at <= use.sown]
            fresh = [d for at, d in past if before is None or at > before]
            for dose in fresh or [d for _, d in past[-1:]]:
                yield use, "washed", dose
            for at, dose in doses:
                if at > use.sown and (use.until is None or at < use.until):
                    later = [s for s in earlier if use.sown < s <= at]
                    if not later:
                        yield use, "dosed", dose

    def _in_the_water(self, sow: Entry, batch: str, sown: datetime) -> Iterator[Link]:
        """The doses of its line or tank while it grew, and the last one before."""
        line = sow.get("line")
        if not isinstance(line, str):
            return
        pipes = (line, self.tank_of.get(line, ""))
        found = {d.name: d for pipe in pipes for d in self.doses.get(pipe, ())}
        doses = [(moment_of(d.happened_at), d) for d in found.values()]
        before = [pair for pair in doses if pair[0] < sown]
        ends = [self.ends.get((batch, tray)) for tray in _trays_of(sow)]
        over = max((end for end in ends if end), default=None) if all(ends) else None
        kept = [d for at, d in doses if at >= sown and (over is None or at < over)]
        if before:
            kept.append(max(before, key=lambda pair: (pair[0], pair[1].name))[1])
        for dose in kept:
            yield self._dosed(dose, sow, "water", ())

    def _dosed(self, dose: Entry, sow: Entry, how: str, trays: tuple[str, ...]) -> Link:
        stands = not {dose.name, sow.name} & self.superseded
        source, target = Node("dose", dose.first), _node("batch", sow.get("batch"))
        at = moment_of(dose.happened_at)
        return Link(source, target, how, at, dose.name, None, trays, stands)


def _trays_of(sow: Entry) -> list[str]:
    return [str(row.get("tray")) for row in rows_of(sow, "places")]


def _node(sort: str, code: Any) -> Node:
    return Node(sort, str(code))


def _grams(body: Mapping[str, Any]) -> int | None:
    given = body.get("grams")
    return given if isinstance(given, int) and not isinstance(given, bool) else None


class Share(NamedTuple):
    """Something that two batches share: what, and which."""

    what: str
    code: str

    def __str__(self) -> str:
        return f"{self.what} {self.code}"


class Beside(NamedTuple):
    """Another batch, one step sideways, and all that it shares, the closest first."""

    code: str
    shares: tuple[Share, ...]


def beside(
    batch: Batch,
    others: Iterable[Batch],
    lineage: Lineage,
    layout: Layout,
    zone: tzinfo,
) -> list[Beside]:
    """The other batches that share a cause with this one: one step, each with why.

    A room, a rack and a line count where the days overlap; a tray by itself is no
    reason, since what grew in it later had a wash between.
    """
    found = []
    for other in others:
        if other.code == batch.code:
            continue
        shares = sorted(
            _shared(batch, other, lineage, layout, zone),
            key=lambda share: (CLOSEST.index(share.what), share.code),
        )
        if shares:
            found.append(Beside(other.code, tuple(shares)))
    return sorted(found, key=lambda each: (CLOSEST.index(each.shares[0].what), each))


def _shared(
    one: Batch, other: Batch, lineage: Lineage, layout: Layout, zone: tzinfo
) -> Iterator[Share]:
    for what, of in (("wash", lineage.washes), ("container", lineage.containers)):
        yield from (Share(what, code) for code in of(one.code) & of(other.code))
    yield from (Share("lot", lot) for lot in set(one.lots) & set(other.lots))
    rooms = layout.room_of
    for what, place in (
        ("rack", lambda stay: stay.rack),
        ("room", lambda stay: rooms.get(stay.rack or "")),
    ):
        yield from (Share(what, code) for code in _together(one, other, place))
    if one.line and one.line == other.line and overlap(_whole(one), _whole(other)):
        yield Share("line", one.line)
    day = one.sown.astimezone(zone).date()
    if day == other.sown.astimezone(zone).date():
        yield Share("sowing day", f"{day}")


def _together(
    one: Batch, other: Batch, place: Callable[[Stay], str | None]
) -> set[str]:
    return {
        where
        for mine in one.stays
        if (where := place(mine))
        for theirs in other.stays
        if place(theirs) == where and overlap(mine, theirs)
    }


def _whole(batch: Batch) -> Stay:
    return Stay("", None, None, batch.sown, batch.over)
