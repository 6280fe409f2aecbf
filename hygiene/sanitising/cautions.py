"""What to be careful of, by active and by task: short on screen, full on paper.

The texts follow the hazard statements and the usual first-aid advice of safety data
sheets (hypochlorite of 5-10 % and more: H314, H318, H400, H290, EUH031) and common
practice. The product's own label and safety data sheet govern: they come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from hygiene.sanitising.substances import UnknownSubstance, known


@dataclass(frozen=True, slots=True)
class _Care:
    """What one family of products asks for."""

    gear: str
    keep_apart: str
    air: str
    store: str
    spill: str


_LABEL = "The product's label and safety data sheet govern; read them first."
_INTO_WATER = "Product into water, never water into product."
_RINSE_BETWEEN = (
    "Rinse between chemistries: trays, lines, jugs, syringes, sprayers, suction tubes,"
    " sinks and drains. Not two chemistries in one room at one time."
)
_NO_NEW_CAN = "Never move product to a container without its label."
_FIRST_AID = (
    "Eyes or skin: rinse with clean water for 15 to 20 minutes, and get help. "
    "Swallowed: rinse the mouth, do not make sick, get help; show the label."
)
_GAS = "Gas or choking smell: leave, go upwind, let air in, call for help."
_DUST_MASK = (
    "A dust mask (EN 149) stops mould spores, not chlorine or peracid vapour;"
    " a gas filter is another thing."
)
_STRONG_GEAR = "Goggles or face shield, gauntlets, apron, closed shoes."
_GLOVES = "Gloves and eye protection."

_CARE: Final = {
    "dry-chlorine": _Care(
        gear=_STRONG_GEAR + " Do not breathe the dust.",
        keep_apart="Never with acid, ammonia, urine, another sort of chlorine tablet or"
        " granules, fuel, oil, fertiliser or damp organic matter: gas or fire.",
        air="Open doors; a damp drum holds gas: open it outdoors, face away.",
        store="Dry, cool, lid shut, away from acid, fuel, oil, feed and straw.",
        spill="Sweep up dry with a clean shovel into a clean, dry, open bucket; never"
        " into sawdust or a bin with anything in it.",
    ),
    "chlorine": _Care(
        gear=_STRONG_GEAR,
        keep_apart="Never with acid, descaler, vinegar, iodophor or peracid"
        " (chlorine gas), nor with ammonia, urine or slurry (chloramines).",
        air="Open doors, or work outdoors; never heat it, never in hot water.",
        store="Cool, dark, upright, vented cap, in its own can, away from acid and"
        " feed; not in aluminium, copper or galvanised.",
        spill="Flood with water, keep people and animals off; no acid, no sawdust;"
        " not to a drain that leads to slurry or a stream.",
    ),
    "chlorine-dioxide": _Care(
        gear=_STRONG_GEAR,
        keep_apart="Never mix base and activator except as the label says; never with"
        " bleach, sulfite, fuel or damp organic matter.",
        air="Work outdoors or with forced air; the yellow gas harms before it warns.",
        store="Base and activator apart, cool and dark; make up only what is used.",
        spill="Flood with water; never let chlorite dry on cloth, wood or straw: fire.",
    ),
    "peracid": _Care(
        gear=_STRONG_GEAR,
        keep_apart="Never with bleach or any chlorine (gas), nor with caustic, sulfite,"
        " fuel, oil, copper, brass or iron: heat and pressure.",
        air="Sharp vapour: outdoors or doors open; do not spray it as a mist.",
        store="Cool, upright, only in its own can with its vented cap; never shut"
        " tight, never pour back.",
        spill="Flood with plenty of water; no sawdust, no rags: they can catch fire.",
    ),
    "peroxide": _Care(
        gear=_STRONG_GEAR,
        keep_apart="Never with bleach, caustic, acid, vinegar, metals, fuel or oil.",
        air="Open doors; do not spray it as a mist.",
        store="Cool, dark, in its own can with its vented cap; never pour back.",
        spill="Flood with plenty of water; no sawdust, no rags: they can catch fire.",
    ),
    "iodine": _Care(
        gear=_STRONG_GEAR + " It stains.",
        keep_apart="An iodophor is an acid: never with bleach or a chlorinated"
        " detergent (chlorine gas).",
        air="Open doors; never in hot water (iodine vapour above about 45 C).",
        store="Cool, in its own can, away from bleach and feed.",
        spill="Soak up with sand, rinse with plenty of water.",
    ),
    "quat": _Care(
        gear=_STRONG_GEAR,
        keep_apart="Never with bleach (fumes), nor with soap: both are spent.",
        air="Open doors; do not spray it as a fine mist.",
        store="In its own can, away from feed; rinse feed surfaces as the label says.",
        spill="Soak up with sand; the floor is slippery; keep it out of streams.",
    ),
    "reducer": _Care(
        gear=_GLOVES,
        keep_apart="Never on strong bleach, and no acid near it (sulfur dioxide).",
        air="Outdoors, upwind.",
        store="Dry, lid shut, away from acids and from bleach.",
        spill="Sweep up dry, rinse the rest with plenty of water.",
    ),
    "alkali": _Care(
        gear=_STRONG_GEAR,
        keep_apart="Never with acid (heat, spitting), nor on aluminium (hydrogen).",
        air="Open doors; no mist.",
        store="In its own can, lid shut, away from acids.",
        spill="Soak up with sand, rinse with plenty of water.",
    ),
    "acid": _Care(
        gear=_STRONG_GEAR,
        keep_apart="Never with bleach or any chlorine (chlorine gas), chlorite,"
        " sulfite, caustic or slurry (hydrogen sulfide).",
        air="Open doors; no mist.",
        store="In its own can, on the floor, away from bleach and caustic.",
        spill="Soak up with sand, rinse with plenty of water; no bleach near it.",
    ),
    "alcohol": _Care(
        gear=_GLOVES,
        keep_apart="Never with bleach or peracid; no flame, no hot surface.",
        air="Open doors.",
        store="Cool, lid shut, away from flame and oxidisers.",
        spill="Put out flames, let air in, soak up with sand.",
    ),
}  # fmt: skip

_GENERAL: Final = _Care(
    gear=_GLOVES,
    keep_apart="Never mix two products unless the label of both says so.",
    air="Open doors.",
    store="In its own can with its label, locked, away from feed and animals.",
    spill="Keep people and animals off; soak up with sand; see the data sheet.",
)

_OF_TASK: Final = {
    "line": (
        "Shut off nozzles and drinkers and mark them; nobody drinks and no seed is"
        " watered until the line is flushed and a strip shows it.",
    ),
    "inject": (
        "A check valve keeps product out of the mains; test at the last nozzle, not at"
        " the pump.",
    ),
    "neutralise": (
        "Outdoors, upwind; dissolve the agent first, add it slowly, strip-test, add.",
        "Never into slurry, a manure channel or a dirty-water tank.",
    ),
    "surface": (
        "Clean and rinse first: dirt uses the sanitiser up. Keep it wet for the whole"
        " time; then rinse if the label or your law says so.",
    ),
    "spray": (
        "Mist reaches the lungs: coarse drops, low pressure, nobody else in the room.",
        _DUST_MASK,
    ),
    "two-step": (
        "Label the bottle in between at once: name, strength, hazards, made at, use"
        " by.",
    ),
    "mould": (
        "Damp it down, let air in, no dry sweeping; fitted mask to EN 149.",
        _DUST_MASK,
    ),
    "contact": (
        "Measure the free residual at the end of the contact, at the last outlet.",
    ),
    "active": (
        "Never pour acid into bleach to bring its pH down: chlorine gas.",
    ),
    "meet": (_GAS, _RINSE_BETWEEN),
    "reading": (
        "A reading is only as good as the strip or reagent: check its use-by date.",
    ),
    "water": (
        "A clean result speaks for that sample on that day, not for the next one.",
    ),
    "toxin": (
        "A clean result never clears mouldy fodder: hold it, stop feeding, ring the"
        " vet. Damp mould down, fitted mask to EN 149.",
    ),
}  # fmt: skip
_SAME_TASK: Final = {
    "shock": "line", "soak": "surface", "mpn": "water",
    "count": "water", "trays": "surface", "proportioner": "inject",
}  # fmt: skip
_HANDLES_NOTHING: Final = frozenset(
    {"reading", "water", "toxin", "mould", "contact", "active"}
)
_HANDLES_STOCK: Final = frozenset({"dilute", "card", "two-step", "line", "inject"})


def cautions_for(active: str, task: str, *, full: bool = False) -> tuple[str, ...]:
    """Return what to be careful of with ``active`` when doing ``task``.

    Short, for a screen: what belongs to the task, gear, what to keep it apart from,
    first aid. ``full``, for paper: also air, storage, spill and the rest. ``task`` is
    the word of a command (``dilute``, ``line``, ``neutralise``) or ``spray``, ``soak``,
    ``two-step``, ``mould``. An active that is not known gets the general advice.
    """
    task = _SAME_TASK.get(task, task)
    own = _OF_TASK.get(task, ())
    if task in _HANDLES_NOTHING and not full:
        return own
    care = _care_of(active)
    if task == "strength":
        own = (f"Store: {care.store}",)
    into_water = (_INTO_WATER,) if full or task in _HANDLES_STOCK else ()
    short = (*own, care.gear, *into_water, care.keep_apart, _FIRST_AID)
    if not full:
        return short
    rest = (
        _LABEL, care.air, _GAS, _RINSE_BETWEEN, _NO_NEW_CAN, f"Store: {care.store}",
        f"Spill: {care.spill}", _DUST_MASK,
    )  # fmt: skip
    return tuple(dict.fromkeys((*short, *rest)))


def first_aid(accident: str, active: str = "") -> tuple[str, ...]:
    """What to do at once after a ``splash``, ``gas`` or ``spill``; else get help."""
    match accident:
        case "splash":
            return (_FIRST_AID, _LABEL)
        case "gas" | "dust":
            return (_GAS,)
        case "spill":
            return (_care_of(active).spill, _GAS)
    return ("Get help; stay with whoever is hurt.",)


def _care_of(active: str) -> _Care:
    try:
        traits = known(active).traits
    except UnknownSubstance:
        return _GENERAL
    if "chlorite" in traits:
        return _CARE["chlorine-dioxide"]
    if traits & {"sulfite", "thiosulfate", "reducer"}:
        return _CARE["reducer"]
    return next((care for trait, care in _CARE.items() if trait in traits), _GENERAL)
