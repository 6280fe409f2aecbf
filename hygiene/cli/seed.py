"""``seed``, ``germination``, ``scrap``: a lot comes in, is counted, is thrown out."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Annotated, Any

import typer

from hygiene.acts import seed as acts
from hygiene.acts.codes import meant
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import At, By, RecordPath, WrittenBy, at_work
from hygiene.cli.fields import NoSuchKey, pairs, read
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import Check, Reason, grams, how, may, say
from hygiene.errors import WronglyPut
from hygiene.kinds.base import shapes
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.seed import Germination, Scrap, Seed
from hygiene.tracing.germination import WANTED_PERCENT, Interval, interval

seed_app = one_command()
germination_app = one_command()
scrap_app = one_command()


class NotACount(WronglyPut):
    """A text that is no count of seeds."""

    sentence = "{given!r} is no count: write germinated/sown, such as 93/100"


MORE = (
    "variety",
    "grade",
    "claimed_germination_percent",
    "moisture_percent",
    "look",
    "smell",
    "chaff_percent",
    "pests_seen",
    "ergot_count",
    "best_before",
    "kept_where",
)
"""What else may be said of a lot, each as KEY=VALUE."""


@seed_app.command()
def seed(
    ctx: typer.Context,
    supplier: Annotated[str, typer.Argument(help="The supplier's code.")],
    supplier_lot: Annotated[str, typer.Argument(help="Their lot, letter by letter.")],
    weight: Annotated[str, typer.Argument(metavar="KG", help="How much came in.")],
    more: Annotated[
        list[str] | None,
        typer.Argument(metavar="[KEY=VALUE]...", help=f"Also {', '.join(MORE)}."),
    ] = None,
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
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Take a seed lot in; it gets a short code of our own.

    A lot without the word that it is untreated and fit for feed is held at once.

    Example: hygiene seed ALDER "AF 26/118" 500 moisture_percent=12.5 \
--untreated-seen-by AB --by AB
    """
    described = _described(more or ())
    with at_work(ctx, record) as desk:
        act, weighed = how(desk, by, at, written_by), grams(weight)
        if desk.world.asks and not (untreated_seen_by or dressing or refused):
            untreated_seen_by, declaration = _word_seen(declaration)
        when = act.happened_at
        seen_by = desk.person(untreated_seen_by, when) if untreated_seen_by else None
        with desk.writing() as writing:
            made = acts.receive(
                writing,
                desk.farm,
                act,
                supplier=supplier,
                supplier_lot=supplier_lot,
                grams=weighed,
                untreated_seen_by=seen_by,
                declaration=declaration,
                dressing=dressing,
                accepted=refused is None,
                refused_why=refused,
                document=document,
                attached=attached(writing, attach),
                **described,
            )
    _told(made)


def _word_seen(paper: str | None) -> tuple[str | None, str | None]:
    """Who saw the word that a lot is untreated; a lot of which nobody did is held."""
    from hygiene.cli.guided import offered

    seen_by = offered("Who saw in writing that it is untreated (code; Enter if nobody)")
    if seen_by and not paper:
        paper = offered("On which paper (Enter if none)")
    return seen_by, paper


def _described(words: Iterable[str]) -> dict[str, Any]:
    """The rest of what was said of a lot, read by the kind's own definition."""
    known = {shape.name: shape for shape in shapes(Seed) if shape.name in MORE}
    made = {}
    for key, value in pairs(words):
        if key not in known:
            raise NoSuchKey(kind="seed", given=key, near="", known=", ".join(MORE))
        made[key] = read(known[key], value)
    if "best_before" in made:
        made["best_before"] = date.fromisoformat(made["best_before"])
    return made


def _told(made: acts.Received) -> None:
    say(made.seed, made.already)
    print(f"Write {made.seed.get('lot')} on every bag of it.")
    if made.hold is not None:
        say(made.hold)
        _way_out(made.seed, made.hold.name)
        raise typer.Exit(3)


def _way_out(seed: Entry, hold: str) -> None:
    """What ends the hold of a lot: its paper, where a paper can mend what it lacks."""
    if {"lot-dressed", "lot-refused"}.isdisjoint(items(seed, "marks")):
        print("DO NOT SOW FROM IT. When the paper is there:")
        print(f"  hygiene correct {seed.name} untreated_seen_by=CODE --reason TEXT")
        print(f"  hygiene release {hold} --why TEXT --document TEXT")
        return
    print("DO NOT SOW FROM IT, AND DO NOT FEED IT: no paper makes feed of it. Set it")
    print("apart and have it taken away; when it is gone:")
    print(f"  hygiene scrap {seed.get('lot')} KG --why 'WHERE IT WENT'")
    print(f"  hygiene release {hold} --why TEXT --document 'PAPER OF THE WASTE'")


@germination_app.command()
def germination(
    ctx: typer.Context,
    lot: Annotated[str, typer.Argument(help="The lot, such as L-K7-3-P.")],
    counted: Annotated[
        str,
        typer.Argument(
            metavar="GERMINATED/SOWN", help="How many of how many, such as 93/100."
        ),
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
    say(made, already)
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
            may(acts.against_scrapping(desk.record, code, weighed))
            return
        act = how(desk, by, at, reason=reason)
        thing = Scrap(lot=code, grams=weighed, why=why)
        with desk.writing() as writing:
            made = acts.scrap(writing, thing, act)
            left = acts.holds_of_nothing(writing.record, code)
    say(made.scrap, made.already)
    for name in left:
        print(f"Nothing is left of {code}, and its hold {name} stays open. End it with")
        print("the paper that says where it went:")
        print(f"  hygiene release {name} --why TEXT --document TEXT")
    if made.action is not None:
        say(made.action)
        raise typer.Exit(3)
