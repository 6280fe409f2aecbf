"""Rank what the mouldy batches share, and say how little or how much that shows.

The answer is a list of hints, never a verdict: what stands out after all the questions
that were asked, what else changed with it, which days cannot be told from what they
brought, and how bad a cause must be before so many sowings would show it.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from hygiene.tracing.comparison import Comparison
from hygiene.tracing.gaps import GapChart, gap_chart
from hygiene.tracing.outcomes import Batch, Outcome
from hygiene.tracing.questions import (
    SCALES,
    Question,
    UnitKind,
    ask,
    known_sowings,
)
from hygiene.tracing.reach import (
    TIMES,
    Year,
    chance_for_rank,
    chance_for_sowings,
    chance_for_tray,
    least_times,
)
from hygiene.tracing.statistics import (
    Posed,
    at_least,
    corrected,
    groups_asked,
    hypergeometric,
    reachable,
)
from hygiene.tracing.together import changed, uneven

LEVEL = 0.04
"""Of years without any cause, so few may show one. One part in a hundred is kept back
from the usual 5: comparing neighbours takes out a season, a hot spell and what the last
find left behind very nearly, not wholly."""

LOT_SHARE = 4
"""A lot's part of the level beside 1 for each other factor: the seed brings most mould
in, and fourteen sowings have the least to show it with."""

HINT = "This is a hint, not proof."
TELLING = 0.05
SELDOM = 1e-4
ALONE = "it had its days almost to itself"
TOO_FEW = "too few finds, sowings or neighbours ever to show it"
LEFT_THERE = "Mould left there by an earlier find would look the same."
"""Places and trays are held against others of one sowing, so a find that taints its own
rack for weeks leans the rack's year: simulated, it alarms in most years."""

