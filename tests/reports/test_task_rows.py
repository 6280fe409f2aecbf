"""The tasks behind a day's or a month's page, as rows that travel with it."""

from __future__ import annotations

import csv
import io
from collections import Counter

from hygiene.reports import day, month
from hygiene.reports.attached import Attached
from hygiene.reports.reading import Reading


def rows(files: tuple[Attached, ...], what: str) -> list[dict[str, str]]:
    (file,) = (f for f in files if f.name.startswith(what) and f.name.endswith(".csv"))
    return list(csv.DictReader(io.StringIO(file.content.decode(), newline="")))


def test_every_due_is_a_row_with_what_became_of_it(busy_day: Reading):
    """As many rows as tasks on the page, each under the same status."""
    page = day.page(busy_day)
    found = rows(page.attached, "tasks-2026-03-25")
    assert Counter(row["status"] for row in found) == Counter(
        {"failed": 1, "late": 1, "missed": 1}
    )
    (missed,) = (row for row in found if row["status"] == "missed")
    assert (missed["why"], missed["by"]) == ("no hot water", "CD")
    assert missed["due"] == "2026-03-25T15:00:00+00:00"


def test_what_a_row_is_late_by_is_in_minutes(busy_day: Reading):
    """Done at half past two, where a quarter past one was the end of its grace."""
    found = rows(day.page(busy_day).attached, "tasks")
    (late,) = (row for row in found if row["status"] == "late")
    assert late["late_minutes"] == "90"
    assert late["marks"] == '["late"]'
    assert late["seen_by"] == '["CD"]'


def test_every_answer_is_a_row_of_the_sign_off_that_stands(busy_day: Reading):
    """The reading as it was typed, what was done about it, rack by rack."""
    found = rows(day.page(busy_day).attached, "answers")
    (temp,) = (row for row in found if row["step"] == "temp")
    assert (temp["value"], temp["unit"], temp["passed"]) == ("24.5", "C", "false")
    assert temp["did"] == "opened the louvres"
    assert [row["of"] for row in found if row["step"] == "mould"] == ["R1", "R2"]


def test_a_month_attaches_all_its_days(busy_month: Reading):
    """A row for each sign in the grid."""
    page = month.page(busy_month)
    found = rows(page.attached, "tasks-2026-03-01-to-2026-03-31")
    grid = sum(1 for row in found if row["status"] == "done")
    assert f"{grid:,} done in time" in page.months[0].summary
    assert {row["task"] for row in found} == {"walk", "wash", "deep"}
