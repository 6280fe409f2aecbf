"""Every report carries just its own entries, and comes out of them again."""

from __future__ import annotations

import json
from hashlib import sha256
from zoneinfo import ZoneInfo

import pytest
from log_farm import MARCH, LogFarm
from pdf_checks import faults
from tampering import CHAIN, ENTRIES, MANIFEST, files

from hygiene.book.as_of import laid_out
from hygiene.book.carried import read_chains
from hygiene.book.compare import alone
from hygiene.book.noted import noting, settled
from hygiene.book.record import Record
from hygiene.reports import paper, proof
from hygiene.reports.catalogue import REPORTS, Report
from hygiene.reports.period import Period


@pytest.fixture(scope="module")
def subjects(sprung: LogFarm) -> dict[str, str]:
    with Record.open(sprung.path) as record:
        batch = str(record.entries(["mould"])[-1].get("batch"))
    return {"CODE": batch, "GROUP": "GOATS"}


def taken(farm: LogFarm, report: Report, subject: str | None) -> proof.Taken:
    now = farm.now.astimezone(ZoneInfo("Europe/London"))
    days = MARCH if report.of in ("month", "days") else Period(now.date(), now.date())
    with Record.open(farm.path) as record:
        return proof.take(record, report, days, now, subject)


def source(of: proof.Taken, page: object) -> str:
    return paper.html(of.report.laid_out_by, page, proof.Seal.of(of.carried))


@pytest.mark.parametrize("name", REPORTS)
def test_a_report_is_the_same_from_its_own_entries_alone(
    name: str, sprung: LogFarm, subjects: dict[str, str]
):
    """From the lines that it carries come the same pages, files and lines again."""
    report = REPORTS[name]
    made = taken(sprung, report, subjects.get(report.subject))
    assert alone(made.carried) == []
    with laid_out(made.carried) as record, noting(record) as noted:
        again = report.read(record, made.period, made.printed_at, made.subject)
        names = settled(record, noted)
    page, page_again = report.page(made.gathered), report.page(again)
    assert source(made, page_again) == source(made, page)
    # by these words verify finds it; a card for the wall has no seal
    assert ("SHA-256 of them:" in source(made, page)) == (name != "cards")
    assert getattr(page_again, "attached", ()) == getattr(page, "attached", ())
    assert [f"{book}/{seq}" for book, seq in names] == [
        f"{told['book']}/{told['seq']}" for told in map(json.loads, made.carried.lines)
    ]


@pytest.fixture(scope="module")
def dosing(sprung: LogFarm) -> proof.Made:
    return proof.make(taken(sprung, REPORTS["dosing"], None))


def test_the_entries_inside_are_those_of_the_record(sprung: LogFarm, dosing):
    """Byte for byte; and no dose of the period is missing."""
    inside = files(dosing.content)[ENTRIES].decode().splitlines()
    with Record.open(sprung.path) as record:
        rows = record.db.execute("select line, kind from entry").fetchall()
    assert set(inside) <= {line for line, _ in rows}
    doses = {line for line, kind in rows if kind == "dose"}
    assert doses <= set(inside)
    assert len(inside) < len(rows)


def test_the_chain_inside_leads_to_the_head_of_the_record(sprung: LogFarm, dosing):
    """The last hash of the links is the one that the pages print."""
    with Record.open(sprung.path) as record:
        heads = record.heads()
    chains = read_chains(files(dosing.content)[CHAIN].decode())
    assert [each.head for each in chains] == heads
    assert [each.loose for each in chains] == [()] * len(heads)


def test_what_the_report_is_stands_inside(dosing):
    """Its name, days, moment, zone, heads, programs, and the hash of all files."""
    told = json.loads(files(dosing.content)[MANIFEST])
    assert (told["report"], told["subject"]) == ("dosing", None)
    assert (told["from"], told["to"]) == ("2026-03-01", "2026-03-31")
    assert told["printed_at"] == "2026-03-31T07:40:00+01:00"
    assert told["time_zone"] == "Europe/London"
    assert told["html_sha256"] == sha256(dosing.source.encode()).hexdigest()
    assert {"hygiene", "weasyprint", "pango", "zlib"} <= set(told["made_with"])
    inside = files(dosing.content)
    del inside[MANIFEST]
    assert told["files"] == {n: sha256(c).hexdigest() for n, c in inside.items()}


def test_the_pages_print_which_entries_are_inside(dosing):
    """How many, and their SHA-256 in groups of eight."""
    whole = sha256(files(dosing.content)[ENTRIES]).hexdigest()
    assert " ".join(proof.grouped(whole)) in dosing.source


def test_the_same_report_is_the_same_to_the_byte(sprung: LogFarm, dosing):
    """Read and laid out once more."""
    again = proof.make(taken(sprung, REPORTS["dosing"], None))
    assert again.content == dosing.content


def test_it_is_still_an_archive_file(dosing):
    """With all that travels inside."""
    assert faults(dosing.content) == []


def test_photos_that_a_page_was_drawn_from_travel_inside(sprung: LogFarm):
    """By their hash, unless the page has them inside already."""
    made = taken(sprung, REPORTS["water"], None)
    drawn = made._replace(carried=made.carried._replace(files={"f" * 64: b"photo"}))
    (kept,) = proof.kept(drawn.carried, object())
    assert (kept.name, kept.content) == (f"file-{'f' * 64}", b"photo")


def test_the_page_for_a_browser_carries_no_proof(sprung: LogFarm):
    """HTML is for looking at: it neither carries entries nor says so."""
    made = proof.make_html(taken(sprung, REPORTS["dosing"], None))
    assert {f.name.rpartition(".")[2] for f in made.attached} == {"csv", "json"}
    assert "travel inside" not in made.source
