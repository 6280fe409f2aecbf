"""The dosing log: a line a dose, what failed told to its end, totals that balance."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
from dose_farm import DoseFarm, drawn, read
from log_farm import MARCH, LogFarm
from pdf_checks import faults, files, gathered, made, texts

from hygiene.acts.mending import strike
from hygiene.kinds.action import Action
from hygiene.reports import dosing, paper
from hygiene.reports.catalogue import REPORTS


@pytest.fixture(scope="module")
def log(sprung: LogFarm):
    return made(sprung, "dosing", MARCH)


@pytest.fixture(scope="module")
def page(log):
    return log[0]


def lines(page: dosing.Page) -> dict[tuple[str, str], str]:
    """Each line of the log by its day and time."""
    return {
        (day.day, line.text[:5]): line.text for day in page.days for line in day.lines
    }


def log_of(farm: DoseFarm) -> dosing.Page:
    return REPORTS["dosing"].page(gathered(farm, "dosing", MARCH))


def only(farm: DoseFarm) -> str:
    ((_, text),) = lines(log_of(farm)).items()
    return text


def rows_of(content: bytes, what: str = "doses") -> list[dict[str, str]]:
    inside = files(content)
    (name,) = (n for n in inside if n.startswith(what) and n.endswith(".csv"))
    return list(csv.DictReader(io.StringIO(inside[name][0].decode())))


# the lines


def test_a_good_dose_is_one_line(page):
    """When, product, container, trays, planned, read, minutes, after, verdict, by."""
    parts = lines(page)["Thu 5 Mar", "08:00"].split("  ")
    said = [part.strip() for part in parts if part.strip()]
    assert said[:2] == ["08:00", "hypo"]
    assert said[2].startswith("96 ml C-")
    assert said[3:] == [
        "T001..T006", "200 mg/L, 96.8 ml", "190 / 160 mg/L", "12 min", "rinsed, dry",
        "✔ good", "AB",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("day", "says"),
    [
        ("Sun 8 Mar", "▲ too weak"),
        ("Mon 9 Mar", "▲ contact short"),
        ("Wed 11 Mar", "▲ kit out of date"),
        ("Sat 14 Mar", "□ not read"),
        ("Sun 15 Mar", "□ not rinsed"),
        ("Thu 19 Mar", "▲ too strong"),
    ],
)
def test_each_verdict_has_its_sign_and_its_words(page, day, says):
    """A shape and a word, so that a copier and an ear both keep it."""
    assert says in lines(page)[day, "08:00"]


def test_a_product_for_floors_on_a_tray_is_failed(page):
    """A PT2 product has no business on what touches feed."""
    text = " ".join(lines(page)["Tue 10 Mar", "08:00"].split())
    assert "▲ not for this use" in text
    assert "floor" in text


def test_what_must_not_meet_is_failed_only_without_the_rinse(page):
    """Hypochlorite after a peracid: failed where that was not rinsed off."""
    (later,) = [t for at, t in lines(page).items() if at[0] == "Thu 12 Mar"][1:]
    assert "▲ must not meet" in later
    assert "✔ good" in lines(page)["Wed 18 Mar", "08:00"]


def test_a_scale_that_ended_keeps_its_sign(page):
    """>600 is printed as it was read."""
    assert ">600 / 540 mg/L" in lines(page)["Thu 19 Mar", "08:00"]


def test_a_line_says_where_it_was_read(page):
    """A shock dose: the last nozzle, the end of the hold, and what the flush left."""
    text = " ".join(lines(page)["Wed 25 Mar", "18:00"].split())
    assert "nozzle 140, end 110" in text
    assert "rinsed, nozzle" in text
    assert "0.3, incoming 0.2" in text
    assert "✔ good" in text


def test_a_line_that_was_not_flushed_is_not_good(doses: DoseFarm):
    """It stands there as not cleared, and why is told beneath."""
    doses.dose(
        line="L1", drawn=drawn(doses.can(), 400), volume_l=Decimal(30), minutes=200,
        target_mg_per_l=Decimal(150), locked_off_by="AB", gear=("gloves", "goggles"),
        readings=(read("nozzle", 140), read("end", 110)), rinsed=None, dry=None,
        washed_before=None,
    )  # fmt: skip
    page = log_of(doses)
    ((_, text),) = lines(page).items()
    assert "□ off plan, line not cleared" in text
    assert ("it was not flushed", 1) in page.lacking


def test_a_line_names_few_of_the_readings_that_came_after(doses: DoseFarm):
    """Every later flush is read: the first ones stand there, the others are counted."""
    doses.dose(
        line="L1", drawn=drawn(doses.can(), 400), volume_l=Decimal(30), minutes=200,
        target_mg_per_l=Decimal(150), locked_off_by="AB", gear=("gloves", "goggles"),
        readings=(read("nozzle", 140), read("end", 110)), rinsed=None, dry=None,
        washed_before=None,
    )  # fmt: skip
    doses.later(hours=4)
    for _ in range(3):
        doses.rinse(line="L1", readings=(read("nozzle", 0.3), read("incoming", 0.2)))
    text = " ".join(only(doses).split())
    assert text.count("incoming 0.2") == 1
    assert "and 4" in text


def test_trays_stand_in_their_order(doses: DoseFarm):
    """However they were typed, neighbours become a range."""
    doses.dose(3, 1, 2, drawn=drawn(doses.can(), 960))
    assert "T001..T003" in only(doses)


def test_a_rinse_written_later_counts(doses: DoseFarm):
    """That it was rinsed and dried need not stand in the dose itself."""
    doses.dose(1, 2, drawn=drawn(doses.can(), 960), rinsed=None, dry=None)
    doses.rinse(1, 2, dry=True)
    assert "rinsed, dry" in only(doses)
    assert "✔ good" in only(doses)


def test_the_same_tub_is_read_around_each_of_its_doses(doses: DoseFarm):
    """A failed end of the tub speaks against the trays since the last good reading."""
    can = doses.can()
    first = doses.dose(1, 2, drawn=drawn(can, 960), readings=(read("start", 190),))
    doses.dose(3, 4, tub=first.dose.name, readings=(read("end", 60),))
    said = list(lines(log_of(doses)).values())
    assert all("190 / 60 mg/L" in text for text in said if "T001" in text)
    assert all("▲ too weak" in text for text in said)


def test_putting_a_dose_right_never_makes_it_good(doses: DoseFarm):
    """The strictest reading of all versions counts: a correction clears nothing."""
    weak = (read("start", 90), read("end", 60))
    done = doses.dose(1, 2, drawn=drawn(doses.can(), 960), readings=weak)
    better = doses.thing(
        1, 2, drawn=drawn(str(done.dose.body["drawn"][0]["container"]), 960),
        at=doses.now - timedelta(minutes=32),
    )  # fmt: skip
    doses.act(
        lambda w: w.add(
            better, by="AB", corrects=done.dose.name, reason="misread",
            happened_at=doses.now - timedelta(minutes=32),
        )
    )  # fmt: skip
    page = log_of(doses)
    ((_, text),) = lines(page).items()
    assert "190 / 160 mg/L" in text
    assert "▲ too weak" in text
    ((_, amended),) = page.amended
    assert "misread" in amended.how


# what went wrong


def test_a_failed_dose_is_told_to_its_end(page):
    """The problem, the action, the recheck, the close with its cause."""
    (told,) = (each for each in page.failures if each.when == "8 March, 08:00")
    (action,) = told.actions
    assert action.closed
    assert action.problem.startswith("90 mg/L at the start is too weak")
    assert [step.what for step in action.steps] == ["Opened", "Rechecked", "Closed"]
    assert action.steps[-1].told.endswith("Cause: read at the wrong mark")


def test_every_failed_dose_is_told(page):
    """As many stories as lines that failed."""
    failed = [line for day in page.days for line in day.lines if "▲" in line.text]
    assert len(page.failures) == len(failed) == 8
    assert page.summary == (
        "28 doses: 17 as the label asks, 8 failed, 2 with something not written and "
        "1 ruled through.",
    )


def test_what_is_not_written_is_counted(page):
    """Each thing that nobody wrote, and at how many doses."""
    assert page.lacking == (
        ("no strength was read at the end of the tub", 1),
        ("that it was rinsed is not written, and the label asks for it", 1),
    )


def test_an_action_of_another_sort_marks_the_dose_too(doses: DoseFarm):
    """Whoever opened an action about it found it wrong."""
    done = doses.dose(1, drawn=drawn(doses.can(), 960))
    doses.act(
        lambda w: w.add(Action(about=done.dose.name, problem="it foamed"), by="AB")
    )
    assert "▲ failed" in only(doses)


# struck, totals


def test_a_struck_dose_stays_readable_and_is_not_counted(doses: DoseFarm):
    """Ruled through on its line, told beneath, and left out of what was drawn."""
    can = doses.can()
    done = doses.dose(1, drawn=drawn(can, 960))
    doses.dose(2, drawn=drawn(can, 500))
    doses.act(lambda w: strike(w, done.dose.name, reason="another day", by="AB"))
    page = log_of(doses)
    texts_ = [line for day in page.days for line in day.lines]
    assert [line.verdict for line in texts_] == ["struck", "good"]
    assert "– ruled through" in texts_[0].text
    assert page.totals[0].drawn == "50 ml"
    ((_, amended),) = page.amended
    assert amended.how.startswith("Ruled through")


def test_totals_are_what_left_the_containers(sprung: LogFarm, page):
    """What the month drew from each container is what is gone from it, exactly."""
    found = gathered(sprung, "dosing", MARCH)
    held = found.containers
    for total in page.totals:
        assert total.drawn == dosing.amount(
            held[total.container].unit, held[total.container].drawn
        )
    assert {t.product for t in page.totals} == {"hypo", "peracid", "floor"}
    assert page.totals[0].maker_batch == "HX 4417/A"


def test_the_products_used_are_told_with_their_labels(page):
    """Authorisation and product types, as the law on biocides asks of a record."""
    (hypo,) = (each for each in page.products if each.code == "hypo")
    assert hypo.authorisation == "INVENTED-0412, PT4 and PT5"
    assert hypo.label == "100 to 500 mg/L, 10 min, 5 °C or warmer, rinse"


def test_a_month_without_a_dose_says_so(doses: DoseFarm):
    """No table, no file, no error."""
    page = log_of(doses)
    assert (page.days, page.attached, page.summary) == ((), (), ())
    assert "No dose was written in this time." in paper.html("dosing", page)


# the file


def test_the_file_passes_and_is_the_same_twice(sprung: LogFarm, log):
    """PDF/A-3a and PDF/UA-1 (page-validation), and the same bytes again."""
    assert faults(log[1]) == []
    assert made(sprung, "dosing", MARCH)[1] == log[1]


def test_every_dose_travels_inside_as_a_row(log):
    """The attached file has them all, with its units in its heads."""
    rows = rows_of(log[1])
    assert len(rows) == 28
    first = rows[0]
    assert first["drawn_tenth_ml"] == "960"
    assert first["contact_minutes"] == "12.0"
    assert first["readings_mg_per_l"] == '["start 190","end 160"]'
    assert first["began_at"] == "2026-03-05T08:00:00+00:00"
    assert [row["verdict"] for row in rows].count("failed") == 8


def test_what_else_happened_to_a_container_is_told(doses: DoseFarm):
    """Spilt or thrown away: a line beneath what was drawn, and a row inside."""
    can = doses.can()
    doses.dose(1, drawn=drawn(can, 960))
    doses.lose(can, 250)
    page, content = made(doses, "dosing", MARCH)
    assert [line.what for line in page.besides] == ["opened", "lost"]
    assert f"25 ml of {can}: spilled" in page.besides[-1].told
    (row,) = rows_of(content, "lost")
    assert (row["container"], row["tenth_ml"]) == (can, "250")


def test_a_log_of_many_doses_continues_in_the_attached_file(sprung: LogFarm):
    """Five hundred on the pages at most, then a line that says where the rest is."""
    found = gathered(sprung, "dosing", MARCH)
    many = found._replace(rows=found.rows[:1] * (dosing.MOST + 1))
    page = dosing.page(many)
    assert sum(len(day.lines) for day in page.days) == dosing.MOST
    said = "1 more dose: the log continues in the attached file doses-2026-03-01"
    assert said in paper.html("dosing", page)
    assert page.attached[0].content.count(b"\r\n") == dosing.MOST + 2


def test_columns_read_in_order_aloud(log):
    """Taken out as text, a line still has its values in their order."""
    found = texts(log[1])[0].splitlines()
    (line,) = (one for one in found if "T019..T024" in one and "▲" in one)
    assert line.index("hypo") < line.index("200 mg/L") < line.index("▲ too weak")
