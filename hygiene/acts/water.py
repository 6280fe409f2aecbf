"""Water tests: what was read is written as it is, with all that follows from it.

Out of limit opens a corrective action for each parameter, and holds sowing from the
line where a limit says so. A later sample at the same point that passes is the recheck
of what is still open there: nobody types it twice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from hygiene.acts.codes import known
from hygiene.acts.how import How
from hygiene.acts.kits import kit_fault
from hygiene.acts.limits import limits_of
from hygiene.acts.resampling import later_and_as_good
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.action import Action, Recheck
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.find import Hold
from hygiene.kinds.moments import moment_of
from hygiene.kinds.water import Result, Water
from hygiene.tracing.holds import SOWING
from hygiene.water.limits import Held, WaterLimit, hold_against
from hygiene.water.parameters import Parameter, Read, parameter_of, read_as
from hygiene.water.trend import Drift, drift, readings

TRAINING: Final = "water"
"""The topic in which whoever reads or samples water is trained."""
DRIFT_TESTS: Final = 60
"""So many tests are looked back at for a drift when one is written."""


class ReceivedBefore(WronglyPut):
    """A laboratory cannot have a sample before it was taken."""

    sentence = "the sample was taken at {taken}, so it was not received at {received}"


class Given(NamedTuple):
    """One result as it was given, with what was said of it alone."""

    parameter: str
    text: str
    method: str | None = None
    kit: str | None = None


class Judged(NamedTuple):
    """One result, read and held against what counts at the point."""

    given: Given
    read: Read
    held: Held

    @property
    def parameter(self) -> Parameter:
        """What was measured."""
        return self.read.parameter

    @property
    def in_words(self) -> str:
        """What was found, and what speaks against it."""
        if self.held.meets:
            return self.read.said
        return f"{self.parameter.name} {self.held.why}"


class Mark(NamedTuple):
    """A mark that a test bears for ever, and why."""

    mark: str
    says: str


class WaterTest(NamedTuple):
    """What a water test wrote, and what follows from it."""

    water: Entry
    judged: tuple[Judged, ...] = ()
    marks: tuple[Mark, ...] = ()
    actions: tuple[Entry, ...] = ()
    holds: tuple[Entry, ...] = ()
    rechecks: tuple[Entry, ...] = ()
    drifts: tuple[tuple[Parameter, Drift], ...] = ()
    already: bool = False

    @property
    def findings(self) -> bool:
        """Whether something is out of limit, undecided or marked."""
        return bool(self.marks) or not all(one.held.meets for one in self.judged)


def judge_all(farm: InForce, point: str, given: Iterable[Given]) -> list[Judged]:
    """Read and judge results at a point by what counted there then."""
    limits = limits_of(farm, point)
    return [_judge(limits, one) for one in given]


def _judge(limits: Sequence[WaterLimit], given: Given) -> Judged:
    read = read_as(parameter_of(given.parameter), given.text)
    return Judged(given, read, hold_against(limits, read))


def result_of(judged: Judged) -> Result:
    """One result as the record holds it."""
    read, held = judged.read, judged.held
    return Result(
        parameter=read.parameter.code,
        value=read.result.value,
        sign=read.result.sign,
        unit=None if read.result.value is None else read.parameter.unit,
        as_written=read.result.as_written,
        method=judged.given.method,
        of_ml=read.result.of_ml,
        kit=judged.given.kit,
        held_against=held.against.says if held.against else None,
        verdict=held.verdict,
        stops=SOWING if held.holds_sowing else None,
    )


def write_test(
    writing: Writing,
    farm: InForce,
    how: How,
    *,
    point: str,
    given: Sequence[Given],
    kits: Sequence[str] = (),
    **described: Any,
) -> WaterTest:
    """Write a water test and all that follows; ``described`` are fields of ``Water``.

    ``farm`` is the set-up as it stood when the sample was taken. ``kits`` are those
    it was read with, the first one for what no other is said to read.
    """
    point = known(farm, "point", point)
    kits = [known(farm, "kit", kit) for kit in kits]
    given = [_with_kit(farm, one, kits) for one in given]
    judged = judge_all(farm, point, given)
    _need_order(writing, how, described.get("received_at"))
    bare = Water(
        point=point,
        results=tuple(result_of(one) for one in judged),
        kit=kits[0] if kits else None,
        **described,
    )
    before = how.retried(writing, bare, "marks")
    if before is not None:
        return WaterTest(before, tuple(judged), already=True)
    marks = tuple(_marks(writing, farm, how, bare))
    names = tuple(dict.fromkeys(mark.mark for mark in marks))
    made = how.add(writing, replace(bare, marks=names))
    return _follow(writing, farm, how, WaterTest(made, tuple(judged), marks))


def _need_order(writing: Writing, how: How, received_at: Any) -> None:
    taken = how.at(writing)
    if received_at is not None and moment_of(received_at) < taken:
        raise ReceivedBefore(
            taken=f"{taken:%Y-%m-%d %H:%M}",
            received=received_at[:16].replace("T", " "),
            way_out="say when the sample was taken: --at 'DATE TIME'",
        )


# ---- kits and people -------------------------------------------------------------


def _with_kit(farm: InForce, given: Given, kits: Sequence[str]) -> Given:
    """The result with its own kit, where that is another than the entry's."""
    if given.kit is not None:
        return given._replace(kit=known(farm, "kit", given.kit))
    code = parameter_of(given.parameter).code
    own = [kit for kit in kits if code in _reads(farm, kit)]
    return given._replace(kit=own[0]) if own and own[0] != kits[0] else given


