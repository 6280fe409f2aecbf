"""What cannot be true of seed, batches, finds and sick animals is refused."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from hygiene.kinds import kind_class
from hygiene.kinds.base import CannotBe, Unfit, read_plain
from hygiene.kinds.checklist import Step

GOOD: dict[str, dict[str, Any]] = {
    "seed": {
        "lot": "L-1", "supplier": "A", "supplier_lot": "x", "grams": 5,
        "untreated_seen_by": "AB",
    },
    "germination": {"lot": "L-1", "sown": 100, "germinated": 93},
    "scrap": {"lot": "L-1", "grams": 5, "why": "mice"},
    "sow": {
        "batch": "B-1", "seeds": [{"lot": "L-1", "grams": 5}],
        "places": [{"tray": "T1", "rack": "R1", "level": 2}],
    },
    "move": {"batch": "B-1", "places": [{"tray": "T1", "rack": "R2"}]},
    "feed": {"batch": "B-1", "trays": ["T1"], "animals": "EWES", "grams": 5},
    "dispatch": {"batch": "B-1", "trays": ["T1"], "buyer": "H", "grams": 5},
    "discard": {
        "batch": "B-1", "trays": ["T1"], "grams": 5, "why": "mould", "route": "burnt",
    },
    "sample": {"batch": "B-1", "why": "mould", "frozen_at": "freezer"},
    "ill": {
        "animals": "EWES", "since": "2026-03-01", "head_ill": 1, "head_at_risk": 9,
        "signs": "down",
    },
    "assess": {"holds": ["shed-k7q2/9"], "found": "clean"},
    "notify": {"role": "vet", "who_told": "E. Ash", "what": "stop"},
}  # fmt: skip


@pytest.mark.parametrize("kind", GOOD)
def test_a_plain_one_can_be_written(kind: str) -> None:
    """Its body is what was said, and what was not said is left out."""
    made = read_plain(kind_class(kind), GOOD[kind])
    assert GOOD[kind].items() <= made.body().items()


@pytest.mark.parametrize(
    ("kind", "changes", "key"),
    [
        ("seed", {"grams": 0}, "grams"),
        ("seed", {"accepted": False}, "refused_why"),
        ("seed", {"moisture_percent": 101}, "moisture_percent"),
        ("seed", {"supplier_lot": " "}, "supplier_lot"),
        ("germination", {"germinated": 101}, "germinated"),
        ("germination", {"sown": 0}, "sown"),
        ("scrap", {"grams": -1}, "grams"),
        ("sow", {"seeds": []}, "seeds"),
        ("sow", {"places": []}, "places"),
        ("sow", {"places": [{"tray": "T1"}, {"tray": "T1"}]}, "places"),
        ("sow", {"seeds": [{"lot": "L", "grams": 1}] * 2}, "seeds"),
        ("sow", {"places": [{"tray": "T1", "level": 0}]}, "level"),
        ("move", {"places": []}, "places"),
        ("feed", {"trays": []}, "trays"),
        ("feed", {"trays": ["T1", "T1"]}, "trays"),
        ("feed", {"grams": 0}, "grams"),
        ("dispatch", {"document": ""}, "document"),
        ("discard", {"route": ""}, "route"),
        ("sample", {"lot": "L-1"}, "batch"),
        ("sample", {"batch": None}, "batch"),
        ("sample", {"frozen_at": None}, "frozen_at"),
        ("ill", {"head_ill": 10}, "head_ill"),
        ("ill", {"head_ill": 0}, "head_ill"),
        ("ill", {"head_dead": 10}, "head_dead"),
        ("assess", {"holds": []}, "holds"),
        ("notify", {"role": "aunt"}, "role"),
    ],
)  # fmt: skip
def test_what_cannot_be_true_is_refused(
    kind: str, changes: dict[str, Any], key: str
) -> None:
    """And the field is named."""
    body = {k: v for k, v in {**GOOD[kind], **changes}.items() if v is not None}
    with pytest.raises(Unfit) as unfit:
        read_plain(kind_class(kind), body)
    assert key in {problem.key[-1] for problem in unfit.value.problems}


def test_a_find_says_where_it_is() -> None:
    """A batch, a rack, trays, or the batches that stood there."""
    mould = kind_class("mould")
    with pytest.raises(CannotBe, match="say where"):
        mould()
    for where in (
        {"batch": "B"},
        {"rack": "R"},
        {"trays": ("T",)},
        {"batches": ("B",)},
    ):
        assert mould(**where).body()


def test_a_hold_stops_everything_or_sowing() -> None:
    """There is no third."""
    hold = kind_class("hold")
    with pytest.raises(CannotBe, match="stops"):
        hold(held="L", sort="lot", why="x", stops="feeding")


def test_sick_since_is_a_day() -> None:
    """Written as such."""
    made = read_plain(kind_class("ill"), GOOD["ill"])
    assert (made.since, made.body()["since"]) == (date(2026, 3, 1), "2026-03-01")


def test_a_checklist_asks_for_mould_where_it_can_be_found() -> None:
    """A count for the whole shed would hold nobody knows what."""
    step = {
        "code": "mould", "text": "Mouldy trays", "sort": "reading", "unit": "trays",
        "writes": "mould",
    }  # fmt: skip
    assert Step(**step, per="rack").per == "rack"
    with pytest.raises(CannotBe, match="per"):
        Step(**step)
