from __future__ import annotations

import re

from farm_of_reports import DAY, read
from markupsafe import escape

from hygiene.reports import month
from hygiene.reports.composing import Part, part, styles


def bound(scope: str, *rules: tuple[str, str]) -> Part:
    return Part(scope, rules, "", False)


def test_the_headings_of_a_body_are_one_deeper(busy_month):
    """They stand beneath the chapter's own; none is skipped."""
    made = part("month", month.page(busy_month), "months")
    assert set(re.findall(r"<(h\d)", made.body)) == {"h3"}
    assert made.body.count("<h3>") == made.body.count("</h3>")
    assert made.wide


def test_what_was_written_as_a_heading_is_no_heading(shed):
    """Only the template's own tags are changed: the text of a note is escaped."""
    page = month.page(read(shed, DAY))
    odd = '<h2>note</h2> id="x" {color:red} @page'
    page = page._replace(frame=page.frame._replace(farm=odd), idle=False)
    assert "<h3>note" not in part("month", page, "months").body
    assert str(escape(odd)) not in styles([part("month", page, "m")])


def test_a_rule_holds_within_its_part_alone():
    """Each of its names is led by the part's id; that of the page is the part."""
    made = styles([bound("dosing", ("html", "a: 1"), ("td, .x h2", "b: 2"))])
    assert made == "#dosing {a: 1}\n#dosing td, #dosing .x h3 {b: 2}"


def test_a_rule_of_two_parts_is_written_once():
    """The layout engine tries each rule on each element."""
    made = styles([bound("a", ("td", "x: 1")), bound("b", ("td", "x: 1"))])
    assert made == ":is(#a, #b) td {x: 1}"


def test_what_is_said_of_whole_pages_stays_behind(busy_month):
    """A body brings no paper of its own."""
    rules = dict(part("month", month.page(busy_month), "m").rules)
    assert "table.grid" in rules
    assert not [name for name in rules if "@" in name]
