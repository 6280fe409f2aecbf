"""The logs: rows that equal the record, what is struck, odd texts, what each tells."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from decimal import Decimal
from html.parser import HTMLParser
from itertools import cycle
from typing import Any

import csvw
import pytest
from log_farm import MARCH, LogFarm
from logs_farm import LONG
from pdf_checks import faults, files, gathered, made

from hygiene.book.record import Record
from hygiene.exchange.table import cell
from hygiene.kinds import kind_class
from hygiene.kinds.base import shapes
from hygiene.kinds.entry import Entry
from hygiene.reports import columns, paper
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.logs import page as log
from hygiene.reports.reading import Matter, Reading

KINDS = {
    "seed": ("seed", "germination", "scrap"),
    "batches": ("sow", "sample", "hold", "release", "assess", "notify"),
    "feeding": ("feed", "dispatch"),
    "mould": ("mould", "discard", "ill"),
    "actions": ("action", "recheck", "close"),
    "training": ("train",),
    "calibration": ("calibrate",),
    "pests": ("pest",),
    "visitors": ("visitor", "accident"),
}
"""What each log attaches of that March."""
EVERY = [(name, kind) for name, kinds in KINDS.items() for kind in kinds]


def page_of(farm: LogFarm, name: str) -> log.Page:
    return REPORTS[name].page(gathered(farm, name, MARCH))


@pytest.fixture(scope="module")
def pages(plain: LogFarm) -> dict[str, log.Page]:
    return {name: page_of(plain, name) for name in KINDS}


def lines(page: log.Page, title: str = "") -> list[str]:
    """Each line of the log, without its columns' spaces."""
    return [
        " ".join(line.text.split())
        for part in page.parts
        if isinstance(part, log.Listing) and title in part.title
        for day in part.days
        for line in day.lines
    ]


def line(page: log.Page, *words: str) -> str:
    """The one line that holds all these words."""
    (found,) = (one for one in lines(page) if all(word in one for word in words))
    return found


def said(page: log.Page, title: str) -> str:
    """All that the stories of a part say."""
    return "\n".join(
        " ".join(
            [told.sign, told.title, *told.told]
            + [a.problem for a in told.actions]
            + [f"{s.what} {s.told}" for a in told.actions for s in a.steps]
        )
        for part in page.parts
        if isinstance(part, log.Stories) and title in part.title
        for told in part.told
    )


# what every log does


def matters(farm: LogFarm, kind: str) -> list[Matter]:
    with Record.open(farm.path) as record:
        versions = record.all_versions((kind,))
        firsts = dict.fromkeys(entry.first for entry in versions)
        return [Matter(tuple(record.history(name))) for name in firsts]


def rows_of(page: log.Page, kind: str) -> dict[str, dict[str, str]]:
    (file,) = (f for f in page.attached if f.name == log.csv_name(kind, MARCH))
    rows = csv.DictReader(io.StringIO(file.content.decode(), newline=""))
    return {row["entry"]: row for row in rows}


@pytest.mark.parametrize(("name", "kind"), EVERY)
def test_the_attached_rows_equal_the_record(plain: LogFarm, pages, name, kind):
    """A row for each matter as it stands, field by field, struck ones as well."""
    found = rows_of(pages[name], kind)
    fields = [shape.name for shape in shapes(kind_class(kind))]
    wanted = matters(plain, kind)
    assert list(found) == [matter.said.name for matter in wanted]
    for matter in wanted:
        entry, row = matter.said, found[matter.said.name]
        assert [row[f] for f in fields] == [cell(entry.get(f)) for f in fields]
        assert row["struck"] == ("true" if matter.struck else "false")
        assert (row["by"], row["happened_at"]) == (entry.by, entry.happened_at)


@pytest.mark.parametrize(
    ("name", "kind"),
    [pair for pair in EVERY if pair[1] not in ("sample", "recheck", "close")],
)
def test_every_matter_stands_on_the_pages(plain: LogFarm, pages, name, kind):
    """Its first entry is named beside a line or a story."""
    html = paper.html("log", pages[name])
    for matter in matters(plain, kind):
        assert matter.first.name in html


@pytest.mark.parametrize(
    ("name", "kind"),
    [("seed", "seed"), ("feeding", "feed"), ("training", "train"), ("pests", "pest")],
)
def test_what_is_struck_stays_readable(plain: LogFarm, pages, name, kind):
    """Ruled through on its line, and told beneath with who did so and why."""
    (struck,) = (m for m in matters(plain, kind) if m.struck)
    page = pages[name]
    assert "– ruled through" in line(page, struck.first.name)
    printed = {
        one.verdict
        for part in page.parts
        if isinstance(part, log.Listing)
        for day in part.days
        for one in day.lines
        if struck.first.name in one.text
    }
    assert printed == {"struck"}
    (changed,) = (part for part in page.parts if isinstance(part, log.Changed))
    assert any("Ruled through" in each.how for _, each in changed.rows)


