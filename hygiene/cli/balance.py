"""``hygiene balance``: seed in grams, trays to the last one, fodder by weight.

``--json`` writes ``from``, ``to``, ``seed`` (grams by lot), ``trays`` (by batch),
``fodder`` (grams by batch), ``yield_kg_per_kg``, ``published`` and ``gaps``.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Annotated, Any

import typer

from hygiene.acts.balance import add_up, all_of_days, of_code
from hygiene.acts.codes import meant
from hygiene.acts.subject import MINTED, in_days
from hygiene.cli.desk import AsJson, Desk, LastDay, RecordPath, reading, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import columns
from hygiene.cli.typed import grams
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import day_span, typed_day
from hygiene.tracing.balance import YIELD_SOURCE, Balance, SeedSum, TraySum

app = one_command()

A_YEAR = timedelta(days=364)
WIDTH = 79
MOST = 40
"""Lots or batches that are listed; more are only summed."""


class NotLotOrBatch(WronglyPut):
    """A code that is neither."""

    sentence = "{given!r} is neither a lot nor a batch"


class NotWeighed(WronglyPut):
    """A word that says no lot and no weight."""

    sentence = "{given!r}: write what was weighed as L-K7-3-X=84"


@app.command()
def balance(
    ctx: typer.Context,
    code: Annotated[
        str | None,
        typer.Argument(metavar="LOT|BATCH", help="One lot or batch (else a period)."),
    ] = None,
    first: Annotated[
        str | None,
        typer.Option("--from", metavar="DATE", help="First day (else a year ago)."),
    ] = None,
    last: LastDay = None,
    weighed: Annotated[
        list[str] | None,
        typer.Option(metavar="LOT=KG", help="What is in store now; may be repeated."),
    ] = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Does it add up? Seed received = sown + scrapped + in store; trays exactly.

    Exit code 3 says that something does not; it is named, never made to fit.

    Example: hygiene balance L-K7-3-X --weighed L-K7-3-X=84
    """
    with reading(ctx, record) as desk:
        store = dict(_weighed(desk, text) for text in weighed or ())
        days, made = _balance(desk, code, first, last, store)
    if as_json:
        show_json(balance_json(made, days))
    else:
        for line in _page(made, code, days):
            print(line)
    if made.gaps:
        raise typer.Exit(3)


def _balance(
    desk: Desk,
    code: str | None,
    first: str | None,
    last: str | None,
    store: dict[str, int],
) -> tuple[tuple[date, date] | None, Balance]:
    if code is not None:
        sort = _sort(code)
        wanted = of_code(desk.record, sort, meant(desk.record, sort, code))
        return None, add_up(desk.record, wanted, desk.now, weighed=store)
    today = desk.now.date()
    until = typed_day(last, today) if last else today
    since = typed_day(first, today) if first else until - A_YEAR
    span = day_span(since, until, desk.farm.zone)
    return (since, until), all_of_days(desk.record, *span, desk.now, store)


def _sort(code: str) -> str:
    sort = MINTED.get(code.strip()[:1].upper())
    if sort not in ("lot", "batch"):
        raise NotLotOrBatch(given=code, way_out="list them: hygiene log seed, or sow")
    return sort


def _weighed(desk: Desk, text: str) -> tuple[str, int]:
    lot, equals, weight = text.partition("=")
    if not equals:
        raise NotWeighed(given=text)
    return meant(desk.record, "lot", lot), 0 if weight.strip() == "0" else grams(weight)


def _page(
    made: Balance, code: str | None, days: tuple[date, date] | None
) -> Iterator[str]:
    of = code if days is None else f"{in_days(*days)}, both days included"
    yield f"BALANCE   {of}"
    yield ""
    yield from _seed(made.seed)
    yield ""
    yield from _trays(made.trays, listed=code is not None)
    yield ""
    yield from _fodder(made)
    yield ""
    if not made.gaps:
        yield "All of it adds up, to the gram of seed and to the tray."
        return
    yield f"DOES NOT ADD UP: {len(made.gaps)}"
    for gap in made.gaps:
        entries = f" ({', '.join(gap.entries)})" if gap.entries else ""
        text = f"! {gap.sort} {gap.code}: {gap.says}{entries}"
        yield from textwrap.wrap(
            text, columns(WIDTH), subsequent_indent="    ", break_on_hyphens=False
        )
    yield "Find out what happened and put the entry right: hygiene correct ENTRY"


