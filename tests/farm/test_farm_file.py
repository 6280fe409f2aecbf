from __future__ import annotations

import copy
from typing import Any

import pytest
from farm_makers import SMALL, WALK, toml
from hypothesis import given
from hypothesis import strategies as st

from hygiene.farm.farm_file import SORTS, read_checklist, read_farm
from hygiene.kinds.base import Unfit
from hygiene.kinds.setup import Rack, Tray
from hygiene.toml_file import shown

PRODUCT = """
[[product]]
code = "hypo"
name = "Hypo"
solid = {solid}
[[product.actives]]
name = "{active}"
strength = "{strength}"
{density}
"""


def told(text: str) -> list[str]:
    """Every problem of a farm file, as a person reads it."""
    with pytest.raises(Unfit) as unfit:
        read_farm(toml(text))
    return [f"{shown(p.key)}: {p.what}" for p in unfit.value.problems]


def told_of_checklist(text: str) -> list[str]:
    with pytest.raises(Unfit) as unfit:
        read_checklist(toml(text))
    return [f"{shown(p.key)}: {p.what}" for p in unfit.value.problems]


def test_a_good_file_becomes_things_of_the_set_up() -> None:
    """Every table becomes the kind of its name."""
    wanted = read_farm(toml(SMALL))
    assert wanted.farm.name == "Fold"
    assert wanted.things["rack"] == (Rack(code="R1", room="grow", levels=4),)
    assert [tray.code for tray in wanted.things["tray"] if isinstance(tray, Tray)] == [
        "T001..T006"
    ]


def test_all_problems_are_told_at_once() -> None:
    """One run of the command shows everything that is to be mended."""
    text = SMALL.replace('address = "Lane"', "").replace("levels = 4", "levels = 99")
    text = text.replace('name = "A B"', 'nam = "A B"')
    assert told(text) == [
        "farm.address: is missing",
        "person[1].nam: there is no such key here; did you mean 'name'?",
        "person[1].name: is missing",
        "rack[1].levels: 99 cannot be: it lies from 1 to 40 levels",
    ]


@pytest.mark.parametrize(
    ("added", "problem"),
    [
        ("[[racks]]\ncode = 'R9'", "racks: there is no such table in a farm file; did"),
        ("[tank]\ncode = 'K'", "tank: stands in double brackets, once for each"),
        ("[[rack]]\ncode='R2'\nroom='gro'", "rack[2].room: there is no room 'gro' in"),
        (
            "[[rack]]\ncode='R2'\nroom='grow'\nline='L1'",
            "rack[2].line: there is no line 'L1'",
        ),
        (
            "[[line]]\ncode='L1'\nname='L'\ntank='K1'",
            "line[1].tank: there is no tank 'K1'",
        ),
        (
            "[[line]]\ncode='L1'\nname='L'\nroom='wash'",
            "line[1].room: there is no room 'wash'",
        ),
        (
            "[[point]]\ncode='P1'\nname='P'\nline='L1'",
            "point[1].line: there is no line 'L1'",
        ),
        (
            "[[rack]]\ncode='r1'\nroom='grow'",
            "rack[2].code: there is a rack 'R1' already",
        ),
        (
            "[[tray]]\ncode='T006..T010'",
            "tray[2].code: T006 is in 'T001..T006' already",
        ),
        ("[[tray]]\ncode='t003'", "tray[2].code: t003 is in 'T001..T006' already"),
        ("[[tray]]\ncode='T9..T1'", "tray[2].code: the range 'T9..T1' runs"),
        ("[[tray]]\ncode='A-01..A-09'", "tray[2].code: 'A-01..A-09' is no range"),
        (
            "[[animals]]\ncode='E'\nname='E'\nspecies='sheep'\nhead=2\n"
            "members=['7', '8', '7']",
            "animals[1].members[3]: '7' is in 'E' already",
        ),
        (
            "[[line]]\ncode='L1'\nname='L'\nruns=['40m']",
            "line[1].runs[1]: ",
        ),
    ],
)
def test_a_file_that_does_not_hang_together_is_refused(
    added: str, problem: str
) -> None:
    """What a table names must stand in the file, and no code may stand twice."""
    found = told(f"{SMALL}\n{added}")
    assert len(found) == 1
    assert found[0].startswith(problem)


def test_a_wrong_room_does_not_hide_behind_a_broken_one() -> None:
    """A room with a fault of its own is still a room: its racks are not told too."""
    text = SMALL.replace('name = "Growing room"', "name = 7")
    assert told(text) == ["room[1].name: text in quotes is wanted here, not 7"]


def test_a_table_that_is_no_table_is_told_once() -> None:
    """A list of words where tables belong is one problem each, and no crash."""
    head, _, _ = SMALL.partition("[[room]]")
    assert told("product = ['hypo']\nline = [7]\nanimals = [[]]\n" + head) == [
        "line[1]: a table of keys is wanted here",
        "product[1]: a table of keys is wanted here",
        "animals[1]: a table of keys is wanted here",
    ]


