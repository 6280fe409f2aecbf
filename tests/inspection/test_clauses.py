"""What the record must answer: published clauses by profile, and the farm's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from hygiene.acts.clauses import published, read_map
from hygiene.errors import WrongFile
from hygiene.inspection.clauses import IN_WORDS, PRACTICE
from hygiene.kinds.setup import PROFILES
from hygiene.reports.catalogue import REPORTS

GOOD = "".join(
    f'[[profile]]\ncode = "{code}"\nname = "n"\nsays = "s"\n' for code in PROFILES
)
CLAUSE = """
[[clause]]
code = "one"
clause = "Rule 1"
jurisdiction = "practice"
profiles = ["local"]
says = "It is so."
status = "MEMORY"
checked = "not looked up"
answered_by = ["sign_off"]
"""


def wrong(tmp_path: Path, text: str) -> str:
    path = tmp_path / "clauses.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(WrongFile) as failure:
        read_map(path)
    return str(failure.value)


def test_every_clause_says_how_it_was_checked() -> None:
    """No clause stands there without its standing and where it was read."""
    assert all(c.status in IN_WORDS and c.checked for c in published().clauses)


def test_every_clause_is_answered_by_something() -> None:
    """Each names kinds that there are, and reports that the program has."""
    for clause in published().clauses:
        assert clause.answered_by, clause.code
        assert set(clause.reports) <= REPORTS.keys(), clause.code


@pytest.mark.parametrize("profile", PROFILES)
def test_common_practice_counts_in_every_profile(profile: str) -> None:
    """What is no law stands in each profile, and says that it is none."""
    practices = {c.code for c in published().clauses if c.jurisdiction == PRACTICE}
    here = {c.code for c in published().of({"profile": profile})}
    assert practices <= here


def test_a_farm_in_great_britain_is_asked_for_its_assessments() -> None:
    """COSHH is British law, and stands in that profile alone."""
    of = {p: {c.code for c in published().of({"profile": p})} for p in PROFILES}
    assert [p for p in PROFILES if "assessment" in of[p]] == ["uk-primary"]


def test_the_farms_own_rule_takes_the_place_of_a_published_one() -> None:
    """Of two with one code the farm's stands, and says that it is the farm's."""
    own = {"code": "drill", "says": "Twice a year.", "clause": "Scheme rule 7"}
    found = published().of({"profile": "uk-primary", "clauses": [own]})
    (drill,) = [c for c in found if c.code == "drill"]
    assert (
        drill.clause,
        drill.says,
        drill.own,
    ) == ("Scheme rule 7", "Twice a year.", True)
    assert drill.answered_by == ("drill",)


def test_a_rule_that_only_the_farm_has_stands_at_the_end() -> None:
    """It is added to those of the profile."""
    own = {"code": "pet", "says": "No dogs in the shed.", "answered_by": ["visitor"]}
    *_, last = published().of({"profile": "local", "clauses": [own]})
    assert (
        last.code,
        last.clause,
        last.answered_by,
    ) == ("pet", "own rule", ("visitor",))


def test_a_farm_may_say_that_a_clause_does_not_apply() -> None:
    """It stays on the list, with the farm's reason."""
    own = {"code": "one-step-forward", "applies": False, "why": "we never sell"}
    found = published().of({"profile": "uk-primary", "clauses": [own]})
    (clause,) = [c for c in found if c.code == "one-step-forward"]
    assert (clause.applies, clause.why) == (False, "we never sell")


def test_an_unknown_profile_is_read_as_the_farms_own() -> None:
    """An odd set-up never raises."""
    assert published().of({"profile": 7}) == published().of({"profile": "local"})


def test_a_good_map_is_read(tmp_path: Path) -> None:
    """The text that the other tests spoil is right as it stands."""
    path = tmp_path / "clauses.toml"
    path.write_text(GOOD + CLAUSE, "utf-8")
    assert [c.code for c in read_map(path).clauses] == ["one"]


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('status = "MEMORY"', 'status = "HEARSAY"', "line 24, clause[1].status"),
        ('["sign_off"]', '["signoff"]', "line 26, clause[1].answered_by"),
        ('checked = "not looked up"\n', "", "clause[1].checked: is missing"),
        ("says =", "said =", "clause[1].said"),
        ('["local"]', '["mars"]', "line 22, clause[1].profiles"),
    ],
)
def test_what_is_wrong_is_told_with_line_and_key(
    tmp_path: Path, before: str, after: str, said: str
) -> None:
    """File, line and key, as with every file."""
    told = wrong(tmp_path, GOOD + CLAUSE.replace(before, after))
    assert told.startswith("clauses.toml line")
    assert said in told


def test_a_code_that_stands_twice_is_told(tmp_path: Path) -> None:
    """Findings name clauses by code, so there is one of each."""
    assert "'one' stands twice" in wrong(tmp_path, GOOD + CLAUSE + CLAUSE)
