from __future__ import annotations

import os
import re
import sys

import pytest
from farm_of_reports import DAY, WALK, Shed, at, read, walked

from hygiene.errors import ReportFailed
from hygiene.kinds.day import Countersign
from hygiene.kinds.setup import Person
from hygiene.reports import day, month, paper


def day_html(shed) -> str:
    return paper.html("day", day.page(read(shed, now=at("2026-03-25", "21:00"))))


def said(html: str) -> str:
    """The words of a page without its markup."""
    return " ".join(re.sub(r"<style.*?</style>|<[^>]*>", " ", html, flags=re.S).split())


def test_the_day_in_words(busy_day):
    """The page says whose it is, of when, what was done and by whom."""
    words = said(paper.html("day", day.page(busy_day)))
    for piece in (
        "The day's record Wednesday 25 March 2026",
        "Thistledrift Farm Lane End, Thistledrift · Holding 00/000/0000",
        "07:00 Opening walk-round 07:10 AB CD ▲ out of limit",
        "1 of 1 step ticked · Growing room · list walk, version 1",
        "Room temperature (16 to 22 °C) : ▲ 24.5 °C",
        "15:00 Tray wash – CD ✖ not done Why: no hot water",
        "Rechecked 08:40, CD: passed: cooled down (20.5 °C)",
        "Still open when this was printed.",
        "Who signs: AB Ada Brook, manager · CD Colm Dale, worker",
        "Read by (name) Signature Date",
    ):
        assert piece in words.replace("&#39;", "'")


def test_the_old_value_is_ruled_through_beside_the_new(busy_day):
    """A correction shows what it replaced."""
    html = paper.html("day", day.page(busy_day))
    assert "<p>time: <s>07:12</s> <ins>07:10</ins></p>" in html


def test_the_month_in_words(busy_month):
    """The grid's rows, its exceptions and its key stand on the page."""
    words = said(paper.html("month", month.page(busy_month)))
    for piece in (
        "March 2026 1 to 31 March 2026, both days included",
        "Second look at the day",
        "□ nothing written",
        "Tray wash Nothing was written on 7, 14 and 21 March.",
        "Finds and holds",
    ):
        assert piece in words


def test_the_seal_tells_what_the_page_was_made_from(busy_day):
    """Entries, the whole head and the moment of printing stand at the end."""
    page = day.page(busy_day)
    words = said(paper.html("day", page))
    (head,) = page.frame.heads
    assert "A record of 91 entries, read on 25 March 2026, 21:00" in words
    assert f"Head of {head.entry}: {' '.join(head.groups)}" in words
    assert head.whole == f"{head.entry}:{''.join(head.groups)}"


def test_a_demonstration_says_so_first(busy_day, shed):
    """The words stand on the page of a demonstration, and on no other."""
    demonstration = paper.html("day", day.page(busy_day))
    assert "Demonstration record: the farm, the people" in demonstration
    assert "emonstration" not in day_html(shed)


def test_an_empty_day_says_so(tmp_path):
    """A day of which there is nothing to tell has a page that says that."""
    shed = Shed(tmp_path)
    shed.set_up()
    words = said(day_html(shed))
    assert "No task was due on this day, and nothing was written." in words


def test_an_empty_month_says_so(tmp_path):
    """A month of which there is nothing to tell has a page that says that."""
    shed = Shed(tmp_path)
    shed.set_up()
    words = said(paper.html("month", month.page(read(shed))))
    assert "No task was due in this time, and nothing was written." in words


def test_markup_in_a_name_is_only_text(shed):
    """What a person types is escaped, wherever it stands."""
    shed.write(
        walked(at("2026-03-25"), note="<script>x</script> {{ 7*7 }}"),
        at("2026-03-25"),
        reason="</style><img src=file:///etc/passwd>",
    )
    shed.write(Person(code="AB", name="<b>A</b> & B"), at("2026-03-02"))
    html = day_html(shed)
    assert "&lt;script&gt;x&lt;/script&gt; {{ 7*7 }}" in html
    assert "&lt;b&gt;A&lt;/b&gt; &amp; B" in html
    assert "<script" not in html
    assert "<img" not in html


def test_a_page_holds_no_address_but_its_own_drawings(busy_day, busy_month):
    """Nothing is there that a browser or the engine could fetch."""
    for name, made in (("day", day.page(busy_day)), ("month", month.page(busy_month))):
        html = paper.html(name, made)
        assert re.findall(r"url\(\"(?!data:image/svg\+xml;base64,)", html) == []
        assert re.findall(r"(?:src|href)=", html) == []