def _reads(farm: InForce, kit: str) -> tuple[str, ...]:
    return tuple((farm.get("kit", kit) or {}).get("reads") or ())


def _marks(writing: Writing, farm: InForce, how: How, thing: Water) -> Iterator[Mark]:
    at = how.at(writing)
    if thing.sampler is None:
        day = at.astimezone(farm.zone).date()
        if not farm.trained(how.by, TRAINING, day):
            yield Mark(
                "untrained", f"{how.by} had no training in {TRAINING} that holds"
            )
    if thing.laboratory is None:
        yield from _kit_marks(writing.record, farm, thing, at)


def _kit_marks(
    record: Record, farm: InForce, thing: Water, at: datetime
) -> Iterator[Mark]:
    asked = kit_fault(record, farm)
    read_by: dict[str, list[str]] = {}
    for result in thing.results:
        kit = _kit_of(farm, thing, result)
        if kit is not None:
            read_by.setdefault(kit, []).append(result.parameter)
        elif thing.kit is not None or _somebody_reads(farm, result.parameter):
            yield Mark("no-kit", f"no kit was named that reads {result.parameter}")
    for kit, parameters in read_by.items():
        why = asked(kit, at)
        if why is not None:
            says = f"{kit} {why}, and read {', '.join(parameters)}"
            yield Mark("kit-out-of-date", says)


def _kit_of(farm: InForce, thing: Water, result: Result) -> str | None:
    """The kit that a result was read with; one that does not read it is none."""
    if result.kit is not None:
        return result.kit
    if thing.kit is None:
        return None
    reads = _reads(farm, thing.kit)
    return thing.kit if not reads or result.parameter in reads else None


def _somebody_reads(farm: InForce, parameter: str) -> bool:
    return any(parameter in _reads(farm, kit) for kit in farm.things("kit"))


# ---- what follows ----------------------------------------------------------------


def after_correction(record: Record, made: Entry) -> list[Kind]:
    """The actions and holds that a corrected test calls for, beyond those there are.

    What any version before it called out of limit has its action already.
    """
    if made.kind != "water":
        return []
    farm = in_force(record.setup(), moment_of(made.happened_at))
    before = {
        row.get("parameter")
        for version in record.history(made.first)
        if version.name != made.name
        for row in rows_of(version, "results")
        if row.get("verdict") not in (None, "within")
    }
    given = [
        Given(str(r["parameter"]), str(r["as_written"])) for r in made.get("results")
    ]
    done = WaterTest(made, tuple(judge_all(farm, str(made.get("point")), given)))
    actions = [
        _action(farm, made, one)
        for one in done.judged
        if not one.held.meets and one.parameter.code not in before
    ]
    return [*actions, *_holds(record, farm, done)]


