"""A trace: what the record says of a subject, both ways and one step sideways.

It is gathered by name and by bounded stretches of time, each asked once and answered
by an index, so that it costs the same in the tenth year. Read only; every version of
an entry counts, and what no longer stands says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from hygiene.acts.standing import grew_there, layout, named, open_holds
from hygiene.acts.subject import Subject
from hygiene.book.record import Record, Version
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Body, Entry, texts_of
from hygiene.kinds.moments import day_span, moment_of
from hygiene.tracing.batches import ENDS, KINDS, Batch, read_batches
from hygiene.tracing.exposure import FLAG_DAYS
from hygiene.tracing.holds import Stop, mould_records, stops
from hygiene.tracing.lineage import Beside, Lineage, Link, Node, beside, read_lineage
from hygiene.tracing.lots import Lot, read_lots

NEAR: Final = timedelta(days=21)
"""How far before a batch its neighbours are looked for, and the wash of its trays, and
how far after a wash what met it. A neighbour is missed only where it was sown earlier
than that and outlived the batch: where it stood for four weeks and more."""
FAR: Final = timedelta(days=60)
"""How far back the wash is looked for of a tray that had none in the nearer days."""
INSTANT: Final = timedelta(seconds=1)
A_DAY: Final = timedelta(days=1)
OF_LOT: Final = ("seed", "germination", "scrap", "sample")
OF_CONTAINER: Final = ("container", "opened", "strength", "lost")
ANSWERS: Final = (
    "hold", "release", "action", "recheck", "close", "assess", "notify", "file",
    "countersign", "sign_off", "mould", "rinse",
)  # fmt: skip
"""What is followed from the entries of a trace: what was found, done and told."""


class Sideways(NamedTuple):
    """A batch one step beside one of those in question, and all that they share."""

    of: str
    beside: Beside


class Cost(NamedTuple):
    """What a trace asked of the record: look-ups by an index, and entries read."""

    asked: int
    read: int


class Trace(NamedTuple):
    """All that a trace says. ``flow`` are its batches in the order of their sowing.

    ``batches``, ``stops`` and ``moulds`` tell of those beside as well; ``entries`` are
    the evidence of the flow, ``others`` that of what stands beside; ``superseded``
    names what no longer stands; ``groups`` are the set-ups of each group of animals,
    in order, so that a day is read with the animals of that day.
    """

    subject: Subject
    made_at: datetime
    farm: InForce
    demonstration: bool
    lineage: Lineage
    back: tuple[Link, ...]
    forward: tuple[Link, ...]
    flow: tuple[str, ...]
    batches: Mapping[str, Batch]
    stops: Mapping[str, Sequence[Stop]]
    moulds: Mapping[str, Sequence[Entry]]
    lots: Mapping[str, Lot]
    sideways: tuple[Sideways, ...]
    entries: tuple[Entry, ...]
    others: tuple[Entry, ...]
    superseded: frozenset[str]
    groups: Mapping[str, Sequence[Entry]]
    cost: Cost

    def of_kind(self, *kinds: str) -> list[Entry]:
        """The evidence of these kinds that stands, in the order as it happened."""
        return [
            entry
            for entry in self.entries
            if entry.kind in kinds and entry.name not in self.superseded
        ]

    def described(self, kind: str, code: str) -> Body:
        """A thing of the set-up as it was last described, even if it is no more."""
        entry = self.farm.last_described(kind, code)
        return entry.body if entry else {}

    def group_at(self, code: str, moment: datetime) -> Body:
        """A group of animals as it was at a moment."""
        known = self.groups.get(code, ())
        past = [e for e in known if moment_of(e.happened_at) <= moment] or known[:1]
        return past[-1].body if past else {}

    @property
    def in_danger(self) -> bool:
        """Whether anything of it is held, or bore mould."""
        return any(self.stops.get(c) or self.moulds.get(c) for c in self.flow)


def trace(
    record: Record, setup: Sequence[Entry], subject: Subject, now: datetime
) -> Trace:
    """Follow a subject back to its sellers, forward to the milk, and one step aside.

    Sideways only where batches are in question: from a lot or a container all that
    shares it lies forward.
    """
    made = _Tracing(record, in_force(setup, now), subject, now)
    made.begin()
    made.follow_batches()
    if subject.batches:
        made.step_back()
        made.step_aside()
    made.follow_answers()
    return made.finished(setup)


class _Gathered:
    """The entries found so far; each question is put to the record once."""

    def __init__(self, record: Record) -> None:
        self.record = record
        self.entries: dict[str, Entry] = {}
        self.standing: set[str] = set()
        self.asked = self.read = 0
        self._codes: set[str] = set()

    def naming(self, codes: Iterable[str]) -> list[Entry]:
        """Every version of every entry that names one of the codes not asked yet."""
        new = sorted(set(codes) - self._codes)
        if not new:
            return []
        self._codes |= set(new)
        self.asked += len(new)
        return self.keep(self.record.versions_naming(*new))

    def during(self, kinds: Sequence[str], since: datetime, before: datetime) -> None:
        """Every version of these kinds that happened in [since, before)."""
        self.asked += len(kinds)
        self.keep(self.record.versions(kinds, since=since, before=before))

    def matter(self, name: str) -> None:
        """One matter by its name, with all its versions."""
        if name not in self.entries:
            history = self.record.history(name)
            self.asked += 2
            self.keep(
                Version(each, each is history[-1])
                for each in history
                if each.kind != "strike"
            )

    def keep(self, versions: Iterable[Version]) -> list[Entry]:
        """Add what was read, and count it."""
        found = list(versions)
        self.read += len(found)
        self.entries.update((entry.name, entry) for entry, _ in found)
        self.standing.update(entry.name for entry, stands in found if stands)
        return [entry for entry, _ in found]

    def of_kind(self, *kinds: str) -> list[Entry]:
        return [entry for entry in self.entries.values() if entry.kind in kinds]

    def asked_for(self, code: str) -> bool:
        return code in self._codes

    @property
    def superseded(self) -> frozenset[str]:
        return frozenset(self.entries.keys() - self.standing)

    def batches(self) -> dict[str, Batch]:
        return read_batches(e for e in self.of_kind(*KINDS) if e.name in self.standing)


class _Tracing:
    """A trace while it is gathered."""

    def __init__(
        self, record: Record, farm: InForce, subject: Subject, now: datetime
    ) -> None:
        self.farm = farm
        self.place = layout(farm)
        self.subject = subject
        self.start = subject.start
        self.now = now
        self.found = _Gathered(record)
        self.evidence: dict[str, Entry] = {}
        self.known: tuple[int, Lineage] | None = None

    def begin(self) -> None:
        """Read what the subject itself names, as far as its batches."""
        for node in self.start:
            if node.sort == "supplier":
                self._sent_by(node.code)
            elif node.sort != "batch":
                self.found.naming([node.code])
            if node.sort == "dose":
                self.found.matter(node.code)
                links = self._lineage().back(node)
                self.found.naming(n.code for n in _sources(links, "container"))
        self._met_after(self.found.of_kind("dose"))

    def _sent_by(self, supplier: str) -> None:
        """The lots and containers of a supplier that came in the days asked for."""
        came = self.found.naming([supplier])
        if self.subject.first and self.subject.last:
            days = (self.subject.first, self.subject.last)
            start, end = day_span(*days, self.farm.zone)
            outside = [e for e in came if not start <= moment_of(e.happened_at) < end]
            for entry in outside:
                del self.found.entries[entry.name]
            came = [entry for entry in came if entry not in outside]
        codes = (entry.get("lot") or entry.get("container") for entry in came)
        self.found.naming(str(code) for code in codes if code)

    def _met_after(self, doses: Iterable[Entry]) -> None:
        """What was sown after these doses, or grew while its water was dosed."""
        found = list(doses)
        if found:
            moments = [moment_of(dose.happened_at) for dose in found]
            piped = any(dose.get("line") or dose.get("tank") for dose in found)
            since, before = min(moments) - NEAR * piped, max(moments) + NEAR
            self.found.during(["sow", "dose"], since, before)

    def _lineage(self) -> Lineage:
        """The links of what was read; made anew only when something new was read."""
        if self.known is None or self.known[0] != len(self.found.entries):
            self.known = (len(self.found.entries), self._read_lineage())
        return self.known[1]

    def _read_lineage(self) -> Lineage:
        groups = {str(e.get("animals")) for e in self.found.of_kind("feed")}
        described = ((g, self.farm.last_described("animals", g)) for g in groups)
        return read_lineage(
            self.found.entries.values(),
            self.place,
            superseded=self.found.superseded,
            produces={
                g: texts_of(entry, "produces") for g, entry in described if entry
            },
        )

    def _flow(self, lineage: Lineage) -> list[str]:
        """The batches in question, and those that the material went on to."""
        targets = (link.target for link in lineage.forward(*self.start))
        nodes = (*self.start, *targets)
        return list(dict.fromkeys(n.code for n in nodes if n.sort == "batch"))

    def follow_batches(self) -> None:
        """Read all that names the batches of the flow."""
        self.found.naming(self._flow(self._lineage()))

    def step_back(self) -> None:
        """Read the seed, the washes and the water of the batches in question."""
        mine = self._mine(self.found.batches())
        for first, last in merged((b.sown, b.over or self.now) for b in mine):
            self.found.during(["sow", "dose"], first - NEAR, last + INSTANT)
            self.found.during([*ENDS], first, last + INSTANT)
        unwashed = [batch for batch in mine if self._unwashed(batch)]
        for first, last in merged((b.sown - FAR, b.sown - NEAR) for b in unwashed):
            self.found.during(["dose"], first, last)
        links = self._lineage().back(*self.start)
        self.found.naming(n.code for n in _sources(links, "lot"))
        for dose in _sources(links, "dose"):
            self.found.matter(dose.code)
        self.found.naming(n.code for n in _sources(links, "dose"))

    def _unwashed(self, batch: Batch) -> bool:
        """Whether a tray has no dose before its sowing among those that were read."""
        washed = {
            tray
            for dose in self.found.of_kind("dose")
            if moment_of(dose.happened_at) <= batch.sown
            for tray in texts_of(dose, "trays")
        }
        return not washed.issuperset(batch.trays)

    def step_aside(self) -> None:
        """Read what became of every batch that may share a cause."""
        links = self._lineage().back(*self.start)
        cans = [link.source for link in links if link.source.sort == "container"]
        drawn = self.found.naming(can.code for can in cans)
        self._met_after(entry for entry in drawn if entry.kind == "dose")
        lots = {link.source.code for link in links if link.source.sort == "lot"}
        met = self._lineage().forward(*cans)
        self.found.naming(
            [
                *(link.target.code for link in met if link.target.sort == "batch"),
                *self._near(lots),
            ]
        )

    def _near(self, lots: set[str]) -> Iterator[str]:
        """The batches of the same lots, and those that may have stood beside it."""
        batches = self.found.batches()
        spans = merged((b.sown, b.over or self.now) for b in self._mine(batches))
        for code, batch in batches.items():
            near = any(f - NEAR <= batch.sown <= last + A_DAY for f, last in spans)
            if near or lots & set(batch.lots):
                yield code
        for end in self.found.of_kind(*ENDS):
            if end.get("batch"):
                yield str(end.get("batch"))

    def _mine(self, batches: Mapping[str, Batch]) -> list[Batch]:
        return [batches[c] for c in self.subject.batches if c in batches]

    def follow_answers(self) -> None:
        """Read what was found, done and told about the flow, to the end."""
        lineage = self._lineage()
        links = {*lineage.back(*self.start), *lineage.forward(*self.start)}
        self._keep_evidence(set(self._flow(lineage)), links)
        new = list(self.evidence.values())
        while new:
            names = {name for entry in new for name in (entry.name, entry.first)}
            self.found.naming(names)
            new = [
                entry
                for entry in self.found.entries.values()
                if entry.name not in self.evidence and _answers(entry, names)
            ]
            self._add(new)
        self._add(self._ill(links))

    def _keep_evidence(self, flow: set[str], links: Iterable[Link]) -> None:
        nodes = {node for link in links for node in (link.source, link.target)}
        lots = {n.code for n in nodes if n.sort == "lot"}
        cans = {n.code for n in nodes if n.sort == "container"}
        said = {link.entry for link in links}
        for entry in self.found.entries.values():
            own = (
                entry.name in said
                or named(entry) & flow
                or (entry.kind in OF_LOT and entry.get("lot") in lots)
                or (entry.kind == "hold" and entry.get("held") in lots)
                or (entry.kind in OF_CONTAINER and entry.get("container") in cans)
                or (entry.kind in ("notify", "file") and _tells_of(entry, flow | lots))
            )
            if own:
                self.evidence[entry.name] = entry

    def _add(self, entries: Iterable[Entry]) -> None:
        self.evidence.update((entry.name, entry) for entry in entries)

    def _ill(self, links: Iterable[Link]) -> list[Entry]:
        """Animals that fell ill in the half year after they ate of it."""
        fed = [link for link in links if link.how == "fed"]
        if not fed:
            return []
        moments = [link.at for link in fed]
        last = max(moments) + timedelta(days=FLAG_DAYS)
        self.found.during(["ill"], min(moments), last)
        groups = {link.target.code for link in fed}
        return [e for e in self.found.of_kind("ill") if e.get("animals") in groups]

    def finished(self, setup: Iterable[Entry]) -> Trace:
        """Lay out what was gathered."""
        lineage, batches = self._lineage(), self.found.batches()
        flow = sorted(
            self._flow(lineage), key=lambda c: _sown(batches.get(c), self.now)
        )
        sideways = tuple(self._sideways(lineage, batches))
        codes = {*flow, *(each.beside.code for each in sideways)}
        versions: dict[str, list[Entry]] = {code: [] for code in codes}
        for entry in self.found.entries.values():
            for code in named(entry) & codes:
                versions[code].append(entry)
        record = self.found.record
        known = (batches[code] for code in sorted(codes & batches.keys()))
        for code, finds in grew_there(record, known).items():
            versions[code] += finds
        holds = open_holds(record)
        self.found.asked += 2 + len(holds)
        self.found.read += sum(len(hold.versions) for hold in holds)
        stopped = {c: stops(c, v, holds, self.place) for c, v in versions.items()}
        for stop in (stop for code in flow for stop in stopped[code]):
            # a hold on a rack, a room or a line does not name the batch
            self.found.matter(stop.entry)
            self.evidence[stop.entry] = self.found.entries[stop.entry]
        return Trace(
            subject=self.subject,
            made_at=self.now,
            farm=self.farm,
            demonstration=record.demonstration(),
            lineage=lineage,
            back=lineage.back(*self.start),
            forward=lineage.forward(*self.start),
            flow=tuple(flow),
            batches=batches,
            stops=stopped,
            moulds={c: mould_records(c, v) for c, v in versions.items()},
            lots=self._lots(lineage),
            sideways=sideways,
            entries=tuple(_in_order(self.evidence.values())),
            others=tuple(_in_order(self._others(lineage, versions, flow))),
            superseded=self.found.superseded,
            groups=_groups(setup),
            cost=Cost(self.found.asked, self.found.read),
        )

    def _lots(self, lineage: Lineage) -> dict[str, Lot]:
        """The lots of the trace that were asked for by name, so with all their uses."""
        links = (*lineage.back(*self.start), *lineage.forward(*self.start))
        codes = {n.code for link in links for n in link[:2] if n.sort == "lot"}
        entries = self.found.of_kind("seed", "sow", "scrap", "sample")
        known = read_lots(e for e in entries if e.name in self.found.standing)
        asked = (c for c in sorted(codes & known.keys()) if self.found.asked_for(c))
        return {c: known[c] for c in asked}

    def _sideways(
        self, lineage: Lineage, batches: Mapping[str, Batch]
    ) -> Iterator[Sideways]:
        mine = set(self.subject.batches)
        others = [batch for code, batch in batches.items() if code not in mine]
        for code in self.subject.batches:
            if code in batches:
                zone = self.farm.zone
                found = beside(batches[code], others, lineage, self.place, zone)
                yield from (Sideways(code, each) for each in found)

    def _others(
        self,
        lineage: Lineage,
        versions: Mapping[str, Sequence[Entry]],
        flow: Iterable[str],
    ) -> list[Entry]:
        """The evidence of what stands beside: its own entries, its seed, its washes."""
        codes = versions.keys() - set(flow)
        names = {entry.name for code in codes for entry in versions[code]}
        links = lineage.back(*(Node("batch", code) for code in codes))
        names |= {link.entry for link in links}
        new = names & self.found.entries.keys() - self.evidence.keys()
        return [self.found.entries[name] for name in new]


def _groups(setup: Iterable[Entry]) -> dict[str, list[Entry]]:
    found: dict[str, list[Entry]] = {}
    for entry in setup:
        if entry.kind == "animals":
            found.setdefault(str(entry.get("code")), []).append(entry)
    return {code: _in_order(entries) for code, entries in found.items()}


def merged(
    spans: Iterable[tuple[datetime, datetime]],
) -> list[tuple[datetime, datetime]]:
    """Stretches of time in order, those that lie near each other as one."""
    made: list[tuple[datetime, datetime]] = []
    for first, last in sorted(spans):
        if made and first - made[-1][1] <= 2 * NEAR:
            made[-1] = (made[-1][0], max(made[-1][1], last))
        else:
            made.append((first, last))
    return made


def _sources(links: Iterable[Link], sort: str) -> list[Any]:
    return [link.source for link in links if link.source.sort == sort]


def _answers(entry: Entry, names: set[str]) -> bool:
    """Whether an entry follows from one of those named: an answer, or a deep clean."""
    if entry.kind == "dose":
        return bool(names & set(texts_of(entry, "finds")))
    return entry.kind in ANSWERS and _tells_of(entry, names)


def _tells_of(entry: Entry, wanted: set[str]) -> bool:
    return any(text in wanted for text in _all_texts(entry.body))


def _all_texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from _all_texts(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _all_texts(item)


def _sown(batch: Batch | None, otherwise: datetime) -> datetime:
    return batch.sown if batch else otherwise


def _in_order(entries: Iterable[Entry]) -> list[Entry]:
    return sorted(entries, key=lambda e: (moment_of(e.happened_at), e.book, e.seq))
