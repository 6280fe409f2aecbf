"""What the search for causes looks at: sowings, their trays, what became of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

Measure = float | Decimal | None


class Outcome(StrEnum):
    """Whether mould was seen; what was not watched to its end is not "no mould".

    Still growing, discarded as a precaution, or fed young: not known. In a batch with
    mould, a tray that was looked at on the day of the find and bore none is "no
    mould": it was as old as the others, though it is thrown away with them.
    """

    MOULD = "mould"
    NO_MOULD = "no mould"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Lot:
    """A seed lot and who sold it."""

    code: str
    supplier: str = ""


@dataclass(frozen=True, slots=True)
class TrayOutcome:
    """One tray of a batch: where it stood, what it met, what became of it.

    ``wash`` and ``container`` are the wash before this sowing and the container its
    sanitiser came from; ``lots`` only where the trays of a batch differ in their lots.
    What is empty was not recorded.
    """

    tray: str
    outcome: Outcome
    rack: str = ""
    level: str = ""
    position: int = 0
    line: str = ""
    wash: str = ""
    container: str = ""
    lots: tuple[Lot, ...] | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    """One sowing with its trays; the room's heat and damp over its growing days.

    ``days_since_deep_clean`` counts from the last deep clean *of the rota*. One made
    because of a find must not count: it follows finds, so each find would stand at the
    end of a long stretch, and the stretch would look like its cause.
    """

    code: str
    sown: date
    trays: tuple[TrayOutcome, ...]
    lots: tuple[Lot, ...] = ()
    people: tuple[str, ...] = ()
    seed_rate_kg_per_m2: Measure = None
    days_since_deep_clean: int | None = None
    room_temperature_c: Measure = None
    room_humidity_percent: Measure = None

    @property
    def outcome(self) -> Outcome:
        """Mould if any tray had it; no mould if most trays were watched to the end."""
        outcomes = [tray.outcome for tray in self.trays]
        if Outcome.MOULD in outcomes:
            return Outcome.MOULD
        watched = outcomes.count(Outcome.NO_MOULD)
        return Outcome.NO_MOULD if 2 * watched > len(outcomes) else Outcome.NOT_KNOWN
