"""Readiness on paper: three heaps, the walk of ten lines, and all of it as a table."""

from __future__ import annotations

import csv
import io
from datetime import date

import pytest
from dose_farm import DoseFarm
from log_farm import LogFarm
from pdf_checks import faults, gathered, made, texts

from hygiene.reports import paper, readiness
from hygiene.reports.period import Period

MARCH = Period(date(2026, 3, 1), date(2026, 3, 31))


@pytest.fixture(scope="module")
def read(sprung: LogFarm) -> readiness.Gathered:
    return gathered(sprung, "readiness", MARCH)


@pytest.fixture(scope="module")
def page(read: readiness.Gathered) -> readiness.Page:
    return readiness.page(read)


def test_every_finding_stands_in_its_heap(read, page):
    """What the rules found is on the page, rule by rule, and nothing else is."""
    found = read.looked.ready.findings
    shown = {found.rule: heap.code for heap in page.heaps for found in heap.found}
    assert shown == {each.rule.code: each.rule.heap for each in found}
    assert len(shown) > 5


def test_the_head_counts_each_heap(read, page):
    """How many things, what to do with them, and how long it takes."""
    heaps = ("tonight", "tomorrow", "say")
    assert [number for number, *_ in page.lead] == [
        str(len(read.looked.ready.heap(heap))) for heap in heaps
    ]
    (_, _, tonight), _, (_, _, say) = page.lead
    assert tonight.startswith("about ")
    assert say == ""


def test_a_finding_with_many_places_names_the_rest(page):
    """Twelve stand on the page; how many more there are is said."""
    for heap in page.heaps:
        for found in heap.found:
            assert len(found.places) <= readiness.MOST
            assert found.left == 0 or len(found.places) == readiness.MOST


def test_a_clause_from_memory_says_that_it_is_to_be_confirmed(page):
    """No number of a law is printed as read that nobody has read."""
    asked = [says for heap in page.heaps for f in heap.found for says in f.asked]
    (biocides, *_) = [says for says in asked if "528/2012 Article 17(5)" in says]
    assert "(to be confirmed)" in biocides


def test_all_of_it_travels_inside_as_a_table(read, page):
    """A row for each place, with its entries and our codes of the clauses."""
    table, described = page.attached
    rows = list(csv.DictReader(io.StringIO(table.content.decode())))
    places = [i for f in read.looked.ready.findings for i in f.items]
    assert len(rows) == len(places)
    assert [row["says"].removeprefix("'") for row in rows] == [i.says for i in places]
    assert described.name == f"{table.name}-metadata.json"


def test_the_walk_has_ten_lines(page):
    """One page for the evening before, with what the record knows of each line."""
    assert len(page.walk) == 10
    text = paper.html("readiness", page)
    assert all(line.look in text for line in page.walk)


def test_a_record_without_anything_is_laid_out(doses: DoseFarm):
    """A farm on its first morning has a page as well."""
    day = doses.now.date()
    page = readiness.page(gathered(doses, "readiness", Period(day, day)))
    assert "a walk of ten lines" in paper.html("readiness", page)


def test_the_file_is_an_archive_file_and_holds_the_words(sprung: LogFarm):
    """PDF/A-3a and PDF/UA-1, by the validator; the words can be read out of it."""
    page, content = made(sprung, "readiness", MARCH)
    assert faults(content) == []
    text = " ".join(" ".join(texts(content)).split())
    for heap in page.heaps:
        assert heap.title in text
    assert "The evening before: a walk of ten lines" in text


def test_what_a_person_wrote_changes_nothing_but_its_own_line(hostile: LogFarm):
    """Markup, addresses and ten thousand letters stand there as letters."""
    page = readiness.page(gathered(hostile, "readiness", MARCH))
    text = paper.html("readiness", page)
    assert "&lt;" in text
    assert "<script" not in text
    assert text.count("<body") == 1
