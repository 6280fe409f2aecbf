"""What readings taken together say about each other: slips of the kit or the hand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from hygiene.water.parameters import Read
from hygiene.water.readings import BLEACHES_ABOVE_MG_PER_L
from hygiene.water.results import Result

SLOW_ABOVE_PH = Decimal(8)
"""Chlorine wants a pH below 8 (WHO drinking-water guidelines)."""


def oddities(reads: Iterable[Read], *, chlorinated: bool) -> list[str]:
    """What is odd about readings of one sample, each with what to do about it.

    They are cautions: nothing here is a limit, and nothing is ever refused for it.
    """
    by_code = {read.parameter.code: read.result for read in reads}
    return [*_of_chlorine(by_code, chlorinated), *_of_counts(by_code)]


def _of_chlorine(by_code: Mapping[str, Result], chlorinated: bool) -> Iterator[str]:
    free, total = _number(by_code, "free"), _number(by_code, "total")
    if free is not None and float(free) > BLEACHES_ABOVE_MG_PER_L:
        yield (
            "The reagent bleaches above 8 to 10 mg/L and may read too low: thin the "
            "sample, read again, and work it out with hygiene calc reading."
        )
    if free == 0 and chlorinated:
        yield (
            "No free chlorine, or the reagent bleached in strong water: thin the "
            "sample ten times and read again."
        )
    if free is not None and total is not None and total < free:
        yield "Total chlorine reads below free, which cannot be: measure both again."
    ph = _number(by_code, "ph")
    if free and ph is not None and ph > SLOW_ABOVE_PH:
        yield (
            "Above pH 8 most of the chlorine is in its slow form: hygiene calc active "
            f"--ph {ph:f} --free {free:f} --temp 'TEMP C'"
        )


def _of_counts(by_code: Mapping[str, Result]) -> Iterator[str]:
    ecoli, coliforms = _number(by_code, "ecoli"), _number(by_code, "coliforms")
    if ecoli is not None and coliforms is not None and ecoli > coliforms:
        yield "More E. coli than coliforms, which they are part of: ask the laboratory."


def _number(by_code: Mapping[str, Result], code: str) -> Decimal | None:
    """The number of a result that is a plain one."""
    result = by_code.get(code)
    return result.value if result is not None and result.sign == "=" else None