def test_turns_of_direction_stay_in_their_cell():
    """A character that turns all that follows is shown as what cannot be shown."""
    assert paper.tamed("pump\u202e evil") == "pump\ufffd evil"


def test_text_from_right_to_left_is_set_apart():
    """The figures beside a name written from right to left keep their order."""
    assert paper.tamed("ניקוי 07:00") == "\u2068ניקוי 07:00\u2069"


def test_a_cell_from_right_to_left_leaves_the_next_cell_alone():
    """In a line of a log each cell is set apart by itself."""
    line = "07:00  ניקוי  דלת 2  AB"
    apart = "07:00  \u2068ניקוי\u2069  \u2068דלת 2\u2069  AB"
    assert paper.tamed(line) == apart


def test_control_characters_are_shown_as_such():
    """An odd record may hold them; a page does not pass them on."""
    assert paper.tamed("a\x00b\x1bc") == "a\ufffdb\ufffdc"


def test_a_very_long_word_may_be_broken():
    """Ten thousand letters without a space do not keep the engine for a minute."""
    made = paper.tamed("A" * 100)
    assert made.replace("\u200b", "") == "A" * 100
    assert max(map(len, made.split("\u200b"))) == 40


def test_plain_text_is_left_alone():
    """Letters of every other language pass as they were typed."""
    assert paper.tamed("Ångström, Łódź, ελιά, чисто") == "Ångström, Łódź, ελιά, чисто"


def test_a_missing_value_is_a_fault_of_ours():
    """A template that names what a page does not have fails, and prints no gap."""
    import jinja2

    with pytest.raises(jinja2.UndefinedError):
        paper.html("day", object())


def test_the_file_is_replaced_in_one_step(tmp_path):
    """A report that is made again takes the place of the one before."""
    path = tmp_path / "day.pdf"
    path.write_bytes(b"old")
    paper.put(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_not_there_is_said(tmp_path):
    """Where the file cannot be written, exit 9 and what to do."""
    with pytest.raises(ReportFailed, match="cannot be written") as failure:
        paper.put(tmp_path / "nowhere" / "day.pdf", b"x")
    assert failure.value.exit_code == 9
    assert failure.value.way_out == "give another place with --out FILE"


def test_nothing_is_left_where_it_could_not_be_put(tmp_path):
    """A target that cannot be replaced leaves no half file beside it."""
    path = tmp_path / "day.pdf"
    (path / "in the way").mkdir(parents=True)
    with pytest.raises(ReportFailed):
        paper.put(path, b"x")
    assert [p.name for p in tmp_path.iterdir()] == ["day.pdf"]


def test_without_the_engine_it_says_what_to_install(tmp_path, monkeypatch):
    """A machine without Pango gets one sentence and the way out, never a traceback."""
    (tmp_path / "weasyprint.py").write_text(
        "raise OSError(\"cannot load library 'libpango-1.0-0'\")"
    )
    monkeypatch.syspath_prepend(str(tmp_path))
    for name in [n for n in sys.modules if n.split(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.delitem(sys.modules, "hygiene.reports.press", raising=False)
    monkeypatch.delattr("hygiene.reports.press", raising=False)
    with pytest.raises(ReportFailed, match="libpango") as failure:
        paper.pdf("<p>x</p>", at("2026-03-25"))
    assert "--html" in str(failure.value.way_out)
    assert failure.value.exit_code == 9


def test_nothing_heavy_is_loaded_before_it_is_needed():
    """Reading and telling load neither the layout engine nor the templates' one."""
    code = (
        "import sys; from hygiene.reports import day, month, paper, reading;"
        "sys.exit(bool({'weasyprint', 'jinja2', 'pydyf'} & set(sys.modules)))"
    )
    assert os.spawnv(os.P_WAIT, sys.executable, [sys.executable, "-c", code]) == 0


def test_every_version_of_a_task_is_told_by_its_own_list(shed):
    """A past day is told with the checklist that was in force then."""
    from dataclasses import replace

    shed.write(walked(at("2026-03-25")), at("2026-03-25"))
    shed.write(replace(WALK, version=2, title="Newer walk"), at("2026-06-01"))
    html = paper.html("day", day.page(read(shed, DAY, now=at("2026-06-02"))))
    assert "Opening walk-round" in html
    assert "Newer walk" not in html


def test_a_note_of_a_look_is_told(shed):
    """What the second person saw stands with their look."""
    entry = shed.write(walked(at("2026-03-25")), at("2026-03-25"))
    shed.write(
        Countersign(entries=(entry.name,), day="2026-03-25", note="floor was dry"),
        at("2026-03-25", "18:00"),
        "CD",
    )
    assert "by CD, 18:00: floor was dry." in said(day_html(shed))
