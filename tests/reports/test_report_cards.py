"""Mixing cards: amounts that a handbook confirms, and what to be careful of."""

from __future__ import annotations

from datetime import date

import pytest
from dose_farm import DoseFarm
from hypothesis import given, settings
from hypothesis import strategies as st
from log_farm import LogFarm
from pdf_checks import faults, gathered, texts

from hygiene.acts.codes import UnknownCode
from hygiene.reports import paper
from hygiene.reports.cards import ABOVE_LEAST, MOST_COLUMNS, Card, strengths
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.period import Period

LAST = Period(date(2026, 3, 31), date(2026, 3, 31))


@pytest.fixture(scope="module")
def page(sprung: LogFarm):
    return REPORTS["cards"].page(gathered(sprung, "cards", LAST))


@pytest.fixture(scope="module")
def short(page):
    """Two cards alone: the press takes its time."""
    return paper.html("cards", page._replace(cards=page.cards[:2]))


@pytest.fixture(scope="module")
def content(sprung: LogFarm, short):
    return paper.pdf(short, sprung.now)


def card(page, code: str) -> Card:
    return next(each for each in page.cards if each.code == code)


def test_amounts_are_those_worked_by_hand(page):
    """ml = L x mg/L / (g/L): 60 x 200 / 125 = 96, and so down and across."""
    hypo = card(page, "hypo")
    assert hypo.heads == ("150 mg/L", "200 mg/L", "400 mg/L")
    by_volume = {row.made: row.amounts for row in hypo.rows}
    assert by_volume["60 L"] == ("72 ml", "96 ml", "192 ml")
    assert by_volume["5 L"] == ("6 ml", "8 ml", "16 ml")


def test_a_solid_is_weighed(page):
    """56 % holds 560 mg in a gram: 100 L x 150 mg/L / 560 = 26.8 g."""
    granules = card(page, "granules")
    assert granules.verb == "Weigh out"
    assert {row.made: row.amounts[0] for row in granules.rows}["100 L"] == "26.8 g"


def test_what_the_farm_makes_up_is_on_the_card(page):
    """The strengths and volumes of the doses of late; round ones fill the rest."""
    assert {"30 L", "60 L"} <= {row.made for row in card(page, "hypo").rows}
    assert "30 L" not in {row.made for row in card(page, "granules").rows}


def test_what_the_strip_must_read_is_the_labels_range(page):
    """Both ends, the time, the warmth and the rinse, as the label asks."""
    assert card(page, "hypo").checks == (
        "The strip must read 100 to 500 mg/L",
        "Let it stand 10 min",
        "Water at 5 °C or warmer, never hot",
        "Then rinse",
    )
    assert card(page, "peracid").checks[-1] == "No rinse needed"
    assert card(page, "granules").checks[-1] == "Rinse: read the label"


def test_what_it_must_never_meet_stands_in_a_frame(page):
    """The dangerous ones of this farm, then the label's own words."""
    assert card(page, "hypo").never[0] == "Tray Peracid (chlorine gas)"
    assert card(page, "hypo").never[-1] == "acids"


def test_only_a_liquid_that_ages_says_so(page):
    """Bleach loses strength in its can; the card is for a fresh one."""
    source = paper.html("cards", page)
    assert source.count("A can that is not fresh makes it weaker") == 1
    assert [each.code for each in page.cards if each.ages] == ["hypo"]


def test_a_product_without_a_strength_has_no_card_and_is_named(page):
    """Why it has none is said, so that nobody looks for it."""
    assert page.without == (
        "Bay Detergent: the farm file says no active of Bay Detergent",
        "Pipe Descaler: its label says no strength to make up",
    )


def test_one_card_alone(doses: DoseFarm):
    """A product's code after the name: only its card."""
    day = Period(doses.now.date(), doses.now.date())
    page = REPORTS["cards"].page(gathered(doses, "cards", day, "PERACID"))
    assert [each.code for each in page.cards] == ["peracid"]


def test_an_unknown_product_is_refused_with_the_nearest(doses: DoseFarm):
    """Exit 4, and what was meant."""
    day = Period(doses.now.date(), doses.now.date())
    with pytest.raises(UnknownCode) as refused:
        gathered(doses, "cards", day, "hyppo")
    assert "hypo" in refused.value.way_out


levels = st.one_of(st.none(), st.integers(1, 2000).map(float))


@settings(max_examples=60)
@given(st.lists(st.integers(1, 5000).map(float), max_size=6), levels, levels)
def test_no_strength_leaves_the_label(used, one, other):
    """Whatever was used, a card proposes only what the label allows, in order."""
    least, most = one, other
    if one and other and one > other:
        least, most = other, one
    found = strengths(used, least, most)
    assert found == sorted(found)
    assert len(found) <= MOST_COLUMNS
    assert all(value <= most for value in found if most)
    assert all(value >= least for value in found if least)
    assert found or least is None or most is None


def test_round_strengths_keep_away_from_the_labels_least():
    """A jug misread by a little must not fall below it."""
    assert strengths([], 100, 500)[0] >= 100 * ABOVE_LEAST
    assert strengths([100], 100, 500)[0] == 100


def test_a_label_of_one_strength_has_that_one():
    """Where least and most are the same there is nothing to choose."""
    assert strengths([], 400, 400) == [400]


def test_each_product_has_one_page(page, content):
    """One card a page, with its name, its figures, and whom to ring."""
    pages = texts(content)
    assert len(pages) == 2
    for each, text in zip(page.cards, pages, strict=False):
        assert each.name in text
        assert "01632 960199" in text


def test_whom_to_ring_stands_on_the_card_however_much_it_says(sprung: LogFarm, page):
    """A name of two lines and five enemies: the numbers stay on the same sheet."""
    hard = card(page, "hypo")._replace(
        name="Shed Hypochlorite Twelve for Trays (invented)",
        never=("Tray Peracid 5 (chlorine gas)", "Pipe Descaler (chlorine gas)",
               "Floor Quat 10 (fumes; both are spent)", "acids", "ammonia"),
    )  # fmt: skip
    source = paper.html("cards", page._replace(cards=(hard,)))
    first, *_ = texts(paper.pdf(source, sprung.now))
    assert "01632 960199" in first


def test_the_file_passes_and_is_the_same_twice(sprung: LogFarm, short, content):
    """PDF/A-3a and PDF/UA-1 (page-validation), and the same bytes again."""
    assert faults(content) == []
    assert paper.pdf(short, sprung.now) == content


def test_a_farm_without_products_has_no_card(shed):
    """A page that says nothing wrong, not an error."""
    day = Period(shed.now.date(), shed.now.date())
    page = REPORTS["cards"].page(gathered(shed, "cards", day))
    assert (page.cards, page.without) == ((), ())
    assert "No product" in paper.html("cards", page)
