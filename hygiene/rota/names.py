"""Which task a person means: a number on today's list, a code, or part of a name."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from hygiene.errors import Refused, Unknown
from hygiene.rota.day import State

NUMBERS = re.compile(r"([0-9]{1,3})(?:-([0-9]{1,3}))?")


class NoSuchNumber(Unknown):
    """A number that today's list does not have."""

    sentence = "there is no number {given} on today's list"


class SeveralTasks(Unknown):
    """A name that more than one task begins with or contains."""

    sentence = "{given!r} could be {tasks}"


class NotToday(Refused):
    """A task of the rota that is not on today's list."""

    sentence = "refused: {task} is not on today's list"


def resolve(typed: str, titles: Mapping[str, str]) -> str:
    """The code of the task that was typed, among ``titles`` (title by code).

    In this order: the code itself in any case, what only one code begins with, words
    that only one title has. Raises ``Unknown`` with the nearest, or ``SeveralTasks``.
    """
    given = typed.strip().lower()
    exact = [code for code in titles if code.lower() == given]
    begun = [code for code in titles if given and code.lower().startswith(given)]
    words = given.split()
    named = [c for c, title in titles.items() if words and _has(title, words)]
    for found in (exact, begun, named):
        if len(found) == 1:
            return found[0]
        if found:
            raise SeveralTasks(
                given=typed,
                tasks=", ".join(found),
                way_out="write the code in full",
            )
    raise Unknown(sort="task", given=typed, way_out=_nearest(given, titles))


def _has(title: str, words: list[str]) -> bool:
    """Whether each word typed begins some word of the title."""
    there = re.findall(r"\w+", title.lower())
    return all(any(part.startswith(word) for part in there) for word in words)


def _nearest(given: str, titles: Mapping[str, str]) -> str:
    by_lower = {code.lower(): code for code in titles}
    by_lower |= {title.lower(): code for code, title in titles.items()}
    near = get_close_matches(given, by_lower, 1, 0.5)
    if near:
        return f"did you mean {by_lower[near[0]]}?"
    return f"the tasks are: {', '.join(titles)}" if titles else "no task is adopted yet"


def pick(typed: str, listed: Sequence[State], titles: dict[str, str]) -> list[State]:
    """The states on today's list that were typed: ``3``, ``1-4``, or a task's name.

    ``listed`` is the list as numbered from 1 on the screen, ``titles`` those of every
    task in force. A name means the first of its dues that is open, else the
    last one on the list. Raises ``Unknown``, ``NoSuchNumber``, ``SeveralTasks`` or
    ``NotToday``.
    """
    numbers = NUMBERS.fullmatch(typed.strip())
    if numbers and typed.strip() not in titles:
        return _numbered(typed, numbers, listed)
    code = resolve(typed, titles | {s.due.code: s.due.task.title for s in listed})
    own = [state for state in listed if state.due.code == code]
    if not own:
        raise NotToday(task=code)
    return [*(state for state in own if state.open), own[-1]][:1]


def _numbered(
    typed: str, numbers: re.Match[str], listed: Sequence[State]
) -> list[State]:
    first = int(numbers[1])
    last = int(numbers[2] or first)
    if not 1 <= first <= last <= len(listed):
        raise NoSuchNumber(
            given=typed,
            way_out=f"it runs from 1 to {len(listed)}: type hygiene today"
            if listed
            else "nothing is on it: type hygiene today",
        )
    return list(listed[first - 1 : last])
