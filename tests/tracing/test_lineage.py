"""What went into what: both ways, one step sideways, and never against the clock."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC
from itertools import product

from entry_makers import Book, at
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.kinds.entry import Entry
from hygiene.tracing.batches import read_batches
from hygiene.tracing.holds import Layout
from hygiene.tracing.lineage import Beside, Lineage, Node, beside, read_lineage

ROOM_OF = {"R1": "GROW", "R2": "GROW", "R3": "DARK"}
LAYOUT = Layout(ROOM_OF, {"W1": "K1", "W2": "K1"})
PRODUCES = {"EWES": ("milk", "lamb")}


def read(entries: list[Entry], **said) -> Lineage:
    return read_lineage(entries, LAYOUT, produces=PRODUCES, **said)


def forward(lineage: Lineage, node: Node) -> set[Node]:
    return {link.target for link in lineage.forward(node)}


def back(lineage: Lineage, node: Node) -> set[Node]:
    return {link.source for link in lineage.back(node)}


def sideways(entries: list[Entry], code: str = "B") -> dict[str, set[str]]:
    """What each other batch shares with one."""
    batches = read_batches(entries)
    found = beside(batches[code], batches.values(), read(entries), LAYOUT, UTC)
    return {each.code: set(map(str, each.shares)) for each in found}


def dose(book: Book, day: float, *trays: str, can: str = "C", **said) -> Entry:
    drawn = [{"container": can, "tenth_ml": 900}] if can else []
    target = "tray" if trays else "line"
    made = {"product": "CHLOR", "drawn": drawn, "target": target, **said}
    return book.add("dose", day, **({"trays": list(trays)} if trays else {}), **made)


def whole_way(book: Book) -> list[Entry]:
    """One lot to the milk, with a wash between."""
    return [
        book.add("seed", 0, lot="L", supplier="ALDER", grams=9_000),
        book.add("container", 0, container="C", supplier="BIRCH"),
        dose(book, 1, "T1", "T2"),
        book.sow(2, "B", "T1", "T2", lots={"L": 6_000}, line="W1"),
        book.feed(9, "B", "T1"),
        book.add("dispatch", 9, batch="B", trays=["T2"], buyer="HOLLOW", grams=7_000),
    ]


# both ways


def test_forward_goes_to_the_milk_and_to_the_buyer() -> None:
    """From the supplier of the seed to all that came of it."""
    assert forward(read(whole_way(Book())), Node("supplier", "ALDER")) == {
        Node("lot", "L"),
        Node("batch", "B"),
        Node("animals", "EWES"),
        Node("buyer", "HOLLOW"),
        Node("produce", "milk of EWES"),
        Node("produce", "lamb of EWES"),
    }


def test_back_goes_to_both_suppliers_and_the_water() -> None:
    """From the milk to the seed, and to the sanitiser that the trays met."""
    found = back(read(whole_way(Book("shed"))), Node("produce", "milk of EWES"))
    assert found == {
        Node("animals", "EWES"),
        Node("batch", "B"),
        Node("lot", "L"),
        Node("supplier", "ALDER"),
        Node("dose", "shed/3"),
        Node("container", "C"),
        Node("supplier", "BIRCH"),
        Node("line", "W1"),
    }


def test_each_link_has_its_time_its_entry_its_weight_and_its_trays() -> None:
    """Nothing has to be taken on trust."""
    lineage = read(whole_way(Book("shed")))
    (fed, _) = lineage.out_of(Node("batch", "B"))
    assert (fed.how, fed.at, fed.entry) == ("fed", at(9), "shed/5")
    assert (fed.grams, fed.trays) == (7_000, ("T1",))


def test_two_lots_in_one_batch_are_two_links() -> None:
    """A lineage is a graph, not a tree."""
    entries = [Book().sow(0, "B", "T1", lots={"L-1": 1, "L-2": 2})]
    found = read(entries).into(Node("batch", "B"))
    assert {(link.source.code, link.grams) for link in found} == {
        ("L-1", 1), ("L-2", 2),
    }  # fmt: skip


def test_a_batch_split_over_groups_goes_to_each() -> None:
    """And each of them leads back to it."""
    book = Book()
    entries = [
        book.sow(0, "B", "T1", "T2"),
        book.feed(7, "B", "T1"),
        book.feed(7, "B", "T2", animals="GOATS"),
    ]
    lineage = read(entries)
    for group in ("EWES", "GOATS"):
        assert Node("animals", group) in forward(lineage, Node("batch", "B"))
        assert Node("batch", "B") in back(lineage, Node("animals", group))


def test_what_was_corrected_still_leads_there_and_says_so() -> None:
    """The strictest reading: both groups count, one of them no longer stands."""
    book = Book()
    first = book.feed(7, "B", "T1")
    later = book.feed(7, "B", "T1", animals="GOATS")
    later = later._replace(corrects=first.name)
    entries = [book.sow(0, "B", "T1"), first, later]
    found = read(entries, superseded=[first.name]).out_of(Node("batch", "B"))
    assert {(link.target.code, link.stands) for link in found} == {
        ("EWES", False), ("GOATS", True),
    }  # fmt: skip


def test_a_corrected_weight_is_told_once() -> None:
    """The step stands: only its weight was put right."""
    book = Book()
    first, later = book.feed(7, "B", "T1"), book.feed(7, "B", "T1", grams=6_500)
    entries = [book.sow(0, "B", "T1"), first, later]
    (link,) = read(entries, superseded=[first.name]).out_of(Node("batch", "B"))
    assert (link.grams, link.stands) == (6_500, True)


def test_while_one_tray_grows_the_water_is_still_met() -> None:
    """A batch is over with its last tray, not with its first."""
    book = Book()
    entries = [
        book.sow(2, "B", "T1", "T2", line="W1"),
        book.feed(9, "B", "T1"),
        dose(book, 10, line="W1"),
    ]
    met = {link.entry for link in read(entries).into(Node("batch", "B"))}
    assert entries[2].name in met


def test_odd_bodies_break_nothing() -> None:
    """An old or foreign entry is passed over where it says nothing."""
    book = Book()
    for kind in ("seed", "sow", "feed", "dose", "container", "sample", "discard"):
        read([book.add(kind, 0, trays=7, places=["x"], drawn={}, seeds=None, line=3)])


# washes


def test_a_wash_meets_the_next_batch_and_not_the_one_after() -> None:
    """A tray is washed between: what it met is of its own time."""
    book = Book()
    entries = [
        dose(book, 0, "T1"),
        book.sow(1, "B", "T1"),
        book.feed(8, "B", "T1"),
        dose(book, 8.5, "T1"),
        book.sow(9, "D", "T1"),
    ]
    lineage = read(entries)
    assert lineage.washes("B") == {entries[0].name}
    assert lineage.washes("D") == {entries[3].name}


def test_every_dose_since_the_last_batch_was_met() -> None:
    """A cleaner before the sanitiser leaves its trace as well."""
    book = Book()
    entries = [
        dose(book, 0, "T1", can="A"),
        dose(book, 0.1, "T1"),
        book.sow(1, "B", "T1"),
    ]
    assert read(entries).containers("B") == {"A", "C"}
    later = [*entries, book.feed(8, "B", "T1"), book.sow(9, "D", "T1")]
    assert read(later).containers("B") == {"A", "C"}


def test_a_tray_that_nothing_ended_is_over_when_it_is_sown_again() -> None:
    """What is dosed after that is met by the later batch alone."""
    book = Book()
    entries = [book.sow(1, "B", "T1"), book.sow(9, "D", "T1"), dose(book, 10, "T1")]
    lineage = read(entries)
    assert entries[2].name not in {n.entry for n in lineage.into(Node("batch", "B"))}
    assert entries[2].name in {n.entry for n in lineage.into(Node("batch", "D"))}


def test_without_a_wash_between_the_last_one_was_met_by_both() -> None:
    """So a tray that was sown again unwashed is a sibling by that wash."""
    book = Book()
    entries = [
        dose(book, 0, "T1"),
        book.sow(1, "B", "T1", lots={"L-1": 1}),
        book.feed(8, "B", "T1"),
        book.sow(9, "D", "T1", lots={"L-2": 1}),
    ]
    assert sideways(entries) == {"D": {f"wash {entries[0].name}", "container C"}}


def test_one_tub_is_one_wash_and_leads_to_its_container() -> None:
    """The second rack of trays in the same tub names the dose that made it up."""
    book = Book()
    first = dose(book, 0, "T1")
    second = dose(book, 0.1, "T2", can="", tub=first.name)
    lots = {"L-9": 1}
    entries = [
        first,
        second,
        book.sow(1, "B", "T1", rack="R1"),
        book.sow(2, "D", "T2", rack="R3", lots=lots),
    ]
    assert sideways(entries) == {"D": {f"wash {first.name}", "container C"}}


def test_a_dose_on_a_growing_batch_is_met_by_it() -> None:
    """Nothing on a label allows it: so it must be seen."""
    book = Book()
    entries = [book.sow(1, "B", "T1"), dose(book, 3, "T1"), book.feed(8, "B", "T1")]
    (_, dosed) = read(entries).into(Node("batch", "B"))
    assert (dosed.how, dosed.trays) == ("dosed", ("T1",))


def test_a_dose_of_the_line_or_its_tank_is_in_the_water_while_it_grows() -> None:
    """And the last one before; an earlier or a later one was never met."""
    book = Book()
    entries = [
        dose(book, 0, line="W1"),
        dose(book, 1, line="W1"),
        book.sow(2, "B", "T1", line="W1"),
        dose(book, 4, tank="K1"),
        book.feed(9, "B", "T1"),
        dose(book, 10, line="W1"),
        dose(book, 5, line="W9"),
    ]
    met = {link.entry for link in read(entries).into(Node("batch", "B"))}
    assert {entries[1].name, entries[3].name} <= met
    assert not {entries[n].name for n in (0, 5, 6)} & met


# sideways


def test_a_later_batch_of_the_same_tray_is_no_sibling() -> None:
    """Time is respected: only a shared wash would make it one."""
    book = Book()
    entries = [
        dose(book, 0, "T1", can="A"),
        book.sow(1, "B", "T1", lots={"L-1": 1}),
        book.feed(8, "B", "T1"),
        dose(book, 8.5, "T1", can="C"),
        book.sow(9, "D", "T1", lots={"L-2": 1}),
    ]
    assert sideways(entries) == {}


def test_every_reason_is_named_the_closest_first() -> None:
    """Wash, lot, rack, line, room, container, day sown."""
    book = Book()
    entries = [
        dose(book, 0, "T1", "T2"),
        book.sow(1, "B", "T1", line="W1", lots={"L": 1}),
        book.sow(1, "D", "T2", line="W1", lots={"L": 1}),
    ]
    batches = read_batches(entries)
    found = beside(batches["B"], batches.values(), read(entries), LAYOUT, UTC)
    assert found == [
        Beside(
            "D",
            (
                ("wash", entries[0].name), ("lot", "L"), ("rack", "R1"),
                ("line", "W1"), ("room", "GROW"), ("container", "C"),
                ("sowing day", "2026-03-03"),
            ),
        )
    ]  # fmt: skip


def test_a_rack_counts_only_on_shared_days() -> None:
    """One that came when the other was gone shares nothing."""
    book = Book()
    entries = [
        book.sow(0, "B", "T1", lots={"L-1": 1}),
        book.feed(7, "B", "T1"),
        book.sow(6, "D", "T2", lots={"L-2": 1}),
        book.sow(8, "E", "T3", lots={"L-3": 1}),
    ]
    assert sideways(entries) == {"D": {"rack R1", "room GROW"}}


# random farms, against the plainest reading of the same entries

TRAYS = [f"T{n}" for n in range(4)]
CODES = st.sampled_from


@st.composite
def farms(draw) -> list[Entry]:
    """A few weeks of a small shed; every act at a moment of its own."""
    book = Book()
    entries: list[Entry] = []
    moments = iter(range(200))
    for lot in ("L0", "L1", "L2"):
        supplier = draw(CODES(["S0", "S1"]))
        entries.append(book.add("seed", 0, lot=lot, supplier=supplier, grams=900))
    for can in ("C0", "C1"):
        entries.append(book.add("container", 0, container=can, supplier="S1"))
    standing: dict[str, str] = {}
    number = 0
    for _ in range(draw(st.integers(1, 14))):
        day = 1 + next(moments) * 0.25
        trays = draw(st.lists(CODES(TRAYS), min_size=1, max_size=3, unique=True))
        busy = [tray for tray in trays if tray in standing]
        free = [tray for tray in trays if tray not in standing]
        match draw(CODES(["dose", "sow", "end", "pipe"])):
            case "dose" if free:
                can = draw(CODES(["C0", "C1"]))
                entries.append(dose(book, day, *free, can=can))
            case "pipe":
                pipe = draw(CODES([{"line": "W1"}, {"line": "W2"}, {"tank": "K1"}]))
                entries.append(dose(book, day, can=draw(CODES(["C0", "C1"])), **pipe))
            case "sow" if free:
                number += 1
                lots = draw(
                    st.lists(CODES(["L0", "L1", "L2"]), min_size=1, unique=True)
                )
                entries.append(
                    book.sow(
                        day,
                        f"B{number}",
                        *free,
                        rack=draw(CODES(["R1", "R2", "R3"])),
                        lots=dict.fromkeys(lots, 10),
                        line=draw(CODES(["W1", "W2"])),
                    )
                )
                standing |= dict.fromkeys(free, f"B{number}")
            case "end" if busy:
                batch = standing[busy[0]]
                mine = [tray for tray in busy if standing[tray] == batch]
                animals = draw(CODES(["EWES", "GOATS"]))
                entries.append(book.feed(day, batch, *mine, animals=animals))
                for tray in mine:
                    del standing[tray]
    return entries


def moment(entry: Entry) -> str:
    return entry.happened_at


def plain_steps(entries: list[Entry]) -> Iterator[tuple[Node, Node]]:
    """Every step of the material, each read by the plainest rule, pair by pair."""
    sows = [e for e in entries if e.kind == "sow"]
    feeds = [e for e in entries if e.kind == "feed"]
    doses = [e for e in entries if e.kind == "dose"]
    for entry in entries:
        if entry.kind in ("seed", "container"):
            sort = "lot" if entry.kind == "seed" else "container"
            yield Node("supplier", entry.get("supplier")), Node(sort, entry.get(sort))
    for each in doses:
        for row in each.get("drawn"):
            yield Node("container", row["container"]), Node("dose", each.name)
    for feed in feeds:
        group = Node("animals", feed.get("animals"))
        yield Node("batch", feed.get("batch")), group
        for what in PRODUCES.get(group.code, ()):
            yield group, Node("produce", f"{what} of {group.code}")
    for sow in sows:
        batch = Node("batch", sow.get("batch"))
        for share in sow.get("seeds"):
            yield Node("lot", share["lot"]), batch
        yield Node("line", sow.get("line")), batch
        for name in met(sow, sows, feeds, doses):
            yield Node("dose", name), batch


def met(sow: Entry, sows: list[Entry], feeds: list[Entry], doses: list[Entry]) -> set:
    """The doses that a batch met, tray by tray and in its water."""
    found = set()
    for tray in (row["tray"] for row in sow.get("places")):
        earlier = [
            moment(other)
            for other in sows
            if moment(other) < moment(sow)
            and tray in [row["tray"] for row in other.get("places")]
        ]
        of_tray = [
            each
            for each in doses
            if tray in each.get("trays", ()) and moment(each) < moment(sow)
        ]
        since = [each for each in of_tray if moment(each) > max(earlier, default="")]
        found |= {each.name for each in since or of_tray[-1:]}
    ended = [feed for feed in feeds if feed.get("batch") == sow.get("batch")]
    gone = {tray for feed in ended for tray in feed.get("trays")}
    every = {row["tray"] for row in sow.get("places")}
    over = max(map(moment, ended)) if gone == every else "9999"
    piped = [
        each
        for each in doses
        if each.get("line") == sow.get("line") or each.get("tank") == "K1"
    ]
    found |= {e.name for e in piped if moment(sow) <= moment(e) < over}
    before = [e for e in piped if moment(e) < moment(sow)]
    return found | {e.name for e in before[-1:]}


def closure(steps: set[tuple[Node, Node]]) -> set[tuple[Node, Node]]:
    """Every pair that a chain of steps joins, by doing it until nothing is new."""
    joined = set(steps)
    while True:
        new = {(a, d) for (a, b), (c, d) in product(joined, steps) if b == c} - joined
        if not new:
            return joined
        joined |= new


@settings(max_examples=25, deadline=None)
@given(farms())
def test_the_material_reaches_what_a_brute_force_closure_reaches(farm) -> None:
    """Exactly that: nothing is lost, and nothing flows against the clock."""
    lineage, steps = read(farm), set(plain_steps(farm))
    assert {link[:2] for link in lineage.links} == steps
    nodes = {node for step in steps for node in step}
    expected = closure(steps)
    assert {(a, b) for a in nodes for b in forward(lineage, a)} == expected


@settings(max_examples=25, deadline=None)
@given(farms())
def test_forward_and_back_are_one_relation(farm) -> None:
    """B lies forward of a exactly when a lies back of b."""
    lineage = read(farm)
    nodes = {node for link in lineage.links for node in link[:2]}
    ahead = {(a, b) for a in nodes for b in forward(lineage, a)}
    assert ahead == {(a, b) for b in nodes for a in back(lineage, b)}


@settings(max_examples=25, deadline=None)
@given(farms())
def test_sideways_is_one_step_and_the_same_from_either_side(farm) -> None:
    """What shares nothing with the batch itself is not reached over another."""
    batches = read_batches(farm)
    steps = set(plain_steps(farm))
    for one in batches.values():
        found = sideways(farm, one.code)
        for other in batches.values():
            if one.code != other.code:
                shared = found.get(other.code, set())
                assert plainly_shared(one, other, steps, farm) == shared
                assert sideways(farm, other.code).get(one.code, set()) == shared


def plainly_shared(one, other, steps, farm: list[Entry]) -> set[str]:
    """What two batches share, asked pair by pair."""
    mine, theirs = (
        {a for a, b in steps if b == ("batch", x.code)} for x in (one, other)
    )
    both = mine & theirs
    found = {f"lot {node.code}" for node in both if node.sort == "lot"}
    washes = {e.name for e in farm if e.kind == "dose" and e.get("trays")}
    before = {
        e.name for e in farm if e.happened_at <= min(one.sown, other.sown).isoformat()
    }
    found |= {f"wash {n.code}" for n in both if n.code in washes & before}
    cans = [
        {a.code for a, b in steps if a.sort == "container" and b in doses}
        for doses in (mine, theirs)
    ]
    found |= {f"container {can}" for can in cans[0] & cans[1]}
    for here, there in product(one.stays, other.stays):
        starts = max(here.since, there.since)
        if all(end is None or starts < end for end in (here.until, there.until)):
            if here.rack == there.rack:
                found.add(f"rack {here.rack}")
            if ROOM_OF[here.rack] == ROOM_OF[there.rack]:
                found.add(f"room {ROOM_OF[here.rack]}")
    starts = max(one.sown, other.sown)
    if one.line == other.line and all(
        x.over is None or starts < x.over for x in (one, other)
    ):
        found.add(f"line {one.line}")
    if one.sown.date() == other.sown.date():
        found.add(f"sowing day {one.sown.date()}")
    return found
