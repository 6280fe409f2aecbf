"""The chemical store: what stands there, by when to use it, and a page a product."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from dose_farm import HYPO, DoseFarm, drawn
from log_farm import LogFarm, with_sheet
from pdf_checks import faults, gathered, texts

from hygiene.kinds.setup import Retire
from hygiene.reports import paper, store
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.period import Period

LAST = Period(date(2026, 3, 31), date(2026, 3, 31))


@pytest.fixture(scope="module")
def page(sprung: LogFarm):
    return REPORTS["store"].page(gathered(sprung, "store", LAST))


@pytest.fixture(scope="module")
def short(page):
    """With the pages of two products alone: the press takes its time."""
    return paper.html("store", page._replace(hazards=page.hazards[:2]))


@pytest.fixture(scope="module")
def content(sprung: LogFarm, short):
    return paper.pdf(short, sprung.now)


def today(farm: DoseFarm) -> store.Page:
    day = farm.now.date()
    return REPORTS["store"].page(gathered(farm, "store", Period(day, day)))


def shelf(page: store.Page, code: str) -> store.Shelf:
    return next(each for each in page.shelves if each.code == code)


def hazard(page: store.Page, code: str) -> store.Hazard:
    return next(each for each in page.hazards if each.code == code)


def test_a_container_is_a_row(page):
    """Maker's batch, made, came, opened, its last day, what is left, and where."""
    first, _ = shelf(page, "hypo").held
    assert first.maker_batch == "HX 4417/A"
    assert first.came == "1 Mar 2026\n2 Mar 2026"
    assert first.opened == "5 Mar 2026"
    assert first.until == "3 Jun 2026, since it is open"
    assert first.left == "7.801 L of 10 L"
    assert first.where == "chemical store, low shelf"
    assert first.mark is None


def test_what_is_past_its_last_day_is_marked(page):
    """A sign that a copier keeps, and a sentence at the head of the list."""
    _, second = shelf(page, "hypo").held
    assert (second.mark, second.until) == (store.PAST, "20 Mar 2026")
    assert "1 container past the last day: not to be used." in page.summary


@pytest.mark.parametrize(
    ("days", "mark"), [(13, store.NEAR), (14, store.NEAR), (15, None)]
)
def test_what_ends_within_two_weeks_is_marked(doses: DoseFarm, days, mark):
    """Fourteen days before its last one, that one included."""
    last = date.fromordinal(doses.now.date().toordinal() + days)
    doses.can(expires_on=last)
    (row,) = shelf(today(doses), "hypo").held
    assert row.mark == mark


def test_a_last_day_that_nobody_wrote_is_said(page):
    """Not written is not the same as not expired."""
    (row,) = shelf(page, "soap").held
    assert (row.mark, row.until) == (store.OPEN_ENDED, "not written")


def test_an_empty_container_is_only_counted(doses: DoseFarm):
    """The list is of what stands there."""
    doses.lose(doses.can(), 100_000)
    page = today(doses)
    assert shelf(page, "hypo").held == ()
    assert page.summary[0].endswith("; 1 empty ones are left out.")


def test_a_past_day_shows_the_store_as_it_was(sprung: LogFarm):
    """What was drawn later is not drawn yet."""
    day = date(2026, 3, 9)
    page = REPORTS["store"].page(gathered(sprung, "store", Period(day, day)))
    first, second = shelf(page, "hypo").held
    assert first.left == "9.326 L of 10 L"  # 5 x 96 ml and 2 x 97 ml
    assert (second.opened, second.mark) == ("no", store.NEAR)


def test_what_does_not_add_up_is_named(doses: DoseFarm):
    """More drawn than it held: said, never hidden."""
    code = doses.can(tenth_ml=500)
    doses.dose(1, drawn=drawn(code, 960))
    assert today(doses).odd == (f"{code}: 46 ml more was drawn or lost than it held",)


def test_a_product_taken_out_of_the_farm_file_stays_while_some_is_left(
    doses: DoseFarm,
):
    """The can is still on the shelf, so its hazard page is needed."""
    doses.can()
    doses.act(lambda w: w.add(Retire(sort="product", code="hypo"), by="AB"))
    page = today(doses)
    assert len(shelf(page, "hypo").held) == 1
    assert hazard(page, "hypo").name == "Shed Hypochlorite"


def test_hazard_codes_are_said_in_words(page):
    """As the farm file copied them; an unknown one sends the reader to the label."""
    told = dict(hazard(page, "hypo").statements)
    assert told["H314"] == "Causes severe skin burns and eye damage"
    assert told["H999"] == "not a code that this program knows: read the label"
    assert dict(hazard(page, "hypo").pictograms)["GHS09"].startswith("environment")


def test_no_pictogram_is_drawn(page):
    """Its code and its meaning stand there; the drawing is not ours to make."""
    source = paper.html("store", page)
    assert "GHS05" in source
    assert "<img" not in source
    assert "<svg" not in source


def test_what_must_not_meet_is_told_on_both_pages(page):
    """By the labels' own lists and by the table, whichever speaks of it."""
    assert "Tray Peracid: chlorine gas" in hazard(page, "hypo").apart
    assert "Shed Hypochlorite: chlorine gas" in hazard(page, "peracid").apart
    assert "as its label says: acids" in hazard(page, "hypo").apart


def test_what_is_overdue_is_said_first(doses: DoseFarm):
    """A data sheet that nobody looked at for a year, an assessment past its review."""
    old = replace(with_sheet(HYPO), sds_checked_on=date(2025, 2, 1))
    doses.act(lambda w: w.add(old, by="AB"))
    assert hazard(today(doses), "hypo").overdue == (
        "the data sheet of Shed Hypochlorite was last looked at on 2025-02-01",
        "the risk assessment was to be reviewed by 1 March 2026",
    )


def test_the_label_and_the_sheet_are_told(page):
    """Strength, authorisation, limits, dates: what an inspector compares."""
    facts = dict(hazard(page, "hypo").facts)
    assert facts["Holds"] == "chlorine 125 g/L (density 1.2 kg/L)"
    assert facts["Its label asks"] == (
        "100 to 500 mg/L, 10 min, 5 °C or warmer, rinse; once open it keeps 90 days"
    )
    assert facts["Data sheet"] == "20 May 2024; looked at again: 15 January 2026"
    assert dict(hazard(page, "soap").facts)["Holds"] == "no active named"


def test_dry_chlorine_has_the_advice_for_dry_chlorine(page):
    """Granules are swept up dry; liquid bleach is flooded with water."""
    spilt = dict(hazard(page, "granules").aid)["Spilt"]
    assert spilt.startswith("Sweep up dry")
    assert dict(hazard(page, "hypo").aid)["Spilt"].startswith("Flood with water")


def test_each_product_has_one_page(page, content):
    """The list, then a page a product with its name and the numbers to ring."""
    pages = texts(content)
    assert len(pages) == 3
    for each, text in zip(page.hazards, pages[1:], strict=False):
        assert each.name in text
        assert "Poison: 01632 960199" in text


def test_a_farm_without_products_says_so(shed):
    """No table and no error."""
    day = shed.now.date()
    page = REPORTS["store"].page(gathered(shed, "store", Period(day, day)))
    assert page.shelves == ()
    assert "names no product" in paper.html("store", page)


def test_the_file_passes_and_is_the_same_twice(sprung: LogFarm, short, content):
    """PDF/A-3a and PDF/UA-1 (page-validation), and the same bytes again."""
    assert faults(content) == []
    assert paper.pdf(short, sprung.now) == content
