"""What the codes on a label say: hazard statements and pictograms, in words.

The statements are those of Regulation (EC) 1272/2008 Annex III (physical and health
ones seen in the EU customs laboratories' copy, H340 and on and H4xx from memory) and
Annex II (the EUH ones, seen). A pictogram is told by its symbol's name in Annex V and
what it warns of in our own words; its drawing is not ours to make.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

_STATEMENTS: Final = """
H220 Extremely flammable gas
H221 Flammable gas
H222 Extremely flammable aerosol
H223 Flammable aerosol
H224 Extremely flammable liquid and vapour
H225 Highly flammable liquid and vapour
H226 Flammable liquid and vapour
H228 Flammable solid
H229 Pressurised container: may burst if heated
H240 Heating may cause an explosion
H241 Heating may cause a fire or explosion
H242 Heating may cause a fire
H250 Catches fire spontaneously if exposed to air
H251 Self-heating: may catch fire
H252 Self-heating in large quantities; may catch fire
H260 In contact with water releases flammable gases which may ignite spontaneously
H261 In contact with water releases flammable gases
H270 May cause or intensify fire; oxidiser
H271 May cause fire or explosion; strong oxidiser
H272 May intensify fire; oxidiser
H280 Contains gas under pressure; may explode if heated
H281 Contains refrigerated gas; may cause cryogenic burns or injury
H290 May be corrosive to metals
H300 Fatal if swallowed
H301 Toxic if swallowed
H302 Harmful if swallowed
H304 May be fatal if swallowed and enters airways
H310 Fatal in contact with skin
H311 Toxic in contact with skin
H312 Harmful in contact with skin
H314 Causes severe skin burns and eye damage
H315 Causes skin irritation
H317 May cause an allergic skin reaction
H318 Causes serious eye damage
H319 Causes serious eye irritation
H330 Fatal if inhaled
H331 Toxic if inhaled
H332 Harmful if inhaled
H334 May cause allergy or asthma symptoms or breathing difficulties if inhaled
H335 May cause respiratory irritation
H336 May cause drowsiness or dizziness
H340 May cause genetic defects
H341 Suspected of causing genetic defects
H350 May cause cancer
H351 Suspected of causing cancer
H360 May damage fertility or the unborn child
H361 Suspected of damaging fertility or the unborn child
H362 May cause harm to breast-fed children
H370 Causes damage to organs
H371 May cause damage to organs
H372 Causes damage to organs through prolonged or repeated exposure
H373 May cause damage to organs through prolonged or repeated exposure
H400 Very toxic to aquatic life
H410 Very toxic to aquatic life with long lasting effects
H411 Toxic to aquatic life with long lasting effects
H412 Harmful to aquatic life with long lasting effects
H413 May cause long lasting harmful effects to aquatic life
EUH014 Reacts violently with water
EUH029 Contact with water liberates toxic gas
EUH031 Contact with acids liberates toxic gas
EUH032 Contact with acids liberates very toxic gas
EUH044 Risk of explosion if heated under confinement
EUH066 Repeated exposure may cause skin dryness or cracking
EUH070 Toxic by eye contact
EUH071 Corrosive to the respiratory tract
EUH206 Do not use together with other products: may release dangerous gases (chlorine)
EUH208 Contains a substance that may produce an allergic reaction
EUH210 Safety data sheet available on request
EUH401 To avoid risks to people and the environment, follow the instructions for use
"""
STATEMENTS: Final = {
    code: says
    for code, _, says in (
        line.partition(" ") for line in _STATEMENTS.strip().splitlines()
    )
}
PICTOGRAMS: Final = {
    "GHS01": "exploding bomb: may explode",
    "GHS02": "flame: catches fire",
    "GHS03": "flame over circle: makes other things burn",
    "GHS04": "gas cylinder: gas under pressure",
    "GHS05": "corrosion: burns skin and eyes, eats metal",
    "GHS06": "skull and crossbones: a little of it can kill",
    "GHS07": "exclamation mark: irritates or harms",
    "GHS08": "health hazard: harms organs, lungs or children to come, or causes cancer",
    "GHS09": "environment: kills fish and other life in water",
}
UNKNOWN: Final = "not a code that this program knows: read the label"
_CODE: Final = re.compile(r"((?:EU)?H\d{3}|GHS\d{2})[A-Z]{0,2}")


def meanings(codes: Iterable[str]) -> list[tuple[str, str]]:
    """Each code with what it says; ``H302+H312`` is read as both, ``H360D`` as H360."""
    return [(code, _meaning(code)) for code in codes]


def _meaning(code: str) -> str:
    said = [_of_one(part.strip().upper()) for part in code.split("+")]
    return "; ".join(said) if all(said) else UNKNOWN


def _of_one(code: str) -> str:
    """What one code says, its last letters left aside; empty where it is none."""
    found = _CODE.fullmatch(code)
    return (STATEMENTS | PICTOGRAMS).get(found[1], "") if found else ""