def _follow(writing: Writing, farm: InForce, how: How, done: WaterTest) -> WaterTest:
    open_here = open_actions(writing.record, str(done.water.get("point")))
    rechecks = _rechecks(writing, how, done, open_here)
    answered = {str(action.get("step")) for action in open_here}
    actions = [
        how.add(writing, _action(farm, done.water, one))
        for one in done.judged
        if not one.held.meets and one.parameter.code not in answered
    ]
    if done.marks:
        actions.append(how.add(writing, _marked(done)))
    holds = [how.add(writing, hold) for hold in _holds(writing.record, farm, done)]
    return done._replace(
        actions=tuple(actions),
        holds=tuple(holds),
        rechecks=tuple(rechecks),
        drifts=tuple(_drifts(writing, how, done)),
    )


def _action(farm: InForce, water: Entry, judged: Judged) -> Action:
    point = str(water.get("point"))
    line = (farm.get("point", point) or {}).get("line")
    return Action(
        about=water.name,
        problem=f"{point}: {judged.in_words}",
        step=judged.parameter.code,
        concerns=str(line or point),
    )


def _marked(done: WaterTest) -> Action:
    problem = "; ".join(mark.says for mark in done.marks)
    return Action(about=done.water.name, problem=f"water test: {problem}")


def _holds(record: Record, farm: InForce, done: WaterTest) -> Iterator[Hold]:
    """Holds on sowing from each line that the point's water reaches."""
    bad = [one for one in done.judged if one.held.holds_sowing]
    if not bad:
        return
    point = str(done.water.get("point"))
    held = _held_already(record, point)
    why = f"{', '.join(one.read.said for one in bad)} at {point}"
    for line in lines_of(farm, point):
        if line not in held:
            yield Hold(
                held=line, sort="line", stops=SOWING, why=why, because=done.water.name
            )


def _held_already(record: Record, point: str) -> set[str]:
    """The lines on which sowing is held already because of this point's water."""
    return {
        str(hold.get("held"))
        for hold in record.unanswered("hold", "release")
        if hold.get("stops") == SOWING
        and _point_of(record, hold.get("because")) == point
    }


def _point_of(record: Record, name: Any) -> str | None:
    if not isinstance(name, str):
        return None
    cause = record.entry(name)
    return str(cause.get("point")) if cause.kind == "water" else None


def lines_of(farm: InForce, point: str) -> list[str]:
    """The lines that a point speaks of: its own, or all where it has none.

    A point without a line is the incoming water, which reaches every line.
    """
    line = (farm.get("point", point) or {}).get("line")
    return [str(line)] if line else list(farm.things("line"))


def open_actions(record: Record, point: str) -> list[Entry]:
    """The open corrective actions about parameters of a point's water."""
    return [
        action
        for action in record.unanswered("action", "close")
        if action.get("step") and _point_of(record, action.get("about")) == point
    ]


def _rechecks(
    writing: Writing, how: How, done: WaterTest, open_here: Iterable[Entry]
) -> list[Entry]:
    """A sample taken later is the recheck of what is open, parameter by parameter.

    One that cannot be relied on is none; a laboratory's result is not rechecked with
    a kit.
    """
    if done.marks:
        return []
    by_code = {one.parameter.code: one for one in done.judged}
    made = []
    for action in open_here:
        judged = by_code.get(str(action.get("step")))
        failed = writing.record.entry(str(action.get("about")))
        if judged is None or not later_and_as_good(done.water, failed):
            continue
        made.append(how.add(writing, _recheck(action, done.water, judged)))
    return made


def _recheck(action: Entry, water: Entry, judged: Judged) -> Recheck:
    value = judged.read.result.value if judged.read.result.sign == "=" else None
    return Recheck(
        action=action.name,
        seen=f"taken again: {judged.in_words}",
        passed=judged.held.meets,
        value=value,
        unit=None if value is None else judged.parameter.unit,
        evidence=water.name,
    )


def _drifts(
    writing: Writing, how: How, done: WaterTest
) -> Iterator[tuple[Parameter, Drift]]:
    """Drifts among the point's last tests; ``trend`` looks at all of them."""
    record, point = writing.record, str(done.water.get("point"))
    before = how.at(writing) + timedelta(seconds=1)
    found = record.latest("water", point, before=before, most=DRIFT_TESTS)
    for one in done.judged:
        code = one.parameter.code
        # what was struck is asked for only where there is something to call
        if drift(readings(found, code)) is None:
            continue
        standing = [test for test in found if record.standing(test.name) == test]
        called = drift(readings(standing, code))
        if called is not None:
            yield one.parameter, called
