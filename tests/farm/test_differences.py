from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from farm_makers import SMALL, WALK, now, recorded, toml
from hypothesis import given
from hypothesis import strategies as st

from hygiene.farm.differences import Change, Field, differences, not_raised
from hygiene.farm.farm_file import read_checklist, read_farm
from hygiene.kinds.checklist import Checklist
from hygiene.kinds.entry import Entry


def changes(
    text: str, entries: list[Entry] | None = None, *lists: Checklist
) -> list[Change]:
    return differences(now(entries or []), read_farm(toml(text)), lists)


def said(found: list[Change]) -> list[tuple[str, str, str]]:
    return [(change.how, change.sort, change.code) for change in found]


def walk(old: str = "", new: str = "") -> Checklist:
    return read_checklist(toml(WALK.replace(old, new)))


FIRST = recorded(changes(SMALL, [], walk()))


def test_the_first_set_up_is_all_new() -> None:
    """Every thing of the file is written, the farm first, trays as their range."""
    assert said(changes(SMALL, [], walk())) == [
        ("new", "farm", ""),
        ("new", "person", "AB"),
        ("new", "room", "grow"),
        ("new", "rack", "R1"),
        ("new", "tray", "T001..T006"),
        ("new", "checklist", "walk"),
    ]


def test_the_same_file_again_changes_nothing() -> None:
    """Set-up can be run as often as one likes."""
    assert changes(SMALL, FIRST, walk()) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("0.25", "0.250"),
        ("levels = 4", "levels = 0x4"),
        ("[farm]", "[farm]\nprofile = 'local'\nactivities = []"),
        ('code = "T001..T006"', 'code = "T001..T003"\narea_m2 = 0.25\n[[tray]]\n'
         'code = "T004..T006"'),
    ],
    ids=["more digits", "another notation", "defaults said", "range cut in two"],
)  # fmt: skip
def test_what_means_the_same_is_no_change(old: str, new: str) -> None:
    """Another way of writing the same thing writes no entry."""
    assert changes(SMALL.replace(old, new), FIRST, walk()) == []


def test_a_changed_field_is_shown_with_what_it_was() -> None:
    """The whole body is written; only what differs is shown."""
    (change,) = changes(SMALL.replace("levels = 4", "levels = 5"), FIRST, walk())
    assert said([change]) == [("changed", "rack", "R1")]
    assert change.fields == (Field("levels", 4, 5),)
    assert change.writes.body() == {"code": "R1", "room": "grow", "levels": 5}


def test_a_field_no_longer_said_is_a_change() -> None:
    """Bodies are replaced whole, so what is left out is gone."""
    found = changes(SMALL.replace("area_m2 = 0.25", ""), FIRST, walk())
    assert [f.key for f in found[0].fields] == ["area_m2"]
    assert found[0].fields[0].now is None


def test_what_the_file_no_longer_names_is_retired() -> None:
    """Nothing is deleted; it is retired, after everything else."""
    text = SMALL.replace('code = "R1"', 'code = "R2"')
    found = changes(text, FIRST)
    assert said(found) == [
        ("new", "rack", "R2"),
        ("retired", "rack", "R1"),
        ("retired", "checklist", "walk"),
    ]
    assert found[1].writes.body() == {"sort": "rack", "code": "R1"}


def test_trays_that_change_alike_are_written_as_ranges() -> None:
    """Compared one by one, written as the longest runs of neighbours."""
    text = SMALL.replace(
        'code = "T001..T006"\narea_m2 = 0.25',
        'code = "T001..T002"\narea_m2 = 0.25\n'
        '[[tray]]\ncode = "T003..T004"\narea_m2 = 0.5\n'
        '[[tray]]\ncode = "T007..T009"\narea_m2 = 0.25',
    )
    found = changes(text, FIRST, walk())
    assert said(found) == [
        ("changed", "tray", "T003..T004"),
        ("new", "tray", "T007..T009"),
        ("retired", "tray", "T005..T006"),
    ]
    assert [len(change.codes) for change in found] == [2, 3, 2]