def _seed(sums: Sequence[SeedSum]) -> Iterator[str]:
    yield "SEED, kg  received = sown + scrapped + sampled + in store"
    weighed = any(each.weighed is not None for each in sums)
    head = f"  {'lot':<14}{'received':>10}{'sown':>10}{'scrapped':>10}{'sampled':>9}"
    yield f"{head}{'in store':>10}" + f"{'weighed':>10}" * weighed
    for each in [*sums[:MOST], _sum(sums)]:
        row = f"  {each.lot:<14}{_kg(each.received):>10}{_kg(each.sown):>10}"
        row += f"{_kg(each.scrapped):>10}{_kg(each.sampled):>9}{_kg(each.in_store):>10}"
        found = "" if each.weighed is None else _kg(each.weighed)
        yield (row + f"{found:>10}" * weighed).rstrip()


def _sum(sums: Sequence[SeedSum]) -> SeedSum:
    return SeedSum(
        f"all {len(sums)}",
        sum(each.received for each in sums),
        sum(each.sown for each in sums),
        sum(each.scrapped for each in sums),
        sum(each.sampled for each in sums),
        sum(each.in_store for each in sums),
    )


def _trays(sums: Sequence[TraySum], *, listed: bool) -> Iterator[str]:
    yield "TRAYS  sown = fed + sent + discarded + sampled + growing"
    head = f"  {'batch':<14}{'sown':>7}{'fed':>7}{'sent':>7}{'discarded':>11}"
    yield f"{head}{'sampled':>9}{'growing':>9}{'unknown':>9}"
    shown = sums[:MOST] if listed else [each for each in sums if each.lost][:MOST]
    for each in shown:
        yield _tray_row(each.batch, [each])
    yield _tray_row(f"all {len(sums)}", sums)


def _tray_row(name: str, sums: Sequence[TraySum]) -> str:
    fed, sent = sum(s.fed for s in sums), sum(s.sent for s in sums)
    row = f"  {name:<14}{sum(s.sown for s in sums):>7}{fed:>7}{sent:>7}"
    row += f"{sum(s.discarded for s in sums):>11}{sum(s.sampled for s in sums):>9}"
    lost = sum(len(s.lost) for s in sums)
    return f"{row}{sum(s.growing for s in sums):>9}{lost:>9}"


def _fodder(made: Balance) -> Iterator[str]:
    ratios = [each.kg_per_kg for each in made.fodder if each.kg_per_kg is not None]
    if not ratios:
        yield "FODDER  no batch is over yet"
    else:
        seed = sum(each.seed_grams for each in made.fodder)
        out = sum(each.fodder_grams for each in made.fodder)
        each = f"{made.kg_per_kg} kg a kg"
        yield f"FODDER  {_kg(out)} kg from {_kg(seed)} kg of seed: {each}"
        spread = f"{min(ratios)} to {max(ratios)}"
        yield f"  batches that are over: {len(ratios)}, each of them {spread}"
    yield from textwrap.wrap(
        f"Published: {YIELD_SOURCE}. It is weighed wet, so it is never made to fit.",
        columns(WIDTH),
        initial_indent="  ",
        subsequent_indent="  ",
    )


def _kg(amount: int) -> str:
    return f"{amount / 1000:,.3f}".rstrip("0").rstrip(".")


def balance_json(made: Balance, days: tuple[date, date] | None) -> dict[str, Any]:
    """The balance under keys that stay put; see the head of this module."""
    return {
        "from": days[0] if days else None,
        "to": days[1] if days else None,
        "seed": [each._asdict() for each in made.seed],
        "trays": [{**each._asdict(), "closes": each.closes} for each in made.trays],
        "fodder": [{**f._asdict(), "kg_per_kg": f.kg_per_kg} for f in made.fodder],
        "yield_kg_per_kg": made.kg_per_kg,
        "published": YIELD_SOURCE,
        "gaps": [gap._asdict() for gap in made.gaps],
    }