def test_more_trays_than_any_shed_has_are_refused() -> None:
    """A slip in a range is told: 6 trays and five ranges of 9,999 pass 50,000."""
    more = "".join(f"[[tray]]\ncode = '{head}0001..{head}9999'\n" for head in "ABCDEFG")
    assert told(SMALL + more) == ["tray[6].code: is more than 50000 trays in all"]


@pytest.mark.parametrize("zone", ["Europe/Lundun", "Mars", "Europe", "../zone", "/etc"])
def test_the_time_zone_must_be_known(zone: str) -> None:
    """A zone that the zone database lacks would put every due time wrong."""
    (problem,) = told(SMALL.replace("Europe/London", zone))
    assert problem.startswith(f"farm.time_zone: there is no time zone {zone!r}")


def test_somebody_must_be_a_manager() -> None:
    """Somebody must be there who may approve a checklist."""
    (problem,) = told(SMALL.replace('["manager", "worker"]', '["worker"]'))
    assert problem.startswith("person: nobody is a manager")


def test_a_role_is_one_of_those_known() -> None:
    """A role out of the air would let nobody sign."""
    (problem,) = told(SMALL.replace('"worker"]', '"boss"]'))
    assert problem.startswith("person[1].roles: 'boss' is not one of manager,")


@pytest.mark.parametrize(
    ("seasons", "problem"),
    [
        (
            "[[farm.season]]\nfirst = 2024-10-01\n[[farm.season]]\nfirst = 2025-10-01",
            "farm.season[1]: has no last day, yet another follows it",
        ),
        (
            "[[farm.season]]\nfirst = 2024-10-01\nlast = 2025-04-01\n"
            "[[farm.season]]\nfirst = 2025-04-01",
            "farm.season[2].first: lies within the stretch before it",
        ),
    ],
)
def test_seasons_follow_each_other(seasons: str, problem: str) -> None:
    """The shed runs in one stretch after another, never in two at once."""
    assert told(f"{SMALL}\n{seasons}") == [problem]


@pytest.mark.parametrize(
    ("active", "strength", "solid", "density", "problem"),
    [
        ("chlorine", "12.5 %", "false", "", "12.5 %"),
        ("sodium hydroxide", "12.5 %", "false", "", "12.5 %"),
        ("chlorine", "10.8 % w/w", "false", "", "is by weight: add density_kg_per_l"),
        ("phosphoric acid", "strong", "false", "", "'strong'"),
    ],
)
def test_a_strength_says_its_basis(
    active: str, strength: str, solid: str, density: str, problem: str
) -> None:
    """A bare percentage could mean three things that differ by up to a fifth."""
    text = PRODUCT.format(
        active=active, strength=strength, solid=solid, density=density
    )
    (found,) = told(SMALL + text)
    assert found.startswith("product[1].actives[1].strength: ")
    assert problem in found


@pytest.mark.parametrize(
    ("active", "strength", "solid", "density"),
    [
        ("chlorine", "125 g/L", "false", ""),
        ("chlorine", "10.8 % w/w", "false", "density_kg_per_l = 1.16"),
        ("chlorine", "65 % w/w", "true", ""),
        ("peracetic acid", "5 % w/w", "false", "density_kg_per_l = 1.1"),
        ("phosphoric acid", "30 % w/w", "false", "density_kg_per_l = 1.2"),
    ],
)
def test_a_strength_with_its_basis_is_taken(
    active: str, strength: str, solid: str, density: str
) -> None:
    """By volume, by weight with the density, or a solid."""
    text = PRODUCT.format(
        active=active, strength=strength, solid=solid, density=density
    )
    assert read_farm(toml(SMALL + text)).things["product"]


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ('"Lane"', '"Lane\\nTown"', "farm.address: stands on one line"),
        ('"Lane"', '"Lane\\u2028Town"', "farm.address: stands on one line"),
        ('"Lane"', "true", "farm.address: text in quotes is wanted here, not True"),
        ("0.25", "1e-300", "tray[1].area_m2: is too long a number"),
        ("0.25", "0." + "1" * 40, "tray[1].area_m2: is too long a number"),
        ("0.25", "nan", "tray[1].area_m2: a number is wanted here"),
        ("levels = 4", "levels = 4.0", "rack[1].levels: a whole number is wanted"),
    ],
)
def test_what_no_line_of_the_record_holds_is_told_with_its_key(
    old: str, new: str, problem: str
) -> None:
    """Refused here, at its key, and not later when the entry is written."""
    assert told(SMALL.replace(old, new))[0].startswith(problem)


def test_a_thing_too_long_for_its_line_is_told() -> None:
    """An entry is one line of 64 KiB at most."""
    topics = ",".join(
        f"{{topic = '{'x' * 900}', had_on = 2025-01-01}}" for _ in range(80)
    )
    text = SMALL.replace('name = "A B"', f'name = "A B"\ntraining = [{topics}]')
    (problem,) = told(text)
    assert problem.startswith("person[1]: too long to write")


