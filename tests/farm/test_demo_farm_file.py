from __future__ import annotations

import re
from pathlib import Path

import pytest

from hygiene.acts.set_up import read_files
from hygiene.farm.farm_file import SORTS, Wanted, read_farm
from hygiene.kinds import kind_class
from hygiene.kinds.base import shapes
from hygiene.kinds.checks import expand
from hygiene.kinds.setup import Line, Person, Tray
from hygiene.sanitising.lines import read_pipe
from hygiene.shipped import shipped
from hygiene.toml_file import read_toml

FARM = shipped("demo_farm") / "FARM.toml"


@pytest.fixture(scope="module")
def wanted() -> Wanted:
    return read_farm(read_toml(FARM).values)


def test_the_demo_farm_is_read_with_its_checklists() -> None:
    """The template that people copy is itself without a fault."""
    assert read_files(FARM).wanted.farm.name == "Ostrin Fold"


def test_the_template_shows_every_table(wanted: Wanted) -> None:
    """Whoever copies it sees each sort of thing once at least."""
    assert [sort for sort in SORTS if not wanted.things.get(sort)] == ["farm"]


@pytest.mark.parametrize("sort", SORTS)
def test_the_template_shows_every_field(sort: str) -> None:
    """Nothing that can be said in a farm file is left to be found out."""
    given = read_toml(FARM).values[sort]
    tables = [given] if sort == "farm" else given
    known = {shape.name for shape in shapes(kind_class(sort))}
    assert known - {key for table in tables for key in table} == set()


def test_all_five_contacts_stand_there(wanted: Wanted) -> None:
    """Vet, authority, laboratory, poison information, emergency."""
    assert {contact.role for contact in wanted.farm.contacts} == {
        "vet",
        "authority",
        "laboratory",
        "poison",
        "emergency",
    }


def test_somebody_is_trained_for_every_checklist() -> None:
    """No task of the demo farm asks for a training that nobody there ever had."""
    files = read_files(FARM)
    people = files.wanted.things["person"]
    had = {t.topic for p in people if isinstance(p, Person) for t in p.training}
    asked = {checklist.training for _, checklist in files.checklists} - {None}
    assert asked
    assert asked <= had


def test_there_are_120_trays(wanted: Wanted) -> None:
    """A dozen sown a day, each out for about nine days, leaves some to spare."""
    trays = [t for t in wanted.things["tray"] if isinstance(t, Tray)]
    codes = [code for tray in trays for code in expand(tray.code)]
    assert codes == [f"T{n:03d}" for n in range(1, 121)]


def test_every_telephone_number_is_set_aside_for_fiction() -> None:
    """01632 960000-960999 and 07700 900000-900999 (from memory: the regulator's list
    of numbers for drama)."""
    numbers = re.findall(r'telephone = "([^"]*)"', Path(FARM).read_text("utf-8"))
    assert len(numbers) >= 10
    odd = [n for n in numbers if not re.fullmatch(r"(01632 960|07700 900)\d{3}", n)]
    assert odd == []


def test_the_pipe_runs_hold_a_believable_volume(wanted: Wanted) -> None:
    """A mist line of fifty metres of small pipe holds tens of litres, not hundreds."""
    lines = [line for line in wanted.things["line"] if isinstance(line, Line)]
    volumes_l = [sum(read_pipe(r).volume_l for r in line.runs) for line in lines]
    assert all(5 < volume_l < 50 for volume_l in volumes_l)
