"""Exact chances by counting arrangements, and the price of asking many questions.

Everything is a sum over arrangements that would have been as likely, counted in whole
numbers; no approximation by a bell curve. It knows nothing of trays or lots.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

Chances = dict[int, float]
"""How likely each value of a whole-numbered sum is."""


def drawn_sum(values: Sequence[int], drawn: int) -> Chances:
    """Give the chances of the sum of ``drawn`` of the values, every choice as likely.

    With values of 0 and 1 this is the hypergeometric distribution.
    """
    ways: list[Counter[int]] = [Counter() for _ in range(drawn + 1)]
    ways[0][0] = 1
    for value, many in Counter(values).items():
        ways = _with_value(ways, value, many)
    total = math.comb(len(values), drawn)
    return {key: count / total for key, count in ways[drawn].items()}


def _with_value(ways: list[Counter[int]], value: int, many: int) -> list[Counter[int]]:
    grown: list[Counter[int]] = [Counter() for _ in ways]
    for before, sums in enumerate(ways):
        for taken in range(min(many, len(ways) - 1 - before) + 1):
            choices = math.comb(many, taken)
            for key, count in sums.items():
                grown[before + taken][key + taken * value] += choices * count
    return grown


def turned_sum(scores: Sequence[int], marks: Sequence[bool]) -> Chances:
    """Give the chances of the sum of marked scores, every turn of the marks as likely.

    The marks are turned round as on a ring, so neighbours stay neighbours: what hangs
    together in time still does in every arrangement that is counted.
    """
    size = len(scores)
    marked = [place for place, mark in enumerate(marks) if mark]
    ring = [*scores, *scores]
    sums = Counter(sum(ring[place + turn] for place in marked) for turn in range(size))
    return {key: count / size for key, count in sums.items()}


def added(parts: Iterable[Chances]) -> Chances:
    """Give the chances of a sum of independent parts."""
    whole: Chances = {0: 1.0}
    for part in parts:
        grown: Chances = {}
        for left, chance in whole.items():
            for right, other in part.items():
                grown[left + right] = grown.get(left + right, 0.0) + chance * other
        whole = grown
    return whole


def at_least(chances: Chances, value: int) -> float:
    """Give the chance of this value or a higher one: the one-sided p."""
    return min(1.0, math.fsum(c for key, c in chances.items() if key >= value))


def hypergeometric(bearing: int, marked: int, whole: int) -> Chances:
    """Give the chances of how many of ``bearing`` are marked, of all in ``whole``."""
    total = math.comb(whole, bearing)
    return {
        found: math.comb(marked, found)
        * math.comb(whole - marked, bearing - found)
        / total
        for found in range(max(0, bearing + marked - whole), min(bearing, marked) + 1)
    }


def hypergeometric_tail(found: int, bearing: int, marked: int, whole: int) -> float:
    """Give the chance that ``bearing`` of ``whole`` hold ``found`` or more marked.

    Fisher's exact test, one-sided.
    """
    return at_least(hypergeometric(bearing, marked, whole), found)


def binomial(tries: int, rate: float, least: float = 0.0) -> Chances:
    """Give binomial chances, leaving out those not above ``least``."""
    if not 0 < rate < 1:
        return {tries if rate >= 1 else 0: 1.0}
    chances = {
        k: math.exp(
            math.lgamma(tries + 1)
            - math.lgamma(k + 1)
            - math.lgamma(tries - k + 1)
            + k * math.log(rate)
            + (tries - k) * math.log1p(-rate)
        )
        for k in range(tries + 1)
    }
    return {key: chance for key, chance in chances.items() if chance > least}


def leaned(chances: Chances, times: float, one: float) -> Chances:
    """Give the chances when each step of ``one`` in the sum is ``times`` as likely.

    From hypergeometric chances this makes Fisher's noncentral ones.
    """
    top = max(chances)
    weights = {
        key: chance * times ** ((key - top) / one) for key, chance in chances.items()
    }
    total = math.fsum(weights.values())
    return {key: weight / total for key, weight in weights.items()}


def critical(chances: Chances, level: float) -> int | None:
    """Give the smallest sum whose one-sided p is within ``level``; None if none is."""
    tail, found = 0.0, None
    for key in sorted(chances, reverse=True):
        tail += chances[key]
        if tail > level:
            break
        found = key
    return found


def doubled_ranks(values: Sequence[float]) -> list[int]:
    """Give twice the rank of each value, ties sharing their middle rank."""
    below = Counter(values)
    ranks, passed = {}, 0
    for value in sorted(below):
        ranks[value] = 2 * passed + below[value] + 1
        passed += below[value]
    return [ranks[value] for value in values]


@dataclass(frozen=True, slots=True)
class Posed:
    """A question as the correction sees it.

    ``group`` is the family it belongs to and ``share`` that family's part of the
    level, beside the others'; ``reachable`` are all the p it could have given, rising.
    """

    group: Hashable
    share: float
    p: float
    reachable: tuple[float, ...]

    def chance_within(self, p: float) -> float:
        """Give the chance that this question gives ``p`` or less by chance alone."""
        place = bisect_right(self.reachable, p * (1 + SAME))
        return self.reachable[place - 1] if place else 0.0


SAME = 1e-9
"""Two p-values nearer than this are one, reached by two ways of adding up."""


def reachable(chances: Chances) -> tuple[float, ...]:
    """Give every one-sided p that these chances allow, the least first."""
    return tuple(accumulate(chances[key] for key in sorted(chances, reverse=True)))


def groups_asked(posed: Sequence[Posed], level: float) -> dict[Hashable, float]:
    """Pick the groups that could reach significance, with the level each may spend.

    A group that could not, whatever the answers had been, costs the others nothing.
    Tarone 1990 (Biometrics 46:515), with shares.
    """
    least: dict[Hashable, float] = {}
    shares = {one.group: one.share for one in posed}
    for one in posed:
        cost = _cost(one.reachable[0], _members(posed, one.group))
        least[one.group] = min(cost, least.get(one.group, math.inf))
    kept: list[Hashable] = []
    spent = 0.0
    for group in sorted(least, key=lambda g: least[g] / shares[g]):
        if kept and least[group] / shares[group] > level / spent:
            break
        kept.append(group)
        spent += shares[group]
    return {group: level * shares[group] / spent for group in kept}


def _members(posed: Sequence[Posed], group: Hashable) -> list[Posed]:
    return [one for one in posed if one.group == group]


def _cost(p: float, members: Sequence[Posed]) -> float:
    """Bound the chance that any of the members gives ``p`` or less."""
    return math.fsum(one.chance_within(p) for one in members)


def corrected(posed: Sequence[Posed]) -> list[float]:
    """Correct each p for all that was asked, so that one false alarm has its level.

    Inside a group a question costs only the p it could have reached (Westfall and
    Wolfinger 1997, The American Statistician 51:3); the groups share the level; what
    has been shown no longer counts (Holm 1979, Scand. J. Statistics 6:65).
    """
    groups: dict[Hashable, list[int]] = {}
    for place, one in enumerate(posed):
        groups.setdefault(one.group, []).append(place)
    queues = {group: _stepped(members, posed) for group, members in groups.items()}
    result, worst = [1.0] * len(posed), 0.0
    while queues:
        whole = math.fsum(posed[groups[group][0]].share for group in queues)
        group, (cost, place) = min(
            ((group, queue[-1]) for group, queue in queues.items()),
            key=lambda item: item[1][0] / posed[item[1][1]].share,
        )
        own = posed[place].p  # differences of sums may fall short of it by a hair
        worst = max(worst, own, min(1.0, cost * whole / posed[place].share))
        result[place] = worst
        queues[group].pop()
        if not queues[group]:
            del queues[group]
    return result


def _stepped(members: Sequence[int], posed: Sequence[Posed]) -> list[tuple[float, int]]:
    """Give a group's questions, the most telling last, each with its cost by then."""
    left = sorted(members, key=lambda place: posed[place].p)
    costs = {m: _cost(posed[m].p, [posed[o] for o in left]) for m in left}
    steps = []
    while left:
        first = min(left, key=lambda place: (costs[place], posed[place].p))
        steps.append((costs[first], first))
        left.remove(first)
        for other in left:
            costs[other] -= posed[first].chance_within(posed[other].p)
    return steps[::-1]


class Limits(NamedTuple):
    """Where a count of sowings from one find to the next should lie; low 0 is none."""

    low: int
    centre: int
    high: int


USUAL_TAIL = 0.00135
"""Chance beyond one limit of a control chart, as three standard deviations leave."""


def geometric_limits(rate: float, tail: float = USUAL_TAIL) -> Limits:
    """Give chart limits for a gap of 1, 2, ... tries up to the next find.

    The centre is the middle gap. A gap below ``low`` or above ``high`` has a chance
    of at most ``tail``. Geometric (g) chart, with exact limits.
    """
    if rate >= 1:
        return Limits(0, 1, 1)
    step = math.log1p(-rate)
    # a hair's breadth keeps a limit that falls on a whole number from rounding past it
    low = math.floor(math.log1p(-tail) / step + 1e-9) + 1
    centre = math.ceil(math.log(0.5) / step - 1e-9)
    high = math.ceil(math.log(tail) / step - 1e-9)
    return Limits(low if low > 1 else 0, max(centre, 1), high)
