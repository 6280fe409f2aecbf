"""``sow`` and ``move``: a batch begins, and its trays stand somewhere else."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Annotated

import typer

from hygiene.acts import batches as acts
from hygiene.acts.codes import known, meant
from hygiene.acts.rules import Against
from hygiene.cli.desk import At, By, RecordPath, WrittenBy, at_work
from hygiene.cli.elsewhere import say_elsewhere
from hygiene.cli.fields import pairs
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import columns
from hygiene.cli.typed import Check, Reason, how, may, places, say, seeds
from hygiene.kinds.entry import Entry

sow_app = one_command()
move_app = one_command()

Where = Annotated[
    list[str],
    typer.Option(
        "--trays", metavar="TRAYS@RACK/LEVEL", help="As T001..T012@R1/2; may repeat."
    ),
]


@sow_app.command()
def sow(
    ctx: typer.Context,
    lots: Annotated[
        list[str], typer.Argument(metavar="LOT=KG...", help="Seed lots, and how much.")
    ],
    where: Where,
    line: Annotated[str | None, typer.Option(help="The water line.")] = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    check: Check = False,
    reason: Reason = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Sow a batch; it gets a short code. The day of sowing is day 0.

    --check asks beforehand. A sowing against a rule is written with its --reason,
    marked for ever, and its batch may be on hold from the first minute.

    Example: hygiene sow L-K7-3-P=18 --trays T001..T012@R1/2 --line L1 --by AB
    """
    with at_work(ctx, record) as desk:
        say_elsewhere(desk)
        shares = seeds(desk.record, pairs(lots))
        stand = places(desk.farm, where)
        water = known(desk.farm, "line", line) if line else None
        if check:
            place, moment = (desk.record, desk.farm), desk.moment(at)
            may(acts.against_sowing(*place, shares, stand, water, moment))
            return
        act = how(desk, by, at, written_by, reason)
        with desk.writing() as writing:
            made = acts.sow(
                writing,
                desk.farm,
                act,
                seeds=shares,
                places=stand,
                line=water,
                note=note,
            )
        asked = (desk.farm.farm or {}).get("reference_samples", False)
    _tell_sown(made, bool(asked))
    if made.against:
        raise typer.Exit(3)


def _tell_sown(made: acts.Sown, sample_asked: bool) -> None:
    say(made.sow, made.already)
    code = made.sow.get("batch")
    print(f"Write {code} on the rack.")
    if sample_asked:
        print("Keep a small labelled sample of it:")
        print(f"  hygiene sample {code} --why reference --chilled-at PLACE")
    if made.hold is not None:
        say(made.hold)
    tell(made.against, made.action)


def tell(against: Iterable[Against], action: Entry | None) -> None:
    """Say what an act stands against for ever, by which rule, and what it opened."""
    for rule in against:
        _indented(f"MARKED {rule.mark}: {rule.says}")
        _indented(f"  rule: {rule.source}")
    if action is not None:
        kind = "INCIDENT" if action.get("incident") else "To put right"
        print(f"{kind}: {action.name}, on hygiene today until it is closed")


def _indented(text: str) -> None:
    print(textwrap.fill(text, columns(), subsequent_indent="    "))


@move_app.command()
def move(
    ctx: typer.Context,
    batch: Annotated[str, typer.Argument(help="The batch, such as B-K7-42-X.")],
    where: Where,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    check: Check = False,
    reason: Reason = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Move trays of a batch to another rack or level. It stays one batch.

    Example: hygiene move B-K7-42-X --trays T001..T006@R2/1 --by AB
    """
    with at_work(ctx, record) as desk:
        code = meant(desk.record, "batch", batch)
        stand = places(desk.farm, where)
        if check:
            may(acts.against_moving(desk.record, desk.farm, code, stand))
            return
        act = how(desk, by, at, written_by, reason)
        with desk.writing() as writing:
            made = acts.move(
                writing, desk.farm, act, batch=code, places=stand, note=note
            )
    say(made.move, made.already)
    tell(made.against, made.action)
    if made.against:
        raise typer.Exit(3)
