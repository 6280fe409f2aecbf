"""``file`` and ``season``: papers that are kept; the shed starts and stops."""

from __future__ import annotations

from dataclasses import replace
from datetime import time
from typing import Annotated

import typer

from hygiene.acts import papers as acts
from hygiene.acts.people import Written
from hygiene.acts.sampling import papers as standing_papers
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import (
    At,
    By,
    RecordPath,
    WrittenBy,
    at_work,
    reading,
    written,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import at_the_farm, stamp, typed_day
from hygiene.kinds.papers import PAPERS, File, Season
from hygiene.kinds.words import gist, in_a_line

file_app = one_command()
season_app = one_command()


class NoPaper(WronglyPut):
    """Neither a paper nor a wish to see them."""

    sentence = "which paper? say its sort and its title, or --list"


class NotATurn(WronglyPut):
    """A word that is neither start nor stop."""

    sentence = "{given!r}: write start or stop"


@file_app.command("file")
def file_command(
    ctx: typer.Context,
    sort: Annotated[
        str | None, typer.Argument(help=f"One of: {', '.join(PAPERS)}.")
    ] = None,
    title: Annotated[str | None, typer.Option(help="What it is called.")] = None,
    number: Annotated[str | None, typer.Option(help="Its number.")] = None,
    dated: Annotated[str | None, typer.Option(metavar="DATE")] = None,
    review: Annotated[
        str | None, typer.Option(metavar="DATE", help="When to look at it again.")
    ] = None,
    kept_where: Annotated[str | None, typer.Option(help="Where the paper is.")] = None,
    about: Annotated[
        list[str] | None,
        typer.Option(metavar="CODE", help="Batch, lot or entry that it is about."),
    ] = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    listed: Annotated[bool, typer.Option("--list", help="List what is kept.")] = False,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Keep a paper: plan, assessment, contract, registration, audit, complaint.

    The next one of the same sort and title stands in its place. A complaint opens a
    corrective action.

    Example: hygiene file assessment --title "RA-07 hypochlorite" --review 2027-09-30
    --attach ra07.pdf --by AB
    """
    if listed:
        with reading(ctx, record) as desk:
            found = standing_papers(desk.record)
        print("\n".join(map(in_a_line, found)) or "No paper is kept yet.")
        return
    if sort is None or title is None:
        raise NoPaper(way_out=f"the sorts are: {', '.join(PAPERS)}")
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        today = desk.now.date()
        thing = File(
            sort=sort,
            title=title,
            number=number,
            dated=typed_day(dated, today) if dated else None,
            review_on=typed_day(review, today) if review else None,
            kept_where=kept_where,
            abouts=tuple(about or ()),
            note=note,
        )
        with desk.writing() as writing:
            thing = replace(thing, attached=attached(writing, attach))
            done = acts.keep(writing, act, thing)
    _tell(done)
    if done.action is not None:
        raise typer.Exit(3)


@season_app.command()
def season(
    ctx: typer.Context,
    turn: Annotated[str, typer.Argument(metavar="start|stop", help="What it does.")],
    day: Annotated[
        str | None,
        typer.Option(
            "--on", metavar="DATE", help="The first day that it runs, or the last one."
        ),
    ] = None,
    why: Annotated[str | None, typer.Option(help="Why.")] = None,
    by: By = None,
    written_by: WrittenBy = None,
    record: RecordPath = None,
) -> None:
    """Write that the shed starts or stops: its tasks are then asked for, or not.

    Example: hygiene season stop --on 2026-07-05 --why "summer, grass enough" --by AB
    """
    if turn not in ("start", "stop"):
        raise NotATurn(given=turn)
    with at_work(ctx, record) as desk:
        today = desk.now.date()
        on = typed_day(day, today) if day else today
        thing = Season(runs=turn == "start", day=on, why=why)
        at = None
        if on < today:
            at = stamp(at_the_farm(on, time(12), desk.farm.zone))
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            done = acts.turn(writing, desk.farm, act, thing)
    _tell(done)
    stood = acts.stood_days(desk.farm, on) if thing.runs else 0
    if stood >= acts.LONG_STOP_DAYS:
        print(
            f"The water stood for {stood} days. Before anybody goes in, flush the "
            "lines with the\ndoors open, clear of the spray; sanitise; test the water."
        )


def _tell(done: Written) -> None:
    if done.already:
        print(f"Already recorded as {done.entry.name}: {gist(done.entry)}")
        return
    written(done.entry, gist(done.entry))
    if done.action is not None:
        written(done.action, f"action: {gist(done.action)}")
