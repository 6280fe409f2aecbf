"""What a plain name in the shed stands for, chemically.

``known("thick bleach")`` gives its traits: what it does when it meets something else.
Names are trade words, actives as a label writes them, everyday cleaners, our own
neutralisers, metals and slurry. A name that may be one of several things gets the
traits of all of them. Nothing here says that two things may be mixed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from hygiene.errors import Unknown


class UnknownSubstance(Unknown):
    """A name that the table of substances does not hold; never read as harmless."""

    sentence = "{given!r} is not on the table of substances"


@dataclass(frozen=True, slots=True)
class Substance:
    """One substance, or a product that holds several: its name and its traits."""

    name: str
    traits: frozenset[str]


_TABLE: Final = """
bleach | chlorine liquid-chlorine | sodium hypochlorite; hypochlorite; naocl; hypo; \
chlorine bleach; household bleach; thick bleach; chlorine; free chlorine; \
available chlorine; chlorinated water; potassium hypochlorite; mould remover; \
mold remover
chlorinated alkaline detergent | chlorine liquid-chlorine alkali | \
chlorinated detergent; chlorinated cleaner; chlorinated alkaline cleaner; \
alkaline chlorinated detergent; chlorinated foam; circulation cleaner; \
chlorinated caustic; chlorinated caustic detergent; dairy hypochlorite
hypochlorous acid | chlorine | hocl; electrolysed water; electrolyzed water
calcium hypochlorite | chlorine dry-chlorine dry-hypochlorite | cal hypo; \
bleaching powder; chlorinated lime; chloride of lime
pool chlorine | chlorine dry-chlorine dry-hypochlorite isocyanurate | \
chlorine tablet; chlorine tablets; chlorine granules
NaDCC | chlorine dry-chlorine isocyanurate | sodium dichloroisocyanurate; \
sodium dichloroisocyanurate dihydrate; troclosene; troclosene sodium; dichlor; \
trichlor; trichloroisocyanuric acid; symclosene; \
dichloroisocyanurate; isocyanurate
chlorine dioxide | chlorine-dioxide | clo2; chlorine dioxide solution
sodium chlorite | chlorite | chlorite; naclo2; stabilised chlorine dioxide; \
stabilized chlorine dioxide; chlorine dioxide base; chlorine dioxide part a
chlorine dioxide activator | acid | activator; chlorine dioxide part b
acid | acid | acid cleaner; acid detergent; acid sanitiser; acid sanitizer; \
acid rinse; descaler; acid descaler; limescale remover; lime scale remover; \
scale remover; milkstone remover; milk stone remover; phosphoric acid; \
nitric acid; citric acid; \
lactic acid; formic acid; sulfamic acid; sulphamic acid; sulfuric acid; \
sulphuric acid; hydrochloric acid; muriatic acid; brick acid; brick cleaner; \
glycolic acid; hydroxyacetic acid; propionic acid; benzoic acid; salicylic acid; \
octanoic acid; lemon juice; rust remover; ph minus; sodium bisulfate; \
sodium bisulphate; silage acid; line acid
vinegar | acid acetic | acetic acid; white vinegar
toilet cleaner | acid chlorine | toilet bowl cleaner; lavatory cleaner
drain cleaner | acid alkali chlorine | drain opener; drain unblocker
silage effluent | acid slurry-acid | silage liquor; silage juice
peracetic acid | peracid acid | peracetic; peroxyacetic acid; peroxyacetic; paa; \
peracid; peracid sanitiser; peracid sanitizer; peracetic sanitiser; \
peracetic acid sanitiser; performic acid; peroctanoic acid
hydrogen peroxide | peroxide | peroxide; h2o2; hydrogen peroxide solution
oxygen bleach | peroxide alkali | sodium percarbonate; percarbonate; \
oxygen based bleach; non chlorine bleach; chlorine free bleach
peroxymonosulfate disinfectant | peroxide acid | potassium peroxymonosulfate; \
peroxymonosulfate; potassium monopersulfate; potassium peroxymonosulphate; \
pentapotassium bis peroxymonosulphate bis sulphate
potassium permanganate | permanganate | permanganate
quat | quat | quats; quaternary ammonium; quaternary ammonium compound; \
quaternary ammonium compounds; qac; bac; ddac; adbac; benzalkonium chloride; \
alkyldimethylbenzylammonium chloride; \
didecyldimethylammonium chloride; bkc; quat sanitiser; quat sanitizer
amine disinfectant | ammonia | amine; amines; amine cleaner; triamine; \
alkylamine; monoethanolamine; ethanolamine; diethanolamine; \
n 3 aminopropyl n dodecylpropane 1 3 diamine; laurylamine dipropylenediamine
ammonia | ammonia | ammonium hydroxide; household ammonia; ammonia cleaner; \
ammonia based cleaner; ammonia water; ammonium chloride
window cleaner | ammonia alcohol | glass cleaner
iodophor | iodine acid | iodine; povidone iodine; iodophore; iodine sanitiser; \
iodine sanitizer; iodine teat dip; teat dip; iodine disinfectant
biguanide | biguanide | chlorhexidine; phmb; chlorhexidine gluconate
aldehyde disinfectant | aldehyde | formaldehyde; formalin; glutaraldehyde; glutaral; \
aldehyde; formalin footbath
soap | anionic | detergent; neutral detergent; washing up liquid; dish soap; \
dishwashing liquid; hand soap; anionic detergent; anionic surfactant; soft soap; \
washing powder; udder wash; shampoo
caustic detergent | alkali | caustic; caustic soda; sodium hydroxide; \
potassium hydroxide; lye; alkaline detergent; alkaline cleaner; oven cleaner; \
washing soda; soda ash; sodium carbonate; sodium metasilicate; alkali; ph plus; \
degreaser; lime; hydrated lime; slaked lime; quicklime; lime wash; limewash
sodium thiosulfate | thiosulfate reducer | thiosulfate; thiosulphate; \
sodium thiosulphate; hypo crystals; dechlorinator; sodium thiosulfate pentahydrate
sodium bisulfite | sulfite reducer | bisulfite; bisulphite; metabisulfite; \
metabisulphite; sodium metabisulfite; sodium metabisulphite; sodium sulfite; \
sodium sulphite; sulfite; sulphite; sodium bisulphite; sulfur dioxide
ascorbic acid | reducer acid | vitamin c; ascorbate; sodium ascorbate
alcohol | alcohol | ethanol; isopropanol; isopropyl alcohol; propanol; methanol; \
methylated spirit; surgical spirit; hand gel; hand sanitiser; hand sanitizer; \
solvent; acetone; white spirit; thinners; paint thinner
fuel or oil | organic | fuel; diesel; petrol; gasoline; paraffin; kerosene; oil; \
grease; hydraulic oil; brake fluid; glycerine; glycerol; lubricant
damp organic matter | organic | organic matter; straw; hay; sawdust; seed; grain; \
barley; feed; fodder; molasses; sugar; rag; rags; paper; cardboard; wood; silage; dirt
fertiliser | organic ammonia | fertilizer; ammonium nitrate; urea; nitrogen fertiliser
slurry | slurry ammonia | manure; manure liquor; dung; muck; urine; \
dirty water; dirty water tank; manure channel; liquid manure; faeces; slurry pit; \
slurry store; slurry channel; parlour washings
aluminium | aluminium metal | aluminum; aluminium tray; aluminum tray
copper or brass | copper metal | copper; brass; bronze; nickel; gunmetal; \
copper sulfate; copper sulphate; copper pipe; brass fitting; nickel plate
galvanised steel | zinc metal | galvanised; galvanized; galvanized steel; zinc; \
galvanised tray; galvanised trough; zinc sulfate; zinc sulphate
iron or mild steel | iron metal | iron; mild steel; steel; cast iron; rust
stainless steel | stainless metal | stainless
closed can | closed | sealed can; unvented can; unvented container; \
sealed container; closed container; closed bottle; sealed bottle; unvented bottle; \
airtight container
water | - | tap water; rain water; rainwater; mains water; clean water
"""

_DENIED: Final = (
    "acid free", "chlorine free", "bleach free", "ammonia free", "non acid",
    "non chlorine", "non chlorinated", "quat free", "peroxide free", "no chlorine",
    "without chlorine", "iodine free", "alcohol free", "oil free", "sugar free",
)  # fmt: skip
"""Words on a label that name a thing in order to say that it is not there."""


def _phrases(text: str) -> str:
    return " ".join(re.findall(r"[a-z0-9]+", text.casefold()))


def _read_table() -> dict[str, Substance]:
    names: dict[str, Substance] = {}
    for row in _TABLE.strip().splitlines():
        name, traits, also = (part.strip() for part in row.split("|"))
        made = Substance(name, frozenset(traits.split()) - {"-"})
        for phrase in (name, *also.split(";")):
            names[_phrases(phrase)] = made
    return names


_NAMES: Final = _read_table()
_NOTHING: Final = Substance("", frozenset())
_ALL: Final = {**_NAMES, **dict.fromkeys(_DENIED, _NOTHING)}
_LONGEST: Final = max(phrase.count(" ") + 1 for phrase in _ALL)


def known(text: str) -> Substance:
    """Return what ``text`` stands for; the longest names in it count, each once.

    A text that holds several (``acid descaler with iodine``) has the traits of all.
    Raises :class:`UnknownSubstance` where no name of the table stands in it.
    """
    found = list(dict.fromkeys(part for part in _parts(text) if part.name))
    if not found:
        raise UnknownSubstance(given=_shortened(text), way_out=_way_out(text))
    if len(found) == 1:
        return found[0]
    traits = frozenset().union(*(part.traits for part in found))
    return Substance(" with ".join(part.name for part in found), traits)


def names() -> tuple[str, ...]:
    """Return the plain name of every substance of the table, in its order."""
    return tuple(dict.fromkeys(made.name for made in _NAMES.values()))


def _parts(text: str) -> list[Substance]:
    words = _phrases(text).split()
    found: list[Substance] = []
    at = 0
    while at < len(words):
        for length in range(min(_LONGEST, len(words) - at), 0, -1):
            made = _ALL.get(" ".join(words[at : at + length]))
            if made is not None:
                found.append(made)
                at += length
                break
        else:
            at += 1
    return found


def _way_out(text: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(_phrases(text), _NAMES, 3, 0.7)
    if near:
        return f"Did you mean {' or '.join(near)}? Or write the active from its label."
    return (
        "Write the active from its label: bleach, acid, peracetic acid, peroxide, quat."
    )


def _shortened(text: str) -> str:
    shown = " ".join(text.split())
    return shown if len(shown) <= 40 else shown[:37] + "..."
