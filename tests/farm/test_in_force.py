from __future__ import annotations

import random
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.farm.in_force import in_force
from hygiene.kinds import SETUP
from hygiene.kinds.entry import Entry

NOON = datetime(2025, 6, 1, 12, tzinfo=UTC)


def said(
    kind: str,
    seq: int = 1,
    at: str = "2025-01-01T08:00:00+00:00",
    recorded: str | None = None,
    book: str = "shed-a2b3",
    **body: object,
) -> Entry:
    return Entry(book, seq, kind, at, recorded or at, "AB", body)


def test_a_later_entry_replaces_the_whole_body() -> None:
    """Bodies are never merged: what the later one leaves out is no longer said."""
    entries = [
        said("rack", 1, code="R1", room="grow", levels=4),
        said("rack", 2, at="2025-02-01T08:00:00+00:00", code="R1", room="grow"),
    ]
    assert in_force(entries, NOON).get("rack", "R1") == {"code": "R1", "room": "grow"}


def test_a_past_day_is_read_with_what_stood_then() -> None:
    """An entry takes effect when it happened, and not before."""
    entries = [
        said("rack", 1, code="R1", room="old"),
        said("rack", 2, at="2025-02-01T08:00:00+00:00", code="R1", room="new"),
    ]
    before = in_force(entries, datetime(2025, 2, 1, 7, 59, 59, tzinfo=UTC))
    after = in_force(entries, datetime(2025, 2, 1, 8, 0, tzinfo=UTC))
    assert (
        before.things("rack")["R1"]["room"],
        after.things("rack")["R1"]["room"],
    ) == ("old", "new")


def test_a_retired_thing_is_no_more_from_that_moment() -> None:
    """Retiring ends a thing, and what was last said of it can still be read."""
    entries = [
        said("room", 1, code="grow", name="Growing room"),
        said("retire", 2, at="2025-02-01T08:00:00+00:00", sort="room", code="grow"),
    ]
    now = in_force(entries, NOON)
    assert now.get("room", "grow") is None
    assert entries[0] == now.last_described("room", "grow")
    assert entries[1] == now.last_touched("room", "grow")


def test_a_retired_thing_may_come_back() -> None:
    """A later entry puts a retired code in force again."""
    entries = [
        said("room", 1, code="grow", name="A"),
        said("retire", 2, at="2025-02-01T08:00:00+00:00", sort="room", code="grow"),
        said("room", 3, at="2025-03-01T08:00:00+00:00", code="grow", name="B"),
    ]
    assert {"grow"} == in_force(entries, NOON).things("room").keys()


def test_order_goes_by_instants_not_by_text() -> None:
    """01:30 winter time is later than 01:40 summer time in the doubled hour."""
    entries = [
        said("room", 1, at="2025-10-26T01:40:00+01:00", code="a", name="first"),
        said("room", 2, at="2025-10-26T01:30:00+00:00", code="a", name="second"),
    ]
    at = datetime(2025, 10, 26, 12, tzinfo=UTC)
    assert in_force(reversed(entries), at).things("room")["a"]["name"] == "second"


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"recorded": "2025-01-02T08:00:00+00:00"}, {"seq": 9}),
        ({"book": "shed-b2b3"}, {"seq": 9}),
        ({"seq": 2}, {"seq": 1}),
    ],
    ids=["recorded later", "later book", "later line"],
)
def test_what_happened_at_once_goes_by_recorded_book_and_line(
    one: dict[str, object], other: dict[str, object]
) -> None:
    """Two entries of one moment stand in the order (recorded, book, line)."""
    wins = said("room", **one, code="a", name="wins")  # type: ignore[arg-type]
    loses = said("room", **other, code="a", name="loses")  # type: ignore[arg-type]
    for entries in ([wins, loses], [loses, wins]):
        assert in_force(entries, NOON).things("room")["a"]["name"] == "wins"


def test_a_range_of_trays_is_read_as_its_trays() -> None:
    """A later entry for a few trays of a range changes those few alone."""
    entries = [
        said("tray", 1, code="T001..T004", material="plastic"),
        said("tray", 2, at="2025-02-01T08:00:00+00:00", code="T002..T003"),
        said(
            "retire", 3, at="2025-03-01T08:00:00+00:00", sort="tray", code="T003..T004"
        ),
    ]
    trays = in_force(entries, NOON).trays()
    assert list(trays) == ["T001", "T002"]
    assert trays["T001"]["material"] == "plastic"
    assert "material" not in trays["T002"]


def test_the_farm_stands_without_a_code() -> None:
    """Zone, end of day and season come from the farm's own entry."""
    farm = said(
        "farm",
        name="Farm",
        time_zone="Australia/Lord_Howe",
        day_ends="18:30",
        season=[
            {"first": "2024-10-01", "last": "2025-04-30"},
            {"first": "2025-09-01"},
        ],
    )
    now = in_force([farm], NOON)
    assert ZoneInfo("Australia/Lord_Howe") == now.zone
    assert now.day_ends == "18:30"
    assert [
        (date(2024, 10, 1), date(2025, 4, 30)),
        (date(2025, 9, 1), None),
    ] == now.season


def test_with_nothing_set_up_there_are_plain_defaults() -> None:
    """Before the first set-up nothing is in force, and nothing is refused here."""
    now = in_force([], NOON)
    assert (
        now.farm,
        now.trays(),
        now.zone,
        now.day_ends,
        now.season,
    ) == (None, {}, UTC, "20:00", [])


