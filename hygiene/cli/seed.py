"""``seed``, ``germination``, ``scrap``: a lot comes in, is counted, is thrown out."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import seed as acts
from hygiene.acts.codes import meant
from hygiene.acts.rules import refuse
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import At, By, RecordPath, WrittenBy, at_work, written
from hygiene.cli.fields import decimal
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import Check, Reason, grams, how
from hygiene.cli.words import gist
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import typed_day
from hygiene.kinds.seed import Germination, Scrap
from hygiene.tracing.germination import WANTED_PERCENT, Interval, interval

seed_app = one_command()
germination_app = one_command()
scrap_app = one_command()


class NotACount(WronglyPut):
    """A text that is no count of seeds."""

    sentence = "{given!r} is no count: write germinated/sown, such as 93/100"


@seed_app.command()
def seed(
    ctx: typer.Context,
    supplier: Annotated[str, typer.Argument(help="The supplier's code.")],
    supplier_lot: Annotated[str, typer.Argument(help="Their lot, letter by letter.")],
    weight: Annotated[str, typer.Argument(metavar="KG", help="How much came in.")],
    untreated_seen_by: Annotated[
        str | None,
        typer.Option(metavar="CODE", help="Who saw the word that it is untreated."),
    ] = None,
    declaration: Annotated[str | None, typer.Option(help="On which paper.")] = None,
    dressing: Annotated[
        str | None, typer.Option(help="What it was dressed with, if it was.")
    ] = None,
    refused: Annotated[
        str | None, typer.Option(metavar="WHY", help="The lot is refused, and why.")
    ] = None,
    document: Annotated[
        str | None, typer.Option(help="Delivery note or invoice.")
    ] = None,
    variety: Annotated[str | None, typer.Option()] = None,
    grade: Annotated[str | None, typer.Option()] = None,
    claimed_germination: Annotated[
        str | None, typer.Option(metavar="PERCENT", help="As the supplier claims.")
    ] = None,
    moisture: Annotated[str | None, typer.Option(metavar="PERCENT")] = None,
    look: Annotated[str | None, typer.Option()] = None,
    smell: Annotated[str | None, typer.Option()] = None,
    chaff: Annotated[str | None, typer.Option(metavar="PERCENT")] = None,
    pests: Annotated[str | None, typer.Option(help="Pests or droppings seen.")] = None,
    ergot: Annotated[int | None, typer.Option(help="Pieces of ergot.")] = None,
    best_before: Annotated[str | None, typer.Option(metavar="DATE")] = None,
    kept_where: Annotated[str | None, typer.Option()] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Take a seed lot in; it gets a short code of our own.

    A lot without the word that it is untreated and fit for feed is held at once.

    Example: hygiene seed ALDER "AF 26/118" 500 --untreated-seen-by AB --by AB
    """
    percents = {
        "claimed_germination_percent": claimed_germination,
        "moisture_percent": moisture,
        "chaff_percent": chaff,
    }
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        described = {
            "supplier_lot": supplier_lot,
            "grams": grams(weight),
            "accepted": refused is None,
            "refused_why": refused,
            "untreated_seen_by": desk.person(untreated_seen_by)
            if untreated_seen_by
            else None,
            "declaration": declaration,
            "dressing": dressing,
            "document": document,
            "variety": variety,
            "grade": grade,
            "look": look,
            "smell": smell,
            "pests_seen": pests,
            "ergot_count": ergot,
            "best_before": typed_day(best_before, desk.now.date())
            if best_before
            else None,
            "kept_where": kept_where,
        }
        for key, text in percents.items():
            described[key] = None if text is None else decimal(key, text)
        with desk.writing() as writing:
            described["attached"] = attached(writing, attach)
            made = acts.receive(writing, desk.farm, act, supplier=supplier, **described)
    _told(made)


def _told(made: acts.Received) -> None:
    lot = made.seed.get("lot")
    if made.already:
        print(f"Already recorded as {made.seed.name}: {gist(made.seed)}")
    else:
        written(made.seed, gist(made.seed))
    print(f"Write {lot} on every bag of it.")
    if made.hold is not None:
        written(made.hold, gist(made.hold))
        print("DO NOT SOW FROM IT. When the paper is there:")
        print(
            f"  hygiene correct {made.seed.name} untreated_seen_by=CODE --reason TEXT"
        )
        print(f"  hygiene release {made.hold.name} --why TEXT --document TEXT")
        raise typer.Exit(3)


@germination_app.command()
def germination(
    ctx: typer.Context,
    lot: Annotated[str, typer.Argument(help="The lot, such as L-K7-3-P.")],
    counted: Annotated[
        str, typer.Argument(metavar="GERMINATED/SOWN", help="Such as 93/100.")
    ],
    days: Annotated[int | None, typer.Option(help="After how many days.")] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write a germination count, with its exact interval, and whether 90 % is shown.

    Example: hygiene germination L-K7-3-P 186/200 --days 3 --by AB
    """
    germinated, sown = _counts(counted)
    with at_work(ctx, record) as desk:
        act = how(desk, by, at)
        code = meant(desk.record, "lot", lot)
        thing = Germination(lot=code, sown=sown, germinated=germinated, days=days)
        with desk.writing() as writing:
            made, already = acts.count(writing, thing, act)
    if already:
        print(f"Already recorded as {made.name}: {gist(made)}")
    else:
        written(made, gist(made))
    found = interval(germinated, sown)
    print(_verdict(found))
    if found.verdict == "not shown":
        raise typer.Exit(3)


def _counts(given: str) -> tuple[int, int]:
    germinated, slash, sown = given.partition("/")
    parts = (germinated.strip(), sown.strip())
    if not slash or not all(p.isascii() and p.isdigit() for p in parts):
        raise NotACount(given=given)
    return int(parts[0]), int(parts[1])


def _verdict(found: Interval) -> str:
    said = {
        "shown": "is shown",
        "not shown": "is NOT reached",
        "unclear": "is unclear: count more seeds",
    }[found.verdict]
    return (
        f"{found.percent:.1f} %, exact 95 % interval {found.low_percent:.1f} to "
        f"{found.high_percent:.1f} %.\n{WANTED_PERCENT:.0f} % {said} (a figure of "
        "common practice, no source)."
    )


@scrap_app.command()
def scrap(
    ctx: typer.Context,
    lot: Annotated[str, typer.Argument(help="The lot, such as L-K7-3-P.")],
    weight: Annotated[str, typer.Argument(metavar="KG", help="How much.")],
    why: Annotated[str, typer.Option(help="Why, and where it went.")],
    check: Check = False,
    reason: Reason = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write that seed of a lot was not sown and is no more.

    Example: hygiene scrap L-K7-3-P 12.5 --why "spilt, swept up, to the muck heap"
    """
    with at_work(ctx, record) as desk:
        code, weighed = meant(desk.record, "lot", lot), grams(weight)
        if check:
            refuse(acts.against_scrapping(desk.record, code, weighed))
            print("Nothing stands against it. Nothing was written.")
            return
        act = how(desk, by, at, reason=reason)
        thing = Scrap(lot=code, grams=weighed, why=why)
        with desk.writing() as writing:
            made = acts.scrap(writing, thing, act)
    if made.already:
        print(f"Already recorded as {made.scrap.name}: {gist(made.scrap)}")
        return
    written(made.scrap, gist(made.scrap))
    if made.action is not None:
        written(made.action, gist(made.action))
        raise typer.Exit(3)