WAY_OUT = (
    "It cannot be told from these days and all else that they brought. To tell lots or "
    "containers from days, keep two open and use them in turn."
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One question with its answer, ``found`` and ``expected`` in ``unit``.

    ``same`` names what is borne by exactly the same trays or sowings; ``changed`` what
    else changed with it, and what makes the comparison uneven.
    """

    factor: str
    level: str
    name: str
    unit: UnitKind
    found: int
    expected: float
    borne: int
    p: float
    corrected_p: float
    sentence: str
    same: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()

    @property
    def stands_out(self) -> bool:
        """Whether it does so after all the questions that were asked."""
        return self.corrected_p <= LEVEL


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days with more mould that cannot be told from what had them to itself."""

    name: str
    first: date
    last: date
    found: int
    expected: float
    sowings: int
    corrected_p: float
    changed: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class NotAsked:
    """Questions of a factor that these sowings could not have answered."""

    factor: str
    questions: int
    why: str


@dataclass(frozen=True, slots=True)
class Reach:
    """How bad a cause must be to be shown: ``times`` the others' rate, or None."""

    factor: str
    times: int | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Causes:
    """All that a stretch of sowings says about what its mould had in common."""

    year: Year
    not_known: int
    questions: int
    ranked: tuple[Finding, ...]
    stretches: tuple[Stretch, ...]
    not_asked: tuple[NotAsked, ...]
    reach: tuple[Reach, ...]
    chart: GapChart
    sentence: str


class _Put(NamedTuple):
    """A question that has neighbours to compare, and all that is the same as it."""

    question: Question
    comparison: Comparison
    same: tuple[str, ...]
    posed: Posed


def find_causes(batches: Sequence[Batch], *, with_people: bool = False) -> Causes:
    """Rank what mouldy trays and sowings share, the most telling first.

    People only if asked for. Each p is one-sided and exact; see ``comparison`` for
    what is compared and ``statistics.corrected`` for what many questions cost.
    """
    known = known_sowings(batches)
    year = year_of(known)
    questions = ask(known, with_people=with_people)
    every = _put(questions)
    levels = groups_asked([one.posed for one in every], LEVEL)
    put = [one for one in every if one.posed.group in levels]
    answers = list(zip(put, corrected([one.posed for one in put]), strict=True))
    asked = [
        (one, p)
        for one, p in answers
        if one.posed.reachable[0] <= levels[one.posed.group]
    ]
    asked.sort(key=lambda answer: (answer[1], answer[0].comparison.p))
    ranked = tuple(_finding(one, p, len(asked), known, batches) for one, p in asked)
    stretches = tuple(_stretches(questions, asked, known))
    return Causes(
        year,
        len(batches) - len(known),
        len(asked),
        ranked,
        stretches,
        tuple(_not_asked(questions, asked)),
        tuple(_reach(every, levels, year)),
        gap_chart(known),
        _summary(year, ranked, stretches),
    )


def year_of(known: Sequence[Batch]) -> Year:
    """Count sowings and trays whose outcome is known, and those with mould."""
    trays = [tray.outcome for batch in known for tray in batch.trays]
    mouldy = trays.count(Outcome.MOULD)
    return Year(
        len(known),
        sum(batch.outcome is Outcome.MOULD for batch in known),
        mouldy + trays.count(Outcome.NO_MOULD),
        mouldy,
    )


def _put(questions: Sequence[Question]) -> list[_Put]:
    """Ask once what the very same trays or sowings would answer twice."""
    firsts: dict[object, tuple[Question, Comparison, list[str]]] = {}
    for question in questions:
        if question.comparison is None:
            continue
        first = firsts.setdefault(
            question.bearing or question.name, (question, question.comparison, [])
        )
        if first[0] is not question:
            first[2].append(question.name)
    return [
        _Put(question, comparison, tuple(same), _posed(question, comparison))
        for question, comparison, same in firsts.values()
    ]


def _posed(question: Question, comparison: Comparison) -> Posed:
    share = LOT_SHARE if question.factor == "lot" else 1
    return Posed(question.factor, share, comparison.p, reachable(comparison.chances))


def _finding(
    one: _Put,
    corrected_p: float,
    questions: int,
    known: Sequence[Batch],
    batches: Sequence[Batch],
) -> Finding:
    question, comparison = one.question, one.comparison
    tainted = question.unit is UnitKind.TRAY and corrected_p <= LEVEL
    left = f" {LEFT_THERE}" if tainted else ""
    also: tuple[str, ...] = ()
    if comparison.p <= TELLING:
        also = (*changed(question, known), *uneven(question, known, batches))
    return Finding(
        question.factor,
        question.level,
        question.name,
        question.unit,
        comparison.found,
        comparison.expected,
        comparison.borne,
        comparison.p,
        corrected_p,
        f"{_counts(one)} {_verdict(comparison.p, corrected_p, questions)}{left}",
        one.same,
        also,
    )


def _counts(one: _Put) -> str:
    question, found = one.question, one.comparison
    expected = f"{found.expected:.1f}"
    if not question.level:
        high = next(s.high for s in SCALES if s.name == question.factor)
        return (
            f"{question.name}: {found.found} of {found.borne} mouldy sowings fell in "
            f"{high} of their fortnight; {expected} were to be expected."
        )
    if question.unit is UnitKind.TRAY:
        return (
            f"{question.name}: {found.found} mouldy trays; the others in the same "
            f"sowings led one to expect {expected}."
        )
    return (
        f"{question.name}: {found.found} of {found.borne} sowings mouldy; the others "
        f"sown in the same days led one to expect {expected}."
    )


def _verdict(p: float, corrected_p: float, questions: int) -> str:
    if corrected_p <= LEVEL:
        often = (
            f"once in {int(1 / corrected_p)} such years"
            if corrected_p > SELDOM
            else f"less than once in {round(1 / SELDOM)} such years"
        )
        return f"Of {questions} questions chance alone shows this {often}. {HINT}"
    if p <= TELLING:
        return f"Asked alone it would stand out; among {questions} it does not."
    return "Chance alone may well do this."


def _stretches(
    questions: Sequence[Question],
    asked: Sequence[tuple[_Put, float]],
    known: Sequence[Batch],
) -> Iterator[Stretch]:
    """Find days with more mould than the rest, held by a level almost alone.

    They are held against the whole time, so a season or a spell shows as well: this
    names days, not a cause.
    """
    put = {one.question.name for one, _ in asked}
    finds = {n for n, batch in enumerate(known) if batch.outcome is Outcome.MOULD}
    alone = [
        (question, posed)
        for question in questions
        if question.alone and question.name not in put
        if (posed := _held_alone(question, finds, len(known))).reachable[0] <= LEVEL
    ]
    ps = corrected([posed for _, posed in alone])
    named: list[tuple[Question, float, set[int], list[str]]] = []
    for place in sorted(range(len(ps)), key=ps.__getitem__):
        question = alone[place][0]
        days = {at for at, _ in question.bearing}
        if ps[place] > LEVEL:
            break
        for _, _, others, too in named:
            if 2 * len(days & others) > min(len(days), len(others)):
                too.append(question.name)
                break
        else:
            named.append((question, ps[place], days, []))
    for question, p, _, too in named:
        yield _stretch(question, p, too, finds, known)


def _held_alone(question: Question, finds: set[int], sowings: int) -> Posed:
    chances = hypergeometric(len(question.bearing), len(finds), sowings)
    found = sum(at in finds for at, _ in question.bearing)
    return Posed("days", 1, at_least(chances, found), reachable(chances))


def _stretch(
    question: Question,
    corrected_p: float,
    too: Sequence[str],
    finds: set[int],
    known: Sequence[Batch],
) -> Stretch:
    days = sorted(at for at, _ in question.bearing)
    found = sum(at in finds for at in days)
    rest = len(known) - len(days)
    expected = len(days) * (len(finds) - found) / rest if rest else 0.0
    first, last = known[days[0]].sown, known[days[-1]].sown
    also = tuple(dict.fromkeys((*too, *changed(question, known))))
    sentence = (
        f"{first} to {last}: {found} of {len(days)} sowings mouldy; the rest led one "
        f"to expect {expected:.1f}. {question.name} had these days almost to itself. "
        f"{WAY_OUT}"
    )
    return Stretch(
        question.name,
        first,
        last,
        found,
        expected,
        len(days),
        corrected_p,
        also,
        sentence,
    )


def _not_asked(
    questions: Sequence[Question], asked: Sequence[tuple[_Put, float]]
) -> Iterator[NotAsked]:
    put = {name for one, _ in asked for name in (one.question.name, *one.same)}
    left: dict[tuple[str, str], int] = {}
    for question in questions:
        if question.name not in put:
            why = ALONE if question.alone else TOO_FEW
            left[question.factor, why] = left.get((question.factor, why), 0) + 1
    for (factor, why), many in left.items():
        yield NotAsked(factor, many, why)


def _reach(
    every: Sequence[_Put], levels: Mapping[Hashable, float], year: Year
) -> Iterator[Reach]:
    """Say it of each factor's usual level, asked this time or not."""
    groups: dict[str, list[_Put]] = {}
    for one in every:
        groups.setdefault(one.question.factor, []).append(one)
    spent = sum(groups[str(group)][0].posed.share for group in levels)
    for group, members in groups.items():
        share = members[0].posed.share
        level = levels.get(group, LEVEL * share / (spent + share))
        members.sort(key=lambda one: one.comparison.borne)
        usual = members[len(members) // 2]
        chance = _chance(usual, year, level / _rivals(members, level))
        yield _reached(usual.question, least_times(chance), chance)


def _rivals(members: Sequence[_Put], level: float) -> int:
    """Count the questions that share a factor's level: one, and what it stood beside.

    More where more could come as low (Tarone 1990, as in ``groups_asked``).
    """
    for many in range(2, len(members)):
        low = sum(one.posed.reachable[0] <= level / many for one in members)
        if low <= many:
            return many
    return len(members)


def _chance(one: _Put, year: Year, level: float) -> Callable[[float], float]:
    question, comparison = one.question, one.comparison
    if question.level and question.unit is UnitKind.SOWING:
        return chance_for_sowings(comparison, year, level)
    uses = len(question.bearing)
    if uses and uses == len({place for place, _ in question.bearing}):
        return chance_for_tray(uses, year, level)
    return chance_for_rank(comparison, level)


def _reached(
    question: Question, times: int | None, chance: Callable[[float], float]
) -> Reach:
    who = "one" if question.level else "the top of a fortnight"
    beside = "the others" if question.level else "its bottom"
    if times is None:
        what = f"not even {who} with mould {TIMES[-1]} times as often as {beside}"
        text = f"{question.said}: {what} would be shown in about 4 such years of 5."
    else:
        half = round(100 * chance(times / 2))
        text = (
            f"{question.said}: {who} with mould {times} times as often as {beside} "
            "would be shown in about 4 such years of 5"
        )
        text += f"; at half that, in {half} of 100." if times > 2 else "."
    return Reach(question.factor, times, text)


def _summary(
    year: Year, ranked: Sequence[Finding], stretches: Sequence[Stretch]
) -> str:
    counts = (
        f"{year.mouldy_sowings} of {year.sowings} sowings had mould "
        f"({year.mouldy_trays} of {year.trays} trays)."
    )
    out = sum(finding.stands_out for finding in ranked)
    if out:
        return f"{counts} Standing out: {out}. {HINT}"
    if stretches:
        return f"{counts} No cause stands out, but some days do."
    return f"{counts} Nothing stands out. That does not show that there is no cause."