def test_trays_numbered_past_their_width_are_one_range() -> None:
    """T98, T99, T100 are neighbours, and the range reads back as those."""
    text = SMALL.replace("T001..T006", "T98..T100")
    (change,) = (c for c in changes(text) if c.sort == "tray")
    assert change.codes == ("T98", "T99", "T100")


def test_trays_with_odd_codes_stand_alone() -> None:
    """A code that no range can name is written by itself."""
    more = "".join(f"[[tray]]\ncode = 'A-0{n}'\n" for n in (1, 2))
    found = said(changes(SMALL + more, FIRST, walk()))
    assert found == [("new", "tray", "A-01"), ("new", "tray", "A-02")]


def test_the_approver_is_no_part_of_what_a_checklist_says() -> None:
    """The file names no approver, the adopted version does: that is no change."""
    adopted = [
        entry._replace(body={**entry.body, "approver": "AB"})
        if entry.kind == "checklist"
        else entry
        for entry in FIRST
    ]
    assert changes(SMALL, adopted, walk()) == []


def test_a_changed_checklist_must_raise_its_version() -> None:
    """A version that was adopted stands for what it said, for ever."""
    changed = walk("Smells sweet", "Smells sour")
    problem = not_raised(now(FIRST), [changed])["walk"]
    assert problem.key == ("version",)
    assert problem.what == (
        "version 1 was adopted and said otherwise (steps); raise it to 2"
    )


def test_a_checklist_with_a_higher_version_is_a_change() -> None:
    """Version 2 replaces version 1 from then on."""
    raised = walk("version = 1", "version = 2")
    assert not_raised(now(FIRST), [raised]) == {}
    (change,) = changes(SMALL, FIRST, raised)
    assert change.fields == (Field("version", 1, 2),)


def test_an_older_version_does_not_come_back() -> None:
    """Going back is a new version as well."""
    second = recorded(changes(SMALL, FIRST, walk("version = 1", "version = 2")), FIRST)
    assert "raise it to 3" in not_raised(now(second), [walk()])["walk"].what


def test_a_retired_checklist_keeps_its_version_number() -> None:
    """A task that comes back otherwise than it was needs the next number."""
    retired = recorded(changes(SMALL, FIRST), FIRST)
    assert not_raised(now(retired), [walk()]) == {}
    assert "walk" in not_raised(now(retired), [walk("sweet", "sour")])


def test_a_retired_thing_comes_back_as_new() -> None:
    """What was retired and is named again is in force again."""
    gone = recorded(changes(SMALL.replace("T001..T006", "T001..T005"), FIRST), FIRST)
    assert said(changes(SMALL, gone))[0] == ("new", "tray", "T006")


trays = st.dictionaries(
    st.sampled_from([f"T{n:02d}" for n in range(96, 104)] + ["A-1", "A-2", "x"]),
    st.sampled_from(["", "area_m2 = 0.5", "material = 'steel'"]),
)


def meant(body: Mapping[str, Any]) -> tuple[Any, Any]:
    return body.get("area_m2"), body.get("material")


@given(st.lists(trays, min_size=1, max_size=4))
def test_after_writing_the_file_stands_as_it_says(files: list[dict[str, str]]) -> None:
    """Whatever stood before: written, each tray is as the file says, and no more."""
    head = SMALL[: SMALL.index("[[tray]]")]
    entries: list[Entry] = []
    for wanted in files:
        text = head + "".join(f"[[tray]]\ncode='{c}'\n{b}\n" for c, b in wanted.items())
        entries = recorded(changes(text, entries), entries)
        standing = now(entries).trays()
        assert {code: meant(body) for code, body in standing.items()} == {
            code: meant(toml(text)) for code, text in wanted.items()
        }
        assert changes(text, entries) == []
