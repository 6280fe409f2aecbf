"""The README's queries, run with sqlite3 alone on the demonstration's record."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from pathlib import Path

import pytest
from parts_of_a_year import Part, Shown

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
SECTION = README.partition("## Old records, and other tools")[2].partition("\n## ")[0]
QUERIES = re.findall(r"```sql\n(.*?)```", SECTION, re.S)


def asked(shown: Shown, query: str) -> list[tuple[object, ...]]:
    uri = f"{shown.record.resolve().as_uri()}?mode=ro"
    with sqlite3.connect(uri, uri=True) as db:
        return db.execute(query).fetchall()


def test_there_are_five() -> None:
    """Each answers a question that a vet, an adviser or an office asks."""
    assert len(QUERIES) == 5


@pytest.mark.parametrize("number", range(5))
def test_each_query_finds_what_the_demonstration_planted(shown: Shown, number: int):
    """No query is empty on a farm that had a bad batch and a bad sample."""
    assert asked(shown, QUERIES[number])


def test_the_feed_adds_up_as_the_program_reads_it(shown: Shown, recent: Part):
    """Kilograms by group: the view and the entries say the same."""
    fed: Counter[str] = Counter()
    for entry in recent.record.entries(["feed"]):
        fed[entry.get("animals")] += entry.get("grams")
    told: Counter[str] = Counter()
    for animals, _, kg in asked(shown, QUERIES[0]):
        told[animals] += round(kg * 1000)
    assert told == fed


def test_the_worst_lots_are_those_of_the_bad_batch(shown: Shown, recent: Part):
    """The two lots of the batch that grew mould stand first."""
    rows = asked(shown, QUERIES[1])
    assert [row[3] > 0 for row in rows][:2] == [True, True]
    assert rows[0][3] / rows[0][2] >= rows[-1][3] / rows[-1][2]
