"""A trace in words: the same rows for the terminal and for the page.

Plain values only. Each row names its entry, so that nothing has to be taken on trust.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Final, NamedTuple

from hygiene.acts.trace import Trace
from hygiene.acts.trace_beside import to_hold
from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Body, Entry, rows_of, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import Batch
from hygiene.tracing.lineage import Link, Node

SORTS: Final = {"dose": "the dose", "animals": "group", "produce": ""}
"""What a sort is called, where a person would say something else."""
CAME: Final = ("sown", "supplied", "washed", "dosed", "water", "drawn", "tub")
"""What is told first of all that went into a batch: its seed."""
NOBODY: Final = "nobody by that code in the farm file"


class Step(NamedTuple):
    """One step of the material in words, with the steps that follow from it.

    ``again`` says that what follows is told further up. ``stands`` is false where the
    entry was corrected or struck since.
    """

    text: str
    link: Link
    by: str
    again: bool
    steps: tuple[Step, ...]


class Root(NamedTuple):
    """Where a tree begins: a node in words, and its steps."""

    node: Node
    text: str
    steps: tuple[Step, ...]


class Got(NamedTuple):
    """Who got how much of it: animals or a buyer, in grams of fresh fodder."""

    node: Node
    text: str
    grams: int
    struck_grams: int


def title(trace: Trace) -> str:
    """What the trace is of: batch B-K7-42-X; tray T004 on 2026-03-09."""
    subject = trace.subject
    sort = SORTS.get(subject.sort, subject.sort)
    days = f" {subject.days}" if subject.days else ""
    if subject.sort == "supplier":
        days = f", what came{days}"
    about = f" (from {subject.entry.name})" if subject.entry else ""
    if subject.entry is not None and subject.code == subject.entry.name:
        about = ""
    return f"{sort} {subject.code}{days}{about}".strip()


def back_tree(trace: Trace) -> tuple[Root, ...]:
    """Where it came from, to the end."""
    said = _Said(trace)
    walk = _Walk(trace, trace.lineage.into, lambda link: link.source, said.came)
    return walk.roots()


def forward_tree(trace: Trace) -> tuple[Root, ...]:
    """Where it went, to the end."""
    said = _Said(trace)
    walk = _Walk(trace, trace.lineage.out_of, lambda link: link.target, said.went)
    return walk.roots()


class _Walk:
    """A tree out of the graph: what was told once is only named again."""

    def __init__(
        self,
        trace: Trace,
        step: Callable[[Node], Iterable[Link]],
        end: Callable[[Link], Node],
        say: Callable[[Link], str],
    ) -> None:
        self.trace = trace
        self.step = step
        self.end = end
        self.say = say
        self.by = {entry.name: entry.by for entry in (*trace.entries, *trace.others)}
        self.seen: set[Node] = set()

    def roots(self) -> tuple[Root, ...]:
        return tuple(
            Root(node, describe(self.trace, node), self._steps(node))
            for node in self.trace.subject.start
            if not self.seen & {node}
        )

    def _steps(self, node: Node) -> tuple[Step, ...]:
        self.seen.add(node)
        made = []
        for link in sorted(self.step(node), key=_seed_first):
            end = self.end(link)
            again = end in self.seen and any(True for _ in self.step(end))
            steps = () if end in self.seen else self._steps(end)
            by = self.by.get(link.entry, "")
            made.append(Step(self.say(link), link, by, again, steps))
        return tuple(made)


def _seed_first(link: Link) -> int:
    return CAME.index(link.how) if link.how in CAME else 0


class _Said:
    """How each link is said, seen from its batch or from its seed."""

    def __init__(self, trace: Trace) -> None:
        self.trace = trace
        self.entries = {e.name: e for e in (*trace.entries, *trace.others)}

    def came(self, link: Link) -> str:
        """A link going back: what came, and from where."""
        match link.how:
            case "supplied":
                return f"from {describe(self.trace, link.source)}{self._paper(link)}"
            case "drawn":
                return f"drawn from {describe(self.trace, link.source)}"
            case "tub":
                return f"from the tub of {describe(self.trace, link.source)}"
            case "washed":
                return f"washed, {ranges(link.trays)}: {self._dose(link.source)}"
            case "dosed":
                return f"dosed as it grew, {ranges(link.trays)}: " + self._dose(
                    link.source
                )
            case "water" if link.source.sort == "dose":
                return f"in its water: {self._dose(link.source)}"
            case "water":
                return f"watered by {describe(self.trace, link.source)}"
            case "sown":
                return f"{kg(link.grams)} of {describe(self.trace, link.source)}"
        return f"{link.how} from {describe(self.trace, link.source)}"

    def went(self, link: Link) -> str:
        """A link going forward: what went, and where to."""
        to = describe(self.trace, link.target)
        match link.how:
            case "sown":
                return f"{kg(link.grams)} sown: {to}"
            case "fed" | "sent":
                what = f"{ranges(link.trays)}, {kg(link.grams)}"
                if link.how == "fed":
                    to = _group(
                        self.trace.group_at(link.target.code, link.at), link.target
                    )
                return f"{what}, {link.how} to {to}{self._looks(link)}"
            case "discarded":
                return (
                    f"{ranges(link.trays)}, {kg(link.grams)}, thrown away"
                    f"{self._why(link)}"
                )
            case "sampled":
                return f"sample kept{self._kept(link)}"
            case "washed" | "dosed":
                return f"{ranges(link.trays)} of {to}"
            case "gives":
                return f"gives {link.target.code}"
        return to

    def _entry(self, link: Link) -> Body:
        entry = self.entries.get(link.entry)
        return entry.body if entry else {}

    def _paper(self, link: Link) -> str:
        body = self._entry(link)
        amount = f", {kg(link.grams)}" if link.grams else ""
        said = [
            f"their lot {body.get('supplier_lot')}" if body.get("supplier_lot") else "",
            str(body.get("document") or ""),
            f"untreated: seen by {body.get('untreated_seen_by')}"
            if body.get("untreated_seen_by")
            else "NOBODY SAW THAT IT IS UNTREATED"
            if link.target.sort == "lot"
            else "",
        ]
        return amount + "".join(f"; {text}" for text in said if text)

    def _dose(self, node: Node) -> str:
        return describe(self.trace, node)

    def _looks(self, link: Link) -> str:
        body = self._entry(link)
        looked = [body.get("look_ok"), body.get("smell_ok")]
        if False in looked:
            said = "LOOKED OR SMELT BAD"
        elif None in looked:
            said = "not looked at"
        else:
            said = "looked and smelt right"
        marks = ", ".join(texts_of(body, "marks"))
        document = f"; {body.get('document')}" if body.get("document") else ""
        return f"; {said}{document}" + (f" [{marks}]" if marks else "")

    def _why(self, link: Link) -> str:
        body = self._entry(link)
        seen = body.get("witness")
        return f": {body.get('why')}; {body.get('route')}" + (
            f"; seen by {seen}" if seen else "; seen by nobody"
        )

    def _kept(self, link: Link) -> str:
        body = self._entry(link)
        halves = [
            f"{word} at {body.get(key)}"
            for word, key in (("frozen", "frozen_at"), ("chilled", "chilled_at"))
            if body.get(key)
        ]
        return f": {', '.join(halves)}; {body.get('why')}"


def describe(trace: Trace, node: Node) -> str:
    """A node in words, with what the law asks of it: name and address."""
    match node.sort:
        case "supplier" | "buyer":
            return _trader(trace.described(node.sort, node.code), node)
        case "animals":
            return _group(trace.described("animals", node.code), node)
        case "batch":
            return _batch(trace, node.code)
        case "container":
            return _container(trace, node.code)
        case "dose":
            return _dose(trace, node.code)
        case "line":
            tank = trace.described("line", node.code).get("tank")
            return f"line {node.code}" + (f", tank {tank}" if tank else "")
    return f"{SORTS.get(node.sort, node.sort)} {node.code}".strip()


def _trader(body: Body, node: Node) -> str:
    if not body:
        return f"{node.code}, {NOBODY}"
    said = [body.get("name"), body.get("address")]
    if node.sort == "buyer":
        said.append(body.get("telephone"))
    return ", ".join([node.code, *(str(text) for text in said if text)])


def _group(body: Body, node: Node) -> str:
    if not body:
        return f"{node.code}, {NOBODY}"
    return f"{node.code} ({body.get('head')} {body.get('species')})"


def _batch(trace: Trace, code: str) -> str:
    batch = trace.batches.get(code)
    if batch is None:
        return f"batch {code}, whose sowing is ruled through"
    sown = batch.sown.astimezone(trace.farm.zone)
    marks = texts_of(batch.sow, "marks")
    forced = f" [{', '.join(marks)}]" if marks else ""
    return f"batch {code}, sown {sown.day} {sown:%b}, {len(batch.trays)} trays{forced}"


def _container(trace: Trace, code: str) -> str:
    body = _of(trace, "container", "container", code)
    made = body.get("maker_batch")
    product = body.get("product")
    named = f", {product}" if product else ""
    return f"container {code}{named}" + (f", maker's batch {made}" if made else "")


def _dose(trace: Trace, name: str) -> str:
    found = (
        e
        for e in (*trace.entries, *trace.others)
        if e.kind == "dose" and e.first == name
    )
    dose = next(found, None)
    if dose is None:
        return f"dose {name}"
    readings = [row.get("value_mg_per_l") for row in rows_of(dose, "readings")]
    target = dose.get("target_mg_per_l")
    level = f" {readings[0]} mg/L read" if readings else ""
    if not readings and target is not None:
        level = f" for {target} mg/L, not measured"
    return f"{dose.get('product')}{level}"


def _of(trace: Trace, kind: str, key: str, code: str) -> Body:
    for entry in (*trace.entries, *trace.others):
        if entry.kind == kind and entry.get(key) == code:
            return entry.body
    return {}


def kg(grams: int | None) -> str:
    """Grams for a person: ``84 kg``; an unknown weight says so."""
    if grams is None:
        return "weight not written"
    return f"{(Decimal(grams) / 1000).normalize():f} kg"


def who_got(trace: Trace) -> list[Got]:
    """The animals and buyers that got of it, with how much, in order of time."""
    sums: dict[Node, list[int]] = {}
    for link in trace.forward:
        if link.how in ("fed", "sent"):
            stood, struck = sums.setdefault(link.target, [0, 0])
            grams = link.grams or 0
            sums[link.target] = [stood + grams * link.stands, struck + grams]
    return [
        Got(node, describe(trace, node), stood, every - stood)
        for node, (stood, every) in sums.items()
    ]


def still_growing(trace: Trace) -> list[Batch]:
    """The batches of the flow of which a tray still grows."""
    found = (trace.batches.get(code) for code in trace.flow)
    return [batch for batch in found if batch is not None and batch.growing]


def answers(trace: Trace) -> list[Entry]:
    """What was found, done and told about it, in the order as it happened."""
    kinds = (
        "mould",
        "ill",
        "hold",
        "release",
        "assess",
        "action",
        "recheck",
        "close",
        "notify",
        "file",
    )
    return [entry for entry in trace.entries if entry.kind in kinds]


def glance(trace: Trace) -> Iterator[str]:
    """The first things to know, a sentence each."""
    for code in trace.flow:
        for mould in {m.first: m for m in trace.moulds.get(code, ())}.values():
            yield f"MOULD was found in {code} ({mould.first})"
        for stop in trace.stops.get(code, ()):
            few = stop.trays and len(stop.trays) < len(_trays_of(trace, code))
            which = f", {ranges(sorted(stop.trays))}" if few else ""
            yield f"HELD: {code}{which}: {stop.why} ({stop.entry})"
    growing = still_growing(trace)
    for batch in growing:
        racks = dict.fromkeys(s.rack for s in batch.standing(trace.made_at) if s.rack)
        on = f" on {', '.join(racks)}" if racks else ""
        yield f"STILL GROWING: {batch.code}: {ranges(batch.growing)}{on}"
    for lot in trace.lots.values():
        if lot.in_store_grams > 0:
            yield f"IN STORE: {kg(lot.in_store_grams)} of lot {lot.code}"
    for got in who_got(trace):
        how = "FED" if got.node.sort == "animals" else "SENT"
        also = f" (and {kg(got.struck_grams)} as written before it was put right)"
        yield f"{how}: {kg(got.grams)} to {got.text}" + also * bool(got.struck_grams)
    for entry in trace.of_kind("ill"):
        yield (
            f"SICK: {entry.get('head_ill')} of {entry.get('head_at_risk')} "
            f"{entry.get('animals')} since {entry.get('since')}; "
            f"milk: {entry.get('milk') or 'not said'}; "
            f"sold: {entry.get('sales') or 'not said'} ({entry.name})"
        )
    for each in to_hold(trace):
        yield f"NOT HELD: {each.code} grows and shares {each.shares} with mould"
    told = [e for e in trace.entries if e.kind == "notify"]
    if trace.in_danger and not any(e.get("role") == "vet" for e in told):
        yield "NOT TOLD: no entry says that the vet was told"


def _trays_of(trace: Trace, code: str) -> tuple[str, ...]:
    batch = trace.batches.get(code)
    return batch.trays if batch else ()


def when(trace: Trace, link_or_entry: Link | Entry) -> str:
    """When it was, by the farm's clock: 9 Mar 08:00, with another year said."""
    moment = (
        link_or_entry.at
        if isinstance(link_or_entry, Link)
        else moment_of(link_or_entry.happened_at)
    )
    local = moment.astimezone(trace.farm.zone)
    year = "" if local.year == trace.made_at.year else f" {local.year}"
    return f"{local.day} {local:%b}{year} {local:%H:%M}"
