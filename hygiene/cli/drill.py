"""``hygiene drill``: trace a lot both ways against the clock, as an inspector asks."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator
from time import perf_counter
from typing import Annotated, Any

import typer

from hygiene.acts import drill as acts
from hygiene.acts import trace_told as told
from hygiene.cli.desk import (
    AsJson,
    By,
    Desk,
    RecordPath,
    WrittenBy,
    at_work,
    show_json,
    written,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import columns
from hygiene.cli.typed import how
from hygiene.errors import WronglyPut
from hygiene.kinds.drill import DrillWay
from hygiene.kinds.entry import items
from hygiene.kinds.words import gist

app = one_command()

WIDTH = 79
Watch = Callable[[], float]


class HalfAnAnswer(WronglyPut):
    """Codes without the time that they took, or one way without the other."""

    sentence = "say both ways, and how many seconds each took"


@app.command()
def drill(
    ctx: typer.Context,
    lot: Annotated[
        str | None,
        typer.Argument(metavar="LOT", help="The lot (else drawn by the date)."),
    ] = None,
    went_to: Annotated[
        str | None, typer.Option(metavar="CODES", help="Groups and buyers, found.")
    ] = None,
    went_seconds: Annotated[
        int | None, typer.Option(min=0, help="How long that took.")
    ] = None,
    came_from: Annotated[
        str | None, typer.Option(metavar="CODES", help="Seed lots, found going back.")
    ] = None,
    came_seconds: Annotated[
        int | None, typer.Option(min=0, help="How long that took.")
    ] = None,
    by: By = None,
    written_by: WrittenBy = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Trace a lot both ways against the clock, and keep how it went.

    At a terminal it asks and times you. Elsewhere it prints the two questions; answer
    with the four options. Find the answers with any paper, or with hygiene trace.

    Example: hygiene drill --by AB
    """
    with at_work(ctx, record) as desk:
        laid = acts.lay_out(desk.record, desk.setup, lot, desk.now, perf_counter)
        given = (went_to, went_seconds, came_from, came_seconds)
        if any(each is not None for each in given):
            answers = _typed(laid, *given)
        elif desk.world.asks:
            desk.person(by)
            answers = _asked(desk, laid)
        else:
            if as_json:
                asked = [question.asks for question in laid.questions]
                show_json({"lot": laid.lot, "questions": asked})
            else:
                _questions(laid)
            return
        with desk.writing() as writing:
            made = acts.drill(writing, laid, answers, how(desk, by, None, written_by))
    if as_json:
        show_json(_json(laid, answers, made))
    else:
        for line in _page(laid, answers, made):
            print(line)
    if made.drill.get("marks"):
        raise typer.Exit(3)


def _typed(
    laid: acts.Drilled,
    went_to: str | None,
    went_seconds: int | None,
    came_from: str | None,
    came_seconds: int | None,
) -> tuple[DrillWay, ...]:
    if went_to is None or came_from is None or None in (went_seconds, came_seconds):
        raise HalfAnAnswer(
            way_out="add --went-to CODES --went-seconds N --came-from CODES "
            "--came-seconds N"
        )
    forward, back = laid.questions
    return (
        acts.answered(forward, went_to.split(","), went_seconds or 0),
        acts.answered(back, came_from.split(","), came_seconds or 0),
    )


def _asked(desk: Desk, laid: acts.Drilled) -> tuple[DrillWay, ...]:
    """Ask both, with the clock running while the person looks."""
    print(f"DRILL   lot {laid.lot}, {desk.now:%d %B %Y}. The clock runs from here.")
    made = []
    for number, question in enumerate(laid.questions, 1):
        started = desk.clock()
        text = typer.prompt(f"{number}. {question.asks}\n   Codes, with commas")
        seconds = int((desk.clock() - started).total_seconds())
        made.append(acts.answered(question, text.split(","), seconds))
    return tuple(made)


def _questions(laid: acts.Drilled) -> None:
    print(f"DRILL   lot {laid.lot}")
    for number, question in enumerate(laid.questions, 1):
        print(f"{number}. {question.asks}")
    print("Look at a clock, find the answers, then type:")
    print(f"  hygiene drill {laid.lot} --went-to CODES --went-seconds N \\")
    print("    --came-from CODES --came-seconds N --by CODE")
    print("Nothing was written.")


