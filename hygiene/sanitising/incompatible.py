"""What must not meet in this shed: what forms, where it happens, what to do instead.

``meets("bleach", "descaler")`` is a pure lookup over traits of the two substances
(:mod:`hygiene.sanitising.substances`). ``None`` says only that no rule of this table
speaks of the two; it is never a leave to mix them: label and data sheet decide.

Basis: the hazard statements of the products' own safety data sheets (EUH031 above all),
public-health advice on mixing cleaners, and common practice. A rule marked ``memory``
was written down from memory and not seen in a publisher's text.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Final, NamedTuple

from hygiene.sanitising.substances import Substance, known

SEEN: Final = "seen in published safety advice"
MEMORY: Final = "from memory, not seen in a publisher's text"

_MIX: Final = (
    "jug or bucket", "sprayer", "suction tube or dosing pump", "water line or tank",
    "tray not rinsed between", "sink or drain",
)  # fmt: skip
_WASTE: Final = ("drain to the slurry", "dirty-water tank", "manure channel")
_STORE: Final = ("store", "scoop or measuring cup", "bin", "spill on the floor")
_CAN: Final = ("can or bottle", "backpack sprayer left full", "suction lance cap")
_METAL: Final = ("tray or trough", "pipe, valve or nozzle", "pump", "measuring cup")


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two that must not meet: what forms, where, and what to do instead."""

    first: str
    second: str
    forms: str
    where: tuple[str, ...]
    instead: str
    dangerous: bool
    """Whether people or animals are hurt; else one spoils the other or the metal."""
    source: str

    def sentence(self) -> str:
        """Say it in one line."""
        return f"{self.first} and {self.second} must not meet: {self.forms}"


class _Rule(NamedTuple):
    one: str
    other: str
    forms: str
    where: tuple[str, ...]
    source: str = SEEN
    dangerous: bool = True
    instead: str = ""


_RINSE: Final = (
    "Use one, rinse everything with plenty of water, and only then the other."
)
_KEEP_APART: Final = "Keep them apart, with a scoop and a bin of their own."
_OTHER_STUFF: Final = "Use another material or another product; rinse at once."
_USE_UP: Final = (
    "Use it up or neutralise it with plenty of water, to a drain that is allowed."
)