def test_text_is_kept_in_one_form_of_its_letters() -> None:
    """An accent typed as a letter of its own is no change on the next run."""
    wanted = read_farm(toml(SMALL.replace("Fold", "Fole\u0301")))
    assert wanted.farm.name == "Fol\u00e9"


@pytest.mark.parametrize("text", ["", "farm = 7", "[[farm]]\nname = 'x'", "person = 7"])
def test_a_file_without_a_farm_is_told_plainly(text: str) -> None:
    """Whatever stands instead of [farm] and [[person]] is told, never a crash."""
    found = told(text)
    assert any(problem.startswith("farm: ") for problem in found)
    assert any(problem.startswith("person: ") for problem in found)


def test_a_good_checklist_is_read() -> None:
    """A checklist is the fields of its kind, and nothing else."""
    assert read_checklist(toml(WALK)).steps[0].code == "smell"


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ("FREQ=DAILY", "FREQ=HOURLY", "rule: FREQ is one of"),
        ("version = 1", "version = 1\napprover = 'AB'", "approver: leave this out"),
        ('"smell"', "\"smell\"\nsort = 'entry'\nwrites = 'mold'", "steps[1].writes: "),
        ("version = 1", "version = 1\nat = ['7']", "at: '7' is not a time"),
        ("version = 1", "version = 1\ngrace = 'soon'", "grace: 'soon' is none"),
        ("[[steps]]", "[[step]]", "step: there is no such key here; did you mean"),
    ],
)
def test_a_checklist_that_could_not_be_followed_is_refused(
    old: str, new: str, problem: str
) -> None:
    """A rule that never comes round, a kind that is not there, an odd time."""
    assert told_of_checklist(WALK.replace(old, new))[0].startswith(problem)


odd_values = st.sampled_from(
    [None, True, -1, "", "a\tb", "T1..T9", "12.5 %", [], [7], ["x"], {}, [{}], [[]]]
)
STRAIGHT_KEYS = ["code", "name", "room", "line", "tank", "address", "rule", "grace"]
LIST_KEYS = ["roles", "training", "runs", "actives", "season", "contacts", "steps"]
odd_keys = st.sampled_from([*STRAIGHT_KEYS, *LIST_KEYS, "time_zone"])


@given(
    st.lists(st.tuples(st.sampled_from(SORTS), odd_keys, odd_values), max_size=4),
    st.dictionaries(st.sampled_from([*SORTS, "x"]), odd_values, max_size=2),
)
def test_no_values_make_the_reader_crash(
    put: list[tuple[str, str, Any]], tables: dict[str, Any]
) -> None:
    """Whatever plain values a file holds, the answer is a farm or its problems."""
    values = copy.deepcopy(toml(SMALL))
    for sort, key, value in put:
        rows = [values["farm"]] if sort == "farm" else values.setdefault(sort, [{}])
        rows[-1][key] = value
    values |= tables
    try:
        found = list(read_farm(values).things)
    except Unfit as unfit:
        found = [problem.what for problem in unfit.problems]
    assert found


@given(st.dictionaries(odd_keys | st.just("at"), odd_values, max_size=3))
def test_no_values_make_the_checklist_reader_crash(put: dict[str, Any]) -> None:
    """The same for a checklist."""
    try:
        code = read_checklist(toml(WALK) | put).code
    except Unfit as unfit:
        code = "walk" if unfit.problems else ""
    assert code


def test_water_limits_and_kits_name_what_there_is() -> None:
    """A parameter or a point that is not there is told with the nearest."""
    text = SMALL.replace(
        'time_zone = "Europe/London"',
        """time_zone = "Europe/London"
[[farm.water_limits]]
parameter = "colifroms"
at_most = 10
at_points = ["P1"]""",
    )
    kit = """
[[kit]]
code = "K1"
name = "Strips"
sort = "strip"
reads = ["free", "pH"]
"""
    assert told(text + kit) == [
        "farm.water_limits[1].parameter: there is no water parameter 'colifroms'; did "
        "you mean 'coliforms'?",
        "farm.water_limits[1].at_points[1]: there is no point 'P1' in this file",
        "kit[1].reads[2]: there is no water parameter 'pH'; did you mean 'ph'?",
    ]


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ('parameter = "ph"', "say at_most, at_least or both"),
        ('parameter = "ph"\nat_least = 9\nat_most = 6', "is below at_least"),
    ],
)
def test_a_limit_of_the_farm_bounds_something(row: str, what: str) -> None:
    """And its ends are in order."""
    text = SMALL.replace(
        'time_zone = "Europe/London"',
        f'time_zone = "Europe/London"\n[[farm.water_limits]]\n{row}',
    )
    (problem,) = told(text)
    assert what in problem
