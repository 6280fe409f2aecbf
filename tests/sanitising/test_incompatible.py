"""What must not meet: the pairs, both ways round, by the names of the shed."""

from __future__ import annotations

from itertools import combinations_with_replacement

import pytest

from hygiene.sanitising.incompatible import meetings, meetings_among, meets
from hygiene.sanitising.substances import UnknownSubstance, names

PAIRS = [
    ("bleach", "vinegar", "chlorine gas"),
    ("bleach", "acid descaler", "chlorine gas"),
    ("sodium hypochlorite", "peracetic acid", "chlorine gas"),
    ("bleach", "ammonia", "chloramine"),
    ("bleach", "urine", "chloramine"),
    ("bleach", "cow slurry", "chloramine"),
    ("bleach", "amine cleaner", "chloramine"),
    ("bleach", "hydrogen peroxide", "oxygen"),
    ("bleach", "quat", "fumes"),
    ("bleach", "isopropyl alcohol", "vapour"),
    ("hydrogen peroxide", "vinegar", "peracetic acid"),
    ("iodophor", "chlorinated alkaline detergent", "chlorine gas"),
    ("chlorinated alkaline detergent", "milkstone remover", "chlorine gas"),
    ("teat dip", "bleach", "chlorine gas"),
    ("sodium thiosulfate", "bleach", "heat"),
    ("sodium bisulfite", "bleach", "heat"),
    ("ascorbic acid", "bleach", "chlorine gas"),
    ("sodium metabisulphite", "citric acid", "sulfur dioxide"),
    ("sodium chlorite", "citric acid", "chlorine dioxide"),
    ("sodium chlorite", "bleach", "chlorine dioxide"),
    ("peracetic acid", "unvented can", "bursts"),
    ("hydrogen peroxide", "sealed bottle", "bursts"),
    ("bleach", "aluminium tray", "eaten"),
    ("bleach", "brass fitting", "eaten"),
    ("bleach", "galvanised trough", "eaten"),
    ("acid sanitiser", "manure channel", "hydrogen sulfide"),
    ("peracetic acid", "slurry", "hydrogen sulfide"),
    ("calcium hypochlorite", "NaDCC", "fire"),
    ("calcium hypochlorite", "trichlor", "fire"),
    ("calcium hypochlorite", "diesel", "fire"),
    ("NaDCC", "hydraulic oil", "fire"),
    ("calcium hypochlorite", "fertiliser", "fire"),
    ("NaDCC", "damp straw", "fire"),
    ("quat", "washing-up liquid", "spent"),
    ("caustic soda", "aluminium", "hydrogen"),
    ("NaDCC", "limescale remover", "chlorine gas"),
    ("toilet cleaner", "bleach", "chlorine gas"),
]


@pytest.mark.parametrize(("one", "other", "forms"), PAIRS)
def test_the_pair_must_not_meet_either_way_round(one, other, forms):
    """Each known pair is found, whichever is named first, with what forms."""
    for found in (meets(one, other), meets(other, one)):
        assert found is not None
        assert forms in found.forms
        assert found.where
        assert found.instead


def test_a_danger_is_told_apart_from_a_spoilt_product():
    """Gas hurts people; a spent quat only fails."""
    assert meets("bleach", "vinegar").dangerous
    assert not meets("quat", "soap").dangerous


def test_the_gravest_of_several_comes_first():
    """Peracetic acid on bleach gives chlorine gas before it gives heat."""
    assert "chlorine gas" in meetings("bleach", "peracetic acid")[0].forms


def test_no_rule_is_not_a_leave_and_not_an_error():
    """Two things of which no rule speaks give None."""
    assert meets("bleach", "water") is None


def test_one_product_may_stand_beside_itself():
    """Two cans of the same thing are no meeting."""
    for name in names():
        assert meets(name, name) is None


def test_an_unknown_name_is_never_read_as_harmless():
    """A name that the table lacks is refused, with exit code 4."""
    with pytest.raises(UnknownSubstance) as refused:
        meets("bleach", "wibble")
    assert refused.value.exit_code == 4


def test_the_lookup_is_symmetric_for_every_pair():
    """What forms does not depend on which is named first."""
    for one, other in combinations_with_replacement(names(), 2):
        ahead = [found.forms for found in meetings(one, other)]
        assert ahead == [found.forms for found in meetings(other, one)]


def test_every_source_is_named_or_owned_as_memory():
    """A rule says whether it was seen or stands from memory."""
    for one, other in combinations_with_replacement(names(), 2):
        for found in meetings(one, other):
            assert "seen" in found.source


def test_among_three_each_pair_is_looked_at():
    """Bleach, acid and slurry: three pairs, three meetings."""
    assert len(meetings_among("bleach", "descaler", "slurry")) == 3