# gravest first: the first rule that fits a pair is the one that is shown
_RULES: Final = (
    _Rule("chlorine", "acid", "chlorine gas", _MIX),
    _Rule("chlorine", "slurry-acid", "chlorine gas", _MIX, MEMORY),
    _Rule("chlorine", "peracid", "chlorine gas, heat, oxygen", _MIX),
    _Rule("acid", "slurry", "hydrogen sulfide, which kills", _WASTE, MEMORY,
          instead=_USE_UP),
    _Rule("slurry-acid", "slurry", "hydrogen sulfide, which kills", _WASTE, MEMORY,
          instead=_USE_UP),
    _Rule("peracid", "slurry", "hydrogen sulfide, heat, foam", _WASTE, MEMORY,
          instead=_USE_UP),
    _Rule("dry-hypochlorite", "isocyanurate", "fire, explosion, chlorine gas", _STORE,
          MEMORY, instead=_KEEP_APART),
    _Rule("liquid-chlorine", "isocyanurate", "nitrogen trichloride (explosive), gas",
          _MIX, MEMORY),
    _Rule("dry-chlorine", "organic", "fire, chlorine gas", _STORE, MEMORY,
          instead=_KEEP_APART),
    _Rule("chlorine", "slurry", "chloramine gas", _WASTE, instead=_USE_UP),
    _Rule("chlorine", "ammonia", "chloramine gas", _MIX),
    _Rule("chlorite", "acid", "chlorine dioxide gas", _MIX),
    _Rule("chlorite", "peracid", "chlorine dioxide gas", _MIX, MEMORY),
    _Rule("chlorite", "chlorine", "chlorine dioxide gas", _MIX),
    _Rule("chlorite", "sulfite", "heat, fire, gas", _MIX, MEMORY),
    _Rule("chlorite", "reducer", "heat, fire", _MIX, MEMORY),
    _Rule("chlorite", "organic", "fire when it dries", _STORE, MEMORY,
          instead=_KEEP_APART),
    _Rule("chlorine", "peroxide", "heat, oxygen, bursting, gas", _MIX),
    _Rule("chlorine", "chlorine-dioxide", "chlorine dioxide and chlorine gas", _MIX,
          MEMORY),
    _Rule("chlorine-dioxide", "acid", "chlorine dioxide gas leaves the water", _MIX,
          MEMORY),
    _Rule("chlorine", "quat", "fumes; both are spent", _MIX),
    _Rule("chlorine", "alcohol", "chloroform and other poisonous vapour", _MIX),
    _Rule("chlorine", "permanganate", "chlorine gas, heat", _MIX, MEMORY),
    _Rule("chlorine", "reducer", "heat, spitting, gas on strong product (on weak,"
          " spent solution it is the way to neutralise it: hygiene calc neutralise)",
          _MIX, MEMORY, instead="First thin to a few hundred mg/L at most, then add the"
          " dissolved agent slowly, outdoors."),
    _Rule("sulfite", "acid", "sulfur dioxide gas", _MIX, MEMORY),
    _Rule("sulfite", "peracid", "heat, sulfur dioxide gas", _MIX, MEMORY),
    _Rule("thiosulfate", "acid", "sulfur dioxide gas and sulfur mud", _MIX, MEMORY),
    _Rule("reducer", "peracid", "heat, spitting", _MIX, MEMORY),
    _Rule("reducer", "peroxide", "heat, spitting", _MIX, MEMORY),
    _Rule("reducer", "permanganate", "heat, fire", _MIX, MEMORY),
    _Rule("reducer", "chlorine-dioxide", "heat; it is spent", _MIX, MEMORY, False),
    _Rule("peracid", "alkali", "heat, oxygen, bursting", _MIX, MEMORY),
    _Rule("peracid", "alcohol", "fire, bursting", _MIX, MEMORY),
    _Rule("peracid", "organic", "fire, bursting", _STORE, MEMORY,
          instead=_KEEP_APART),
    _Rule("peracid", "ammonia", "heat, vapour", _MIX, MEMORY),
    _Rule("peracid", "permanganate", "heat, oxygen, bursting", _MIX, MEMORY),
    _Rule("peracid", "aldehyde", "heat", _MIX, MEMORY),
    _Rule("peroxide", "acetic", "peracetic acid", _MIX),
    _Rule("peroxide", "alkali", "heat, oxygen, bursting", _MIX, MEMORY),
    _Rule("peroxide", "permanganate", "heat, oxygen, bursting", _MIX, MEMORY),
    _Rule("peroxide", "organic", "heat, fire", _STORE, MEMORY, instead=_KEEP_APART),
    _Rule("peroxide", "slurry", "heat, foam, gas", _WASTE, MEMORY, instead=_USE_UP),
    _Rule("peroxide", "iodine", "heat, iodine vapour", _MIX, MEMORY),
    _Rule("permanganate", "organic", "fire", _STORE, MEMORY, instead=_KEEP_APART),
    _Rule("permanganate", "aldehyde", "fire, formaldehyde gas", _MIX, MEMORY),
    _Rule("permanganate", "acid", "heat; chlorine gas with hydrochloric acid", _MIX,
          MEMORY),
    _Rule("chlorine", "aldehyde", "heat, poisonous vapour", _MIX, MEMORY),
    _Rule("iodine", "ammonia", "an explosive dust when it dries", _MIX, MEMORY),
    _Rule("alkali", "acid", "heat, spitting", _MIX, MEMORY),
    _Rule("alkali", "slurry", "ammonia gas", _WASTE, MEMORY, instead=_USE_UP),
    _Rule("alkali", "ammonia", "ammonia gas", _MIX, MEMORY),
    _Rule("alkali", "aluminium", "hydrogen, holes in the metal", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("alkali", "zinc", "hydrogen, holes in the coating", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("peracid", "closed", "pressure: the can bursts", _CAN, MEMORY,
          instead="Leave it in its own can with its vented cap."),
    _Rule("peroxide", "closed", "pressure: the can bursts", _CAN, MEMORY,
          instead="Leave it in its own can with its vented cap."),
    _Rule("chlorine", "closed", "oxygen and pressure: the can bulges", _CAN, MEMORY,
          instead="Leave it in its own can with its vented cap."),
    _Rule("acid", "zinc", "hydrogen, the zinc is gone", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("acid", "aluminium", "hydrogen, holes in the metal", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("acid", "iron", "hydrogen, rust", _METAL, MEMORY, instead=_OTHER_STUFF),
    _Rule("acid", "copper", "the metal dissolves; brown gas with nitric acid", _METAL,
          MEMORY, instead=_OTHER_STUFF),
    _Rule("peracid", "copper", "it breaks down: heat, oxygen", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("peracid", "iron", "it breaks down: heat, oxygen", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("peracid", "zinc", "it breaks down: heat, oxygen", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("peroxide", "metal", "it breaks down: heat, oxygen", _METAL, MEMORY,
          instead=_OTHER_STUFF),
    _Rule("chlorine", "copper", "the metal is eaten, the bleach breaks down to oxygen",
          _METAL, SEEN, False, _OTHER_STUFF),
    _Rule("chlorine", "aluminium", "the metal is eaten", _METAL, SEEN, False,
          _OTHER_STUFF),
    _Rule("chlorine", "zinc", "the coating is eaten", _METAL, SEEN, False,
          _OTHER_STUFF),
    _Rule("chlorine", "iron", "rust; the bleach breaks down", _METAL, MEMORY, False,
          _OTHER_STUFF),
    _Rule("chlorine", "stainless", "pits, if it is strong, warm, acid or left to dry",
          _METAL, MEMORY, False, "Keep to the label's strength and time, and rinse."),
    _Rule("iodine", "metal", "stains and pits", _METAL, MEMORY, False, _OTHER_STUFF),
    _Rule("chlorine", "organic", "the chlorine is used up", _MIX, SEEN, False,
          "Clean and rinse first, then sanitise."),
    _Rule("chlorine", "iodine", "both are spent", _MIX, MEMORY, False),
    _Rule("iodine", "reducer", "the iodine is spent", _MIX, MEMORY, False),
    _Rule("iodine", "alkali", "the iodine is spent", _MIX, MEMORY, False),
    _Rule("quat", "anionic", "both are spent: it no longer disinfects", _MIX, SEEN,
          False),
    _Rule("quat", "organic", "the quat is used up", _MIX, MEMORY, False,
          "Clean and rinse first, then sanitise."),
    _Rule("biguanide", "anionic", "it is spent", _MIX, MEMORY, False),
    _Rule("biguanide", "chlorine", "a brown, poisonous sludge; it is spent", _MIX,
          MEMORY),
)  # fmt: skip


def meets(a: str, b: str) -> Meeting | None:
    """Return what happens where ``a`` and ``b`` meet, the gravest; None: no rule.

    Raises :class:`~hygiene.sanitising.substances.UnknownSubstance` for a name that the
    table does not hold: an unknown name is never read as harmless.
    """
    return next(iter(meetings(a, b)), None)


def meetings(a: str, b: str) -> tuple[Meeting, ...]:
    """Return every rule that speaks of ``a`` and ``b``, the gravest first."""
    return _between(known(a), known(b))


def meetings_among(*things: str) -> tuple[Meeting, ...]:
    """Return the gravest rule for each pair of ``things``, in the order named."""
    pairs = combinations([known(thing) for thing in things], 2)
    return tuple(found[0] for a, b in pairs if (found := _between(a, b)))


def _between(a: Substance, b: Substance) -> tuple[Meeting, ...]:
    if a == b:
        return ()
    return tuple(_meeting(rule, a, b) for rule in _RULES if _speaks_of(rule, a, b))


def _speaks_of(rule: _Rule, a: Substance, b: Substance) -> bool:
    return (rule.one in a.traits and rule.other in b.traits) or (
        rule.one in b.traits and rule.other in a.traits
    )


def _meeting(rule: _Rule, a: Substance, b: Substance) -> Meeting:
    return Meeting(
        a.name,
        b.name,
        rule.forms,
        rule.where,
        rule.instead or _RINSE,
        rule.dangerous,
        rule.source,
    )
