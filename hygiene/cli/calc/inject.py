"""``hygiene calc inject``: injectors and proportioners, both ways."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.answers import Answer
from hygiene.cli.calc import options as opt
from hygiene.cli.calc.register import Product, gallon_of, strength_and_label
from hygiene.cli.calc.show import GallonOf, Json, show
from hygiene.cli.lazy import one_command
from hygiene.quantities import (
    Gallon,
    duration_min,
    flow_l_per_min,
    level_mg_per_l,
    volume_l,
)
from hygiene.sanitising import injector
from hygiene.sanitising.strength import CHLORINE, Strength

app = one_command()

Flow = Annotated[
    str | None,
    typer.Option(metavar="FLOW", help="Treated water: '8 L/min', '2 US gpm'."),
]
Wanted = Annotated[str | None, typer.Option(metavar="PPM", help="The strength wanted.")]
RatioOf = Annotated[
    str | None,
    typer.Option(
        metavar="1:R",
        help="A proportioner: 1:100 or '1 to 100' (101 parts in all), or '1 in 100'.",
    ),
]
Feed = Annotated[
    str | None,
    typer.Option(metavar="FLOW", help="Instead of --to: what '2 ml/min' gives."),
]
PerDay = Annotated[
    str | None, typer.Option(metavar="VOLUME", help="Water a day, for --season.")
]
SeasonOf = Annotated[
    str | None, typer.Option(metavar="TIME", help="How long: '120 d'.")
]


@app.command()
def inject(
    ctx: typer.Context,
    stock: opt.Stock = None,
    product: Product = None,
    flow: Flow = None,
    to: Wanted = None,
    ratio: RatioOf = None,
    feed: Feed = None,
    background: opt.Background = "0",
    per_day: PerDay = None,
    season: SeasonOf = None,
    density: opt.Density = None,
    solid: opt.Solid = False,
    active: opt.Active = CHLORINE,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """What to feed into a flow, a proportioner's concentrate, a season's amount.

    Without --to: what a --feed gives, or what the stock gives at a --ratio.

    Example: hygiene calc inject --flow "12 L/min" --to 2 --stock "125 g/L"
    """
    strength, label = strength_and_label(
        ctx, product, stock=stock, density=density, solid=solid, active=active
    )
    if label is not None and to is not None:
        label.check(level_mg_per_l(to))
    setting = None if ratio is None else injector.read_ratio(ratio)
    whose = gallon_of(ctx, gallon, flow, feed, per_day)
    if to is None:
        answer = _backwards(strength, flow, feed, setting, whose)
    else:
        answer = injector.inject(
            _flow(flow, whose),
            level_mg_per_l(to),
            strength,
            background_mg_per_l=level_mg_per_l(background, zero=True),
            ratio=setting,
            season=_season(per_day, season, whose),
        )
    show(answer, as_json)


def _flow(flow: str | None, whose: Gallon | None) -> float:
    if flow is None:
        raise injector.CannotInject(why="say the --flow, such as '8 L/min'")
    return flow_l_per_min(flow, gallon=whose)


def _backwards(
    strength: Strength,
    flow: str | None,
    feed: str | None,
    setting: injector.Ratio | None,
    whose: Gallon | None,
) -> Answer:
    if feed is not None:
        drawn = flow_l_per_min(feed, gallon=whose)
        return injector.injected(drawn, _flow(flow, whose), strength)
    if setting is not None:
        return injector.proportioned(setting, strength)
    raise injector.CannotInject(why="say --to, the strength wanted, or --feed")


def _season(
    per_day: str | None, season: str | None, whose: Gallon | None
) -> injector.Season | None:
    if per_day is None and season is None:
        return None
    if per_day is None or season is None:
        raise injector.CannotInject(why="a season needs --per-day and --season")
    litres = volume_l(per_day, gallon=whose)
    return injector.Season(litres, duration_min(season) / 1440)
