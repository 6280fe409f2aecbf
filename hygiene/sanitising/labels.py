"""What a product's label allows, and what the farm asks for beside it.

A fault is *failed* where something is known to be wrong, and *unknown* where nobody
wrote what would have to be known.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.sanitising.doses import (
    KEPT_UP_TO_MG_PER_L,
    Dosed,
    Label,
    kept_in_the_water,
)

BIOCIDES: Final = "Regulation (EU) 528/2012 Annex V"
WHO_CHLORINE: Final = "WHO, Guidelines for drinking-water quality: chlorine 5 mg/L"
FARM_FILE: Final = "the farm file"
PRODUCT_TYPES: Final[Mapping[str, tuple[str, ...]]] = {
    "tray": ("PT4",),
    "line": ("PT4", "PT5"),
    "tank": ("PT4", "PT5"),
    "surface": ("PT2", "PT3", "PT4"),
    "tool": ("PT2", "PT3", "PT4"),
}
"""PT4 is for what touches food or feed, pipes and troughs too; PT5 for the water that
is drunk; PT2 for surfaces that feed does not touch; PT3 for animal housing."""
USES: Final[Mapping[str, tuple[str, ...]]] = {
    "tray": ("tray", "feed-contact"),
    "line": ("water-line",),
    "tank": ("water-line",),
    "surface": ("floor", "feed-contact"),
    "tool": ("tool", "feed-contact"),
}


class Fault(NamedTuple):
    """One thing against a dose: its mark, in words, the source, and the way out."""

    mark: str
    says: str
    source: str
    way_out: str
    failed: bool = True


class Rules(NamedTuple):
    """What the farm file and its region ask for.

    ``no_rinse_up_to`` gives the region's ceiling for an active without a rinse, in
    mg/L, or None where the region has none. ``kit_fault`` says why a kit did not
    count at a moment, or None. ``kit_reads`` gives what a kit reads, by the names of
    the water parameters; nothing: it was not said.
    """

    clear_days: int = 3
    deep_minutes: int = 30
    no_rinse_up_to: Callable[[str | None], float | None] = lambda active: None
    kit_fault: Callable[[str, datetime], str | None] = lambda kit, at: None
    kit_reads: Callable[[str, datetime], tuple[str, ...]] = lambda kit, at: ()


def label_faults(dose: Dosed, label: Label | None) -> Iterator[Fault]:
    """Whether the label is known and allows this use."""
    if label is None:
        yield unknown("no-label", f"{dose.product} is not in the farm file", FARM_FILE)
        return
    drunk = kept_in_the_water(dose, label.active)
    wanted = ("PT5",) if drunk else PRODUCT_TYPES.get(dose.target, ())
    if label.product_types and not set(label.product_types) & set(wanted):
        yield Fault(
            "wrong-product-type",
            f"{label.name} is {', '.join(label.product_types)}, and "
            f"{_of(dose)} takes {' or '.join(wanted)}",
            f"{BIOCIDES}; {label.source}",
            f"use a product of {' or '.join(wanted)}; do these again with it",
        )
    uses = USES.get(dose.target, ())
    if label.uses and not set(label.uses) & set(uses):
        yield Fault(
            "not-for-this-use",
            f"{label.name} is labelled for {', '.join(label.uses)}, not for "
            f"{_of(dose)}",
            label.source,
            "use a product whose label allows it",
        )
    if not label.uses:
        yield unknown(
            "uses-not-known", f"the farm file says no use of {label.name}", FARM_FILE
        )


def register_faults(label: Label, rules: Rules) -> Iterator[Fault]:
    """What does not hang together in a product of the farm file itself."""
    targets = {"tray": "tray", "feed-contact": "tray", "water-line": "line"}
    for use, target in targets.items():
        wanted = PRODUCT_TYPES[target]
        types = set(label.product_types)
        if use in label.uses and types and not types & set(wanted):
            yield Fault(
                "wrong-product-type",
                f"{label.name} is said to be for {use} and is "
                f"{', '.join(label.product_types)}; that takes {' or '.join(wanted)}",
                BIOCIDES,
                "look at its label again, and put the farm file right",
            )
    ceiling = rules.no_rinse_up_to(label.active)
    high = label.most_mg_per_l
    if label.rinse_needed is False and ceiling and high and high > ceiling:
        yield above_no_rinse(high, ceiling, "is allowed by its label")


def above_no_rinse(
    mg_per_l: float, ceiling: float, says: str, *, failed: bool = True
) -> Fault:
    """A strength over the most that may stay on without a rinse."""
    return Fault(
        "above-no-rinse",
        f"{mg_per_l:g} mg/L {says}; without a rinse {ceiling:g} is the most",
        "21 CFR 178.1010 and 40 CFR 180.940 (see calc surface)",
        "rinse it: hygiene rinse ...",
        failed,
    )


def _of(dose: Dosed) -> str:
    return {"tray": "a tray", "line": "a water line", "tank": "a water tank"}.get(
        dose.target, f"a {dose.target}"
    )


def unknown(mark: str, says: str, source: str, way_out: str = "") -> Fault:
    """A fault of which nobody wrote what would have to be known."""
    return Fault(mark, says, source, way_out, failed=False)


def bounds(dose: Dosed, label: Label) -> tuple[float | None, float | None, str]:
    """From which strength to which a reading is good, in mg/L, and who says so."""
    if kept_in_the_water(dose, label.active):
        return None, KEPT_UP_TO_MG_PER_L, WHO_CHLORINE
    return label.least_mg_per_l, label.most_mg_per_l, label.source
