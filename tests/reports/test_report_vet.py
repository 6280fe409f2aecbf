"""The vet's sheet: three weeks of fodder and its story, on one page."""

from __future__ import annotations

from datetime import date

import pytest
from log_farm import LogFarm
from pdf_checks import faults, gathered, made, texts
from sprout_farm import SproutFarm

from hygiene.acts.codes import UnknownCode
from hygiene.kinds.find import Pest
from hygiene.kinds.incident import Ill, Notify
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.period import Period

NOW = Period(date(2026, 3, 31), date(2026, 3, 31))


@pytest.fixture(scope="module")
def both(sprung: LogFarm):
    return made(sprung, "vet", NOW, "GOATS")


@pytest.fixture(scope="module")
def page(both):
    return both[0]


def sheet(farm: SproutFarm, group: str = "EWES"):
    day = Period(farm.now.date(), farm.now.date())
    return REPORTS["vet"].page(gathered(farm, "vet", day, group))


def part(page, title: str) -> tuple[str, ...]:
    return next(each.rows for each in page.parts if each.title == title)


def test_every_day_of_three_weeks_has_its_fodder(page):
    """Kilograms a head and in all: 42 kg to 20 goats is 2.10 a head."""
    assert page.frame.period == "11 to 31 March 2026"
    assert len(page.days) == 21
    fed = {cell.day: (cell.each, cell.whole) for cell in page.days if cell.whole}
    assert fed == dict.fromkeys(("26", "27", "28", "29"), ("2.10", "42"))
    assert page.days[0].each == "–"


def test_the_sick_stand_first(page):
    """Since when, how many of how many, the signs, and what nobody said."""
    (says,) = page.sick
    assert says.startswith("Since 2026-03-28 3 of 20 at risk ill: trembling, stiff")
    assert "Appetite kept." in says
    assert "Fodder stopped: NOT SAID" in says


def test_what_was_eaten_of_a_mouldy_batch_is_told_in_full(page):
    """Its lot, the weight, the find with its entry, the hold, the half year."""
    told, flagged = page.found
    assert "42 kg eaten" in told
    assert "grey, under the mat" in told
    assert "on hold: mould in it" in told
    assert flagged == "The exposure stays flagged until 27 September 2026."


def test_the_other_batches_are_named(page):
    """No find in them does not clear them, and the sheet says so beneath."""
    (says,) = part(page, "Other batches eaten")
    assert says.count(" sown ") == 3
    assert page.know[0].startswith("No visible mould and a good appetite clear nothing")


def test_seed_chemicals_and_notices_are_told(page):
    """Each with its entry; the older ones are counted."""
    assert part(page, "Seed of them")[0].endswith("untreated seen by AB")
    chemicals = part(page, "Chemicals")
    assert len(chemicals) == 5
    assert chemicals[-1] == "and 15 more, earlier"
    assert "vet E. Ash: three goats down" in part(page, "Told")[0]
    assert part(page, "Milk and sales")[0] == "the group gives milk"


def test_the_numbers_to_ring_are_there(page):
    """Vet and authority, from the farm file."""
    assert ("vet", "E. Ash", "01632 960001") in page.ring


def test_nothing_written_is_said_as_that(sprouts: SproutFarm):
    """A sheet of a quiet group has all its parts, and names what is not known."""
    page = sheet(sprouts)
    assert page.sick == ()
    assert page.found == ()
    (silent,) = part(page, "Nothing written of")
    assert {"other batches eaten", "chemicals", "told"} <= set(silent.split(", "))


def test_a_busy_sheet_is_still_one_page(sprouts: SproutFarm):
    """A batch every second day, half of them mouldy, rats, notices, sick ewes."""
    farm = LogFarm(sprouts.folder, sprouts.now)
    with farm.sitting():
        lots = [farm.lot(), farm.lot(supplier_lot="AF/2")]
        for day in range(10):
            sown = farm.sow((lots[day % 2], 6_000), trays=range(1, 3)).sow
            farm.add(Pest(what=f"rat {day}", place="store"))
            farm.add(Notify(role="vet", who_told="E. Ash", what=f"day {day}"))
            farm.feed(str(sown.get("batch")), 1, 2)
            if day % 2 == 0:
                farm.mould(str(sown.get("batch")), colour="grey", place="at the edge")
            farm.later(hours=48)
        farm.add(
            Ill(
                animals="EWES", since=date(2026, 3, 20), head_ill=3, head_at_risk=40,
                signs="trembling, stiff, down", appetite_kept=True,
            )
        )  # fmt: skip
    farm.later(minutes=1)
    page, content = made(farm, "vet", NOW, "EWES")
    assert len(page.found) == 6
    assert len(texts(content)) == 1


def test_an_unknown_group_is_refused_with_the_nearest(sprouts: SproutFarm):
    """Exit 4, and what was meant."""
    with pytest.raises(UnknownCode) as refused:
        sheet(sprouts, "GOTS")
    assert "GOATS" in refused.value.way_out


def test_the_file_passes_and_is_the_same_twice(sprung: LogFarm, both):
    """PDF/A-3a and PDF/UA-1 (page-validation), on one page, the same bytes again."""
    assert faults(both[1]) == []
    assert len(texts(both[1])) == 1
    assert made(sprung, "vet", NOW, "GOATS")[1] == both[1]