def _page(
    laid: acts.Drilled, answers: tuple[DrillWay, ...], made: acts.Written
) -> Iterator[str]:
    yield f"DRILL   lot {laid.lot}"
    for way in answers:
        yield from _wrapped(_result(way), "  ")
    yield from _wrapped(acts.WITHIN_SOURCE[0].upper() + acts.WITHIN_SOURCE[1:], "  ")
    yield ""
    yield "WHAT AN INSPECTOR ASKS FOR"
    yield from inspector_lines(laid)
    yield ""
    if made.already:
        yield f"Already recorded as {made.drill.name}: {gist(made.drill)}"
        return
    written(made.drill, gist(made.drill))
    if made.action is not None:
        written(made.action, gist(made.action))
    yield "The next one is due in a year; hygiene today will ask for it."


def _result(way: DrillWay) -> str:
    said = f"{way.way}: {way.found_count} of {way.right_count} found in "
    said += f"{_span(way.seconds)}; the record took {way.record_ms} ms"
    if way.missed:
        said += f"; MISSED {', '.join(way.missed)}"
    if way.wrong:
        said += f"; WRONG {', '.join(way.wrong)}"
    return said


def _span(seconds: int) -> str:
    minutes, rest = divmod(seconds, 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"


def inspector_lines(laid: acts.Drilled) -> Iterator[str]:
    """Supplier, nature, quantity, dates and recipients, and whether it adds up.

    What the law asks of both steps: name and address, nature and quantity, date
    (178/2002 Article 18(2) and (3)).
    """
    trace = laid.trace
    for root in told.back_tree(trace):
        yield from _wrapped(root.text, "  ")
        for step in root.steps:
            when = told.when(trace, step.link)
            yield from _wrapped(f"{step.text}; {when} ({step.link.entry})", "    ")
    for link in trace.forward:
        if link.how in ("fed", "sent"):
            to = told.describe(trace, link.target)
            yield from _wrapped(
                f"{link.source.code}: {told.kg(link.grams)} {link.how} to {to}; "
                f"{told.when(trace, link)} ({link.entry})",
                "    ",
            )
    for each in laid.balance.seed:
        yield (
            f"  seed: {told.kg(each.received)} received = {told.kg(each.sown)} sown + "
            f"{told.kg(each.scrapped + each.sampled)} scrapped or sampled + "
            f"{told.kg(each.in_store)} in store"
        )
    yield f"  trays: {_trays(laid)}"
    for gap in laid.balance.gaps:
        yield from _wrapped(f"! {gap.sort} {gap.code}: {gap.says}", "  ")


def _trays(laid: acts.Drilled) -> str:
    sums = laid.balance.trays
    ended = {
        "fed": sum(each.fed for each in sums),
        "sent": sum(each.sent for each in sums),
        "discarded": sum(each.discarded for each in sums),
        "sampled": sum(each.sampled for each in sums),
        "growing": sum(each.growing for each in sums),
        "NOT KNOWN": sum(len(each.lost) for each in sums),
    }
    parts = " + ".join(f"{count} {how}" for how, count in ended.items() if count)
    return f"{sum(each.sown for each in sums)} sown = {parts or '0'}"


def _wrapped(text: str, start: str) -> list[str]:
    return textwrap.wrap(
        text,
        columns(WIDTH),
        initial_indent=start,
        subsequent_indent=f"{start}  ",
        break_on_hyphens=False,
    )


def _json(
    laid: acts.Drilled, answers: tuple[DrillWay, ...], made: acts.Written
) -> dict[str, Any]:
    return {
        "lot": laid.lot,
        "ways": [
            {
                "way": way.way,
                "asked": way.asked,
                "seconds": way.seconds,
                "record_ms": way.record_ms,
                "found": way.found_count,
                "of": way.right_count,
                "missed": list(way.missed),
                "wrong": list(way.wrong),
            }
            for way in answers
        ],
        "seed": [each._asdict() for each in laid.balance.seed],
        "gaps": [gap._asdict() for gap in laid.balance.gaps],
        "entry": made.drill.name,
        "action": made.action.name if made.action else None,
        "marks": list(items(made.drill, "marks")),
    }
