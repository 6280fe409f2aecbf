"""Answering a checklist: what is asked, how an answer is read, what follows from it.

A safety step has no default: it is never answered by Enter. A step that fails always
has a consequence; what an answer says is never changed to make it pass.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any, NamedTuple

from hygiene.errors import WronglyPut
from hygiene.kinds.action import Action
from hygiene.kinds.day import Answer
from hygiene.kinds.entry import Entry
from hygiene.rota.judging import judge

YES = ("yes", "y", "ok", "done", "x")
NO = ("no", "n", "not done")
NOTHING = ("none", "nothing", "no", "0")
FINDS = ("mould", "pest")
"""Kinds that nobody wants to write: an answer that writes one does not pass."""


class NotAnAnswer(WronglyPut):
    """A text that does not answer its step."""

    sentence = "{name}: {given!r} is not {wanted}"


class StillWanted(WronglyPut):
    """Steps that must be answered and were not."""

    sentence = "{task}: still wanted: {names}"


class NoSuchStep(WronglyPut):
    """A step that this checklist does not have."""

    sentence = "{task} has no step {given!r}; it has: {known}"


class WhichTask(WronglyPut):
    """An answer that several of the tasks on one line ask for."""

    sentence = "{given!r} is asked by {tasks}: write {first}.{given}=ANSWER"


class SaidTwice(WronglyPut):
    """One question answered twice on one line."""

    sentence = "{given!r} is answered twice"


class Ask(NamedTuple):
    """One question: a step, and the rack, room or line of which it is asked."""

    step: Mapping[str, Any]
    of: str | None = None

    @property
    def name(self) -> str:
        """How the question is named on one line: ``temp`` or ``temp.GROW``."""
        code = str(self.step.get("code"))
        return f"{code}.{self.of}" if self.of else code

    @property
    def sort(self) -> str:
        """tick, choice, reading or entry."""
        return str(self.step.get("sort", "tick"))

    @property
    def default(self) -> str | None:
        """What Enter says; None where the person must answer in words or figures."""
        if self.step.get("safety") or self.sort not in ("tick", "choice"):
            return None
        if self.sort == "tick":
            return "yes"
        good = self.step.get("good") or self.step.get("options")
        return str(good[0]) if good else None


class Answered(NamedTuple):
    """A question with its answer; ``detail`` is the text of an entry to be written."""

    ask: Ask
    answer: Answer
    detail: str | None = None


def asks(
    steps: Iterable[Mapping[str, Any]], codes: Callable[[str], Iterable[str]]
) -> list[Ask]:
    """Every question of a checklist; ``codes("rack")`` gives the racks there are."""
    made: list[Ask] = []
    for step in steps:
        per = step.get("per")
        made += [Ask(step, code) for code in codes(per)] if per else [Ask(step)]
    return made


def answer_all(
    task: str, questions: list[Ask], given: Mapping[str, str]
) -> list[Answered]:
    """Read the answers of one line by the questions' names.

    ``NAME.did`` says what was done about a step. A step asked of several things may
    be answered once for all, unless it is a safety step. Raises ``NoSuchStep``,
    ``NotAnAnswer`` or ``StillWanted``, which names every step that has no default.
    """
    unknown = [key for key in given if not _asked(questions, key)]
    if unknown:
        raise _no_such_step(task, questions, unknown[0])
    missing, made = [], []
    for ask in questions:
        text = _said(ask, given)
        if text is None:
            text = ask.default
        if text is not None:
            made.append(read_answer(ask, text, _did(ask, given)))
        elif not ask.step.get("optional"):
            missing.append(f"{ask.name}=({wanted(ask)})")
    if missing:
        raise StillWanted(task=task, names=" ".join(missing))
    return made


def _said(ask: Ask, given: Mapping[str, str]) -> str | None:
    if ask.name in given:
        return given[ask.name]
    return None if ask.step.get("safety") else given.get(str(ask.step.get("code")))


def _did(ask: Ask, given: Mapping[str, str]) -> str | None:
    return given.get(f"{ask.name}.did") or given.get(f"{ask.step.get('code')}.did")


def _asked(questions: list[Ask], key: str) -> bool:
    names = {ask.name for ask in questions}
    names |= {str(a.step.get("code")) for a in questions if not a.step.get("safety")}
    # what was done may be said once of a safety step too
    done = names | {str(ask.step.get("code")) for ask in questions}
    return key in names or (key.endswith(".did") and key[:-4] in done)


def _no_such_step(task: str, questions: list[Ask], key: str) -> NoSuchStep:
    known = ", ".join(ask.name for ask in questions) or "none"
    return NoSuchStep(task=task, given=key, known=known)


def share_out(
    tasks: Mapping[str, list[Ask]], given: Iterable[tuple[str, str]]
) -> dict[str, dict[str, str]]:
    """The answers of one line by the task that asks for each, questions by task.

    ``TASK.STEP`` names its task; a bare ``STEP`` is for the one task that has it.
    Raises ``WhichTask`` where several have it, ``NoSuchStep`` where none has.
    """
    made: dict[str, dict[str, str]] = {task: {} for task in tasks}
    for key, value in given:
        task, name = _whose(tasks, key)
        if name in made[task]:
            raise SaidTwice(given=name)
        made[task][name] = value
    return made


def _whose(tasks: Mapping[str, list[Ask]], key: str) -> tuple[str, str]:
    """The task that a key is for, and the key as that task knows it."""
    head, _, rest = key.partition(".")
    asking = _who_asks(tasks, key)
    for task, questions in tasks.items():
        if rest and task.lower() == head.lower():
            if _asked(questions, rest):
                return task, rest
            if not asking:
                raise _no_such_step(task, questions, rest)
    if len(asking) > 1:
        raise WhichTask(given=key, tasks=" and ".join(asking), first=asking[0])
    if not asking:
        every = [ask for questions in tasks.values() for ask in questions]
        raise _no_such_step(", ".join(tasks), every, key)
    return asking[0], key


def _who_asks(tasks: Mapping[str, list[Ask]], key: str) -> list[str]:
    return [task for task, questions in tasks.items() if _asked(questions, key)]


def wanted(ask: Ask) -> str:
    """What the question wants, in words."""
    step = ask.step
    match ask.sort:
        case "tick":
            return "yes or no"
        case "choice":
            return " or ".join(map(str, step.get("options", [])))
        case "entry" if step.get("writes") == "water":
            return "none, or readings as free=0.6 ph=7.4 kit=CODE"
        case "entry":
            return "none, or what was found"
    unit = step.get("unit") or ""
    whole = "a whole number" if step.get("whole") else "a number"
    return f"{whole}, {unit}" if unit else whole


def read_answer(ask: Ask, text: str, did: str | None = None) -> Answered:
    """Read and judge one answer; raises ``NotAnAnswer``."""
    made, detail = _read(ask, text.strip())
    made = {"step": str(ask.step.get("code")), "of": ask.of, "did": did, **made}
    if ask.sort == "entry":
        passed = not (detail and ask.step.get("writes") in FINDS)
        return Answered(ask, Answer(passed=passed, **made), detail)
    return Answered(ask, Answer(passed=judge(ask.step, made), **made), detail)


def _read(ask: Ask, text: str) -> tuple[dict[str, Any], str | None]:
    match ask.sort:
        case "choice":
            return {"chosen": _choice(ask, text)}, None
        case "reading":
            return {"value": _reading(ask, text), "unit": ask.step.get("unit")}, None
        case "entry" if text.lower() in NOTHING:
            return {"done": True}, None
        case "entry" if text:
            return {"done": True}, text
    if text.lower() in YES:
        return {"done": True}, None
    if text.lower() in NO:
        return {"done": False}, None
    raise NotAnAnswer(name=ask.name, given=text, wanted=wanted(ask))


def _choice(ask: Ask, text: str) -> str:
    options = [str(option) for option in ask.step.get("options", [])]
    exact = [o for o in options if o.lower() == text.lower()]
    found = exact or [o for o in options if text and o.lower().startswith(text.lower())]
    if len(found) != 1:
        raise NotAnAnswer(name=ask.name, given=text, wanted=wanted(ask))
    return found[0]


def _reading(ask: Ask, text: str) -> Decimal | int:
    unit = str(ask.step.get("unit") or "")
    figure = text.removesuffix(unit).strip() if unit else text
    try:
        value = Decimal(figure)
    except InvalidOperation:
        value = Decimal("nan")
    plain = figure.lstrip("+-").replace(".", "", 1)
    if not value.is_finite() or not (plain.isascii() and plain.isdigit()):
        raise NotAnAnswer(
            name=ask.name, given=text, wanted=wanted(ask), way_out=_pointed(ask, figure)
        )
    if len(figure) > 20:
        raise NotAnAnswer(name=ask.name, given=text, wanted=wanted(ask))
    if ask.step.get("whole"):
        if value != value.to_integral_value() or value < 0:
            raise NotAnAnswer(name=ask.name, given=text, wanted=wanted(ask))
        return int(value)
    return value


def _pointed(ask: Ask, figure: str) -> str | None:
    """The same with a decimal point; three digits after a comma may be thousands."""
    whole, comma, rest = figure.partition(",")
    if not comma or len(rest) == 3 or not (whole + rest).isdecimal():
        return None
    return f"write it with a point: {ask.name}={whole}.{rest}"


def failures(sign_off: Entry) -> list[Mapping[str, Any]]:
    """The answers of a sign-off that did not pass."""
    given = sign_off.get("answers")
    rows = given if isinstance(given, list | tuple) else []
    return [
        row for row in rows if isinstance(row, Mapping) and row.get("passed") is False
    ]


def to_action(sign_off: Entry, answer: Mapping[str, Any]) -> Action:
    """The corrective action that a failed answer opens."""
    of = answer.get("of")
    what = f"{sign_off.get('task')}: {answer.get('step')}"
    return Action(
        about=sign_off.name,
        problem=f"{what}{f' of {of}' if of else ''} {_as_said(answer)}",
        step=str(answer.get("step")),
        did=answer.get("did"),
        concerns=of,
    )


def _as_said(answer: Mapping[str, Any]) -> str:
    if "value" in answer:
        return f"was {answer['value']} {answer.get('unit') or ''}".rstrip()
    if "chosen" in answer:
        return f"was {answer['chosen']!r}"
    return "was seen" if answer.get("done") else "was not done"


def marks(
    *,
    may_sign: Iterable[str],
    roles: Iterable[str],
    trained: bool,
    deadline: datetime,
    now: datetime,
) -> tuple[str, ...]:
    """What a sign-off says of itself for ever: late, not-allowed, untrained."""
    found = []
    if now > deadline:
        found.append("late")
    if not set(may_sign) & set(roles):
        found.append("not-allowed")
    if not trained:
        found.append("untrained")
    return tuple(found)