@pytest.mark.parametrize(
    ("on", "holds"),
    [
        (date(2025, 3, 1), False),
        (date(2025, 3, 2), True),
        (date(2025, 9, 1), True),
        (date(2025, 9, 2), False),
    ],
)
def test_a_training_counts_from_its_day_to_its_last(on: date, holds: bool) -> None:
    """Both ends of a training are included; the topic is read in any case."""
    person = said(
        "person",
        code="AB",
        training=[
            {"topic": "Sanitiser", "had_on": "2025-03-02", "until": "2025-09-01"}
        ],
    )
    assert holds == in_force([person], NOON).trained("AB", "sanitiser", on)


def test_a_training_that_was_renewed_counts_on() -> None:
    """A lapsed training does not hide a later one of the same topic."""
    rows = [
        {"topic": "wash", "had_on": "2024-01-01", "until": "2024-12-31"},
        {"topic": "wash", "had_on": "2025-01-10"},
    ]
    now = in_force([said("person", code="AB", training=rows)], NOON)
    assert [
        now.trained("AB", "wash", day)
        for day in (date(2024, 12, 31), date(2025, 1, 9), date(2030, 1, 1))
    ] == [True, False, True]


def test_what_cannot_be_placed_is_kept_aside() -> None:
    """An odd code, sort, range or moment is left out, and can be shown."""
    odd = [
        said("room", 1, code=7),
        said("retire", 2, sort=["room"], code="a"),
        said("tray", 3, code="T9..T1"),
        said("room", 4, at="2025-01-01T08:00:00", code="naive"),
        said("room", 5, at="yesterday", code="words"),
    ]
    now = in_force(odd, NOON)
    assert {1, 2, 3, 4, 5} == {entry.seq for entry in now.odd}
    assert now.things("room") == {}


odd_values = st.sampled_from(
    [
        None,
        True,
        0,
        7,
        "",
        "T1..T3",
        "T9..T1",
        "tray",
        "farm",
        "25:99",
        "Europe",
        "../etc",
        "2025-01-01",
        [],
        [7],
        ["a"],
        {},
        [{}],
        [{"first": 7, "last": "never"}],
        [{"topic": 1, "had_on": 2}],
        [{"topic": "wash", "had_on": "2025-01-01", "until": "soon"}],
        [["first"]],
    ]
)
bodies = st.fixed_dictionaries(
    {},
    optional=dict.fromkeys(
        ["code", "sort", "time_zone", "day_ends", "season", "roles", "training"],
        odd_values,
    ),
)


@given(st.lists(st.tuples(st.sampled_from(SETUP), bodies), max_size=6))
def test_no_body_makes_reading_fail(given_bodies: list[tuple[str, dict]]) -> None:
    """Reading never raises, whatever an older, newer or odd body holds."""
    entries = [
        Entry(
            "shed-a2b3",
            seq,
            kind,
            "2025-01-01T08:00:00Z",
            "2025-01-01T08:00:00Z",
            "AB",
            b,
        )
        for seq, (kind, b) in enumerate(given_bodies, 1)
    ]
    now = in_force(entries, NOON)
    for kind in SETUP:
        for code in now.things(kind):
            assert now.get(kind, code) is not None
    for person in now.people:
        assert now.trained(person, "wash", NOON.date()) in (True, False)
        assert all(isinstance(role, str) for role in now.roles(person))
    assert now.zone is not None
    assert len(now.day_ends) == 5
    assert all(isinstance(first, date) for first, _ in now.season)
    assert len(now.odd) <= len(entries)


@given(st.randoms(use_true_random=False))
def test_the_order_of_reading_does_not_matter(chance: random.Random) -> None:
    """The same entries, shuffled, give the same picture."""
    entries = [
        said(
            "retire" if n % 5 == 4 else "tray",
            n,
            at=f"2025-01-{n % 4 + 1:02d}T08:00:00+00:00",
            sort="tray",
            code=f"T{n:03d}..T{n + 6:03d}",
            area_m2=n,
        )
        for n in range(1, 30)
    ]
    straight = in_force(entries, NOON).trays()
    chance.shuffle(entries)
    assert list(straight.items()) == list(in_force(entries, NOON).trays().items())


def test_a_training_that_was_written_since_counts() -> None:
    """It stands beside those of the farm file, from its day to its last day."""
    entries = [
        said("person", 1, code="AB", name="A. Birch"),
        said("train", 2, person="AB", topic="water", had_on="2025-01-02",
             until="2025-12-31"),
    ]  # fmt: skip
    farm = in_force(entries, NOON)
    assert farm.trained("AB", "Water", date(2025, 6, 1))
    assert not farm.trained("AB", "water", date(2026, 1, 1))
    assert not farm.trained("CD", "water", date(2025, 6, 1))


def test_a_stop_of_the_shed_is_in_its_season() -> None:
    """The farm file's stretch ends with the last day that it ran."""
    entries = [
        said("farm", 1, season=[{"first": "2024-10-01"}]),
        said("season", 2, runs=False, day="2025-05-30"),
    ]
    assert in_force(entries, NOON).season == [(date(2024, 10, 1), date(2025, 5, 30))]