def test_what_was_put_right_stands_beside_what_it_was(pages):
    """The weight as it was typed, and as it is."""
    (changed,) = (p for p in pages["feeding"].parts if isinstance(p, log.Changed))
    found = [c for _, each in changed.rows for c in each.changes if c.what == "grams"]
    assert [(c.old, c.new) for c in found] == [("30000", "31000")]
    assert "31 good, good" in line(pages["feeding"], "EWES")


KEPT = re.compile(r"^\d\d:\d\d|[✔▲□–]|(?<!\()\b(?:AB|CD)\b|(?<=\w{4})/\d+(?!\S)")
"""What every line has beside what was typed: its time, its verdict, by whom, its entry.
"""


class Tags(HTMLParser):
    """The tags and attributes that a page holds."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.found: set[tuple[str, ...]] = set()
        self.feed(source)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.add((tag, *sorted(name for name, _ in attrs)))


def tags(source: str) -> set[tuple[str, ...]]:
    return Tags(source).found


@pytest.mark.parametrize("name", KINDS)
def test_odd_texts_change_only_their_own_cell(plain, hostile, pages, name):
    """Markup, turns of direction, addresses, 10,000 letters: the rest says the same."""
    page = page_of(hostile, name)
    source, usual = paper.html("log", page), paper.html("log", pages[name])
    assert tags(source) == tags(usual)
    assert not set(source) & set("\u202a\u202b\u202d\u202e\u2066\u2067")
    assert not re.search(r"(?:src|href)=(?!\"data:)", source)
    for before, after in zip(lines(pages[name]), lines(page), strict=True):
        assert sorted(KEPT.findall(before)) == sorted(KEPT.findall(after))


ODD = (7, "x", [], [1], {"a": 1}, True, Decimal("1.5"), ["x", {"lot": 3}], "")
"""What no kind writes down in most of its fields."""


def oddly(reading: Reading, kind: str, field: str, value: Any) -> Reading:
    """The reading as if one field of every entry of a kind held something else."""

    def odd(entry: Entry) -> Entry:
        if entry.kind != kind:
            return entry
        return entry._replace(body={**entry.body, field: value})

    changed = tuple(Matter(tuple(map(odd, m.history))) for m in reading.matters)
    return replace(reading, matters=changed, _by_name={}, _answers={})


@pytest.mark.parametrize("name", KINDS)
def test_an_odd_body_is_told_as_it_stands(plain: LogFarm, name):
    """An older, newer or odd field never raises: each field, an odd value in turn."""
    found = gathered(plain, name, MARCH)
    reading = found if isinstance(found, Reading) else found.reading
    fields = {(m.first.kind, f) for m in reading.matters for f in m.said.body}
    for (kind, field), value in zip(sorted(fields), cycle(ODD), strict=False):
        odd = oddly(reading, kind, field, value)
        changed = odd if found is reading else found._replace(reading=odd)
        assert REPORTS[name].page(changed).parts


@pytest.mark.parametrize("name", KINDS)
def test_the_file_passes_whatever_was_typed(hostile: LogFarm, name):
    """PDF/A-3a and PDF/UA-1 (page-validation), with its rows and their description."""
    page, content = made(hostile, name, MARCH)
    assert faults(content) == []
    inside = files(content)
    for file in page.attached:
        assert inside[file.name] == [file.content]
    assert {f"{n}-metadata.json" for n in inside if n.endswith(".csv")} <= set(inside)


def test_the_rows_are_as_their_description_says(hostile: LogFarm, tmp_path):
    """Read back strictly, by a reader of CSV on the Web (csvw), whatever was typed."""
    page = page_of(hostile, "batches")
    for file in page.attached:
        (tmp_path / file.name).write_bytes(file.content)
    for description in tmp_path.glob("*-metadata.json"):
        table = csvw.Table.from_file(description)
        assert list(table.iterdicts(strict=True))


def test_the_same_log_is_the_same_file(plain: LogFarm):
    """Made again of the same entries and moment, byte for byte."""
    assert made(plain, "visitors", MARCH)[1] == made(plain, "visitors", MARCH)[1]


@pytest.mark.parametrize("name", KINDS)
def test_a_time_without_anything_says_so(built_doses, name):
    """No line, no file, no error; what stands at the farm is told all the same."""
    page = REPORTS[name].page(gathered(built_doses, name, MARCH))
    assert page.attached == ()
    assert page.summary or page.nothing in paper.html("log", page)


# lines, in general


def many(plain: LogFarm, times: int) -> log.Listing:
    reading = gathered(plain, "pests", MARCH).reading
    row = log.Row(reading.of_kind("pest")[0], ("mouse", "shed"))
    made_ = log.listing(
        reading, ("What", "Where"), [row] * times, ("find", "finds"), file="pest.csv"
    )
    assert made_ is not None
    return made_


def test_a_long_log_continues_in_the_attached_file(plain: LogFarm):
    """Five hundred lines on the pages at most, then where the rest is."""
    part = many(plain, log.MOST + 2)
    assert sum(len(day.lines) for day in part.days) == log.MOST
    assert part.more == "2 finds more: the log continues in the attached file pest.csv."


def test_a_long_log_stands_under_its_months(plain: LogFarm):
    """Each line then says its own day."""
    part = many(plain, columns.DENSE + 1)
    assert (part.first, part.days[0].day) == ("Month", "Mar 2026")
    assert part.days[0].lines[0].text.startswith("Tue 24  09:0")


def test_a_text_that_is_cut_says_where_it_is_whole(hostile: LogFarm):
    """A line holds so many letters of a cell, and the file all of them."""
    page = page_of(hostile, "pests")
    (part,) = (p for p in page.parts if isinstance(p, log.Listing))
    assert log.CUT in part.note
    assert f"'{LONG}" in [row["did"] for row in rows_of(page, "pest").values()]


# seed


def test_a_lot_without_its_paper_is_told_to_its_release(pages):
    """The hold, what was missing, who was told, and the paper that let it go."""
    page = pages["seed"]
    assert "▲ lot not declared, held, released" in line(page, "AF/2")
    told = said(page, "Held, or not as it should be")
    assert "nobody saw the word" in told
    assert "Told: supplier Alder" in told
    assert "on declaration of 3 March" in told


def test_a_lot_is_followed_to_what_is_left_of_it(pages):
    """Came in = sown + thrown away + samples + left, in kilograms."""
    sums = [one.split() for one in lines(pages["seed"], "What became of each lot")]
    assert [row[1:] for row in sums if "0.5" in row] == [
        ["100", "6", "1", "0.5", "0", "93.5"]
    ]


def test_a_count_stands_with_its_interval(pages):
    """191 of 200, with the exact interval (scipy's beta distribution agrees)."""
    assert "200 191 95.5 91.6 to 97.9 3" in line(pages["seed"], "191")


# batches


def test_a_forced_sowing_names_its_rules_and_its_reason(pages):
    """Its marks on the line; the reason and the action beneath."""
    page = pages["batches"]
    assert "▲ mould, held, tray not cleared" in lines(page, "Every batch")[0]
    told = said(page, "Done all the same")
    assert "Reason given: as usual" in told
    assert "Opened" in told


def test_a_batch_says_where_its_trays_went(pages):
    """Which animals and buyers, thrown away, and on which growing day."""
    (first, _) = lines(pages["batches"], "Every batch")
    assert "5: T001..T005" in first
    assert "2 EWES, day 7; 2 HOLLOW, day 7; 1" in first
    assert "thrown away, day 8" in first


def test_a_narrowed_hold_says_to_what_and_on_whose_word(pages):
    """Assessed, let go on the vet's word and letter, and held anew for one tray."""
    told = said(pages["batches"], "What was held")
    assert "Assessed" in told
    assert "on the word of E. Ash (vet), on letter" in told
    assert "Narrowed to the trays T008" in told
    assert "Still held when this was printed" in told
    assert "Follows from mould in" in told


def test_everyone_who_was_told_is_listed(pages):
    """Role, name, what, when and by whom."""
    (part,) = (p for p in pages["batches"].parts if p.title == "Who was told")
    assert isinstance(part, log.Sentences)
    assert [says.partition(",")[0] for says in part.says] == [
        "supplier Alder",
        "vet E. Ash",
    ]


def test_the_months_add_up(pages):
    """Trays = fed + sent + thrown away + sampled + growing + not known."""
    page = pages["batches"]
    (row,) = (one.split() for one in lines(page, "Trays and weights"))
    assert row[:9] == ["2", "8", "12", "3", "2", "1", "0", "0", "2"]


# feeding


def test_what_was_fed_from_a_hold_is_told(pages):
    """The mark on the line, and the incident that it opened."""
    page = pages["feeding"]
    assert "▲ on hold" in line(page, "GOATS", "T008")
    told = said(page, "Not as it should be")
    assert "to GOATS: on hold" in told
    assert "fed to GOATS all the same" in told


def test_who_ate_of_a_mouldy_batch_stays_flagged(pages):
    """Fed before the find: nobody broke a rule, and the flag stands for half a year."""
    told = said(pages["feeding"], "Not as it should be")
    assert "EWES ate 31 kg of" in told
    assert "The group stays flagged up to 10 September 2026" in told
    assert "Told: vet E. Ash" in told


def test_a_buyer_who_got_of_a_mouldy_batch_is_told(pages):
    """Whoever was supplied has to be told (178/2002 Article 20)."""
    page = pages["feeding"]
    assert "HOLLOW was sent 7 kg of" in said(page, "Not as it should be")
    assert "▲ Mould was found in what HOLLOW was sent." in page.summary
    assert "▲ mould found in the batch" in line(page, "HOLLOW", "as usual")


def test_what_was_sent_without_a_document_says_so(pages):
    """One step forward: the line names the paper, or that there is none."""
    assert "none" in line(pages["feeding"], "no document")


def test_a_complaint_stands_with_what_was_sent(pages):
    """Filed as a paper, it is told where an inspector looks for it."""
    assert "as usual" in said(pages["feeding"], "Complaints")


# mould


def test_a_find_is_told_to_its_end(pages):
    """Its holds, who ate, what was sampled, thrown away, who was told, the action."""
    told = said(pages["mould"], "Every find")
    for words in (
        "Held: batch", "Held: lot", "Fed 11 March", "Sent 11 March", "Sampled 12 March",
        "Thrown away 12 March", "Told: vet E. Ash", "Opened",
    ):  # fmt: skip
        assert words in told


def test_a_discard_names_its_route_and_its_witness(pages):
    """Destroyed, and that is shown (178/2002 Article 20)."""
    assert "burnt C. Dale" in lines(pages["mould"], "Thrown away")[0]


def test_sick_animals_are_told(pages):
    """How many, since when, with what signs."""
    told = said(pages["mould"], "fell ill")
    assert "2 of 20 GOATS ill, 0 dead, since 2026-03-13" in told


# actions


def test_open_actions_come_first_and_closed_ones_with_their_recheck(pages):
    """What went wrong, what was done, the recheck, the close."""
    page = pages["actions"]
    assert page.parts[0].title == "Still open when this was printed"
    waiting = said(page, "Still open")
    assert "Action: as usual" in waiting
    assert "Incident: mould in" in waiting
    (closed,) = lines(page, "Every action that is closed")
    assert "passed: as usual (AB)" in closed
    assert "✔ closed AB" in closed


def test_an_action_says_what_it_is_about(pages):
    """The entry in words, and its name."""
    assert "About mouse at as usual" in said(pages["actions"], "Still open")


def test_an_older_action_that_is_open_is_shown(plain: LogFarm):
    """A period in which nothing was opened still has what waits from before."""
    late = MARCH._replace(first=MARCH.last)
    found = REPORTS["actions"].page(gathered(plain, "actions", late))
    assert "open from earlier" in found.summary[0]
    assert "Incident: mould in" in said(found, "Still open")


# training


def test_a_training_that_is_over_says_so(pages):
    """By the end of the period."""
    assert "▲ over since 2026-03-20" in line(
        pages["training"], "CD C. Dale"[3:], "over"
    )
    assert "▲ Over: CD chemicals." in pages["training"].summary


def test_work_without_its_training_is_told(pages):
    """The sign-off, and the action that it opened."""
    told = said(pages["training"], "Done without the training")
    assert "sign off: floors done [untrained]" in told
    assert "Closed" in told


# calibration


def test_a_failed_check_is_told_and_the_kit_is_not_relied_on(pages):
    """The check, its action, and the kit's state at the end."""
    page = pages["calibration"]
    assert "Strips strip" in line(page, "▲ failed its check on 2026-03-24")
    assert "QS failed its check" in said(page, "Checks that failed")
    assert "1 passed, 1 failed." in page.summary[0]


# pests


def test_the_rounds_are_counted_and_days_of_silence_named(pages):
    """How often it was due, and on which days nothing is written."""
    page = pages["pests"]
    assert "Opening walk-round: due 30 times" in page.summary[-1]
    (part,) = (p for p in page.parts if p.title.endswith("nothing is written"))
    assert isinstance(part, log.Sentences)
    assert part.says[0].startswith("Opening walk-round: 2 Mar 2026, 3 Mar 2026")


def test_a_pest_with_an_action_says_what_became_of_it(pages):
    """Open until somebody closes it."""
    assert "▲ action open" in line(pages["pests"], "mouse")
    assert "mouse, as usual, 1 of them" in said(pages["pests"], "What was seen")


# visitors, accidents


def test_a_visitor_who_did_not_wash_is_told(pages):
    """NO on the line, the mark for ever, and the action."""
    page = pages["visitors"]
    assert "NO ? ? ▲ no wash" in line(page, "feed")
    assert "did not wash hands" in said(page, "Came in without")


def test_an_accident_is_told_with_its_incident(pages):
    """Who, what, with what, and what was done."""
    told = said(pages["visitors"], "Accidents")
    assert "▲ splash: CD, as usual" in told
    assert "With: hypo" in told
    assert "Opened" in told
