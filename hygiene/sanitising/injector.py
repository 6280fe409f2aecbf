"""Injectors and proportioners: what to feed, and what a feed gives.

"1 part to R" makes R + 1 parts in all, "1 in R" makes R: makers mean one or the other
by the same 1:R, so both are shown. The flow is that of the treated water.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Final

from hygiene.answers import Answer, figure, litres
from hygiene.errors import WronglyPut
from hygiene.sanitising.dilution import cautions, product_needed
from hygiene.sanitising.strength import Strength


class CannotInject(WronglyPut):
    """An injector that cannot do what is asked."""

    sentence = "{why}"


@dataclass(frozen=True, slots=True)
class Ratio:
    """A proportioner's setting, R; ``counts_all`` is "1 in R", else "1 part to R"."""

    parts: float
    counts_all: bool = False

    @property
    def in_all(self) -> float:
        """Parts in all to one part of concentrate."""
        return self.parts if self.counts_all else self.parts + 1

    def __str__(self) -> str:
        return f"1 {'in' if self.counts_all else 'to'} {figure(self.parts)}"


_RATIO: Final = re.compile(
    r"1\s*(?P<how>:|to|in)\s*(?P<parts>\d{1,6}(?:\.\d{1,6})?)", re.IGNORECASE
)
_PERCENT: Final = re.compile(r"(?P<percent>\d{1,3}(?:\.\d{1,6})?)\s*%")


def read_ratio(text: str) -> Ratio:
    """Read ``1:100`` or ``1 to 100`` (R + 1 parts), ``1 in 100`` or ``1 %`` (R)."""
    plain = text.strip()
    found, share = _RATIO.fullmatch(plain), _PERCENT.fullmatch(plain)
    if found is not None and float(found["parts"]) >= 1:
        return Ratio(float(found["parts"]), found["how"].lower() == "in")
    if share is not None and 0 < float(share["percent"]) <= 100:
        return Ratio(100 / float(share["percent"]), counts_all=True)
    why = f"{text[:20]!r} is not a ratio: write 1:100, '1 to 100' or '1 in 100'"
    raise CannotInject(why=why)


_INJECT_SOURCE: Final = (
    "feed = flow x wanted / strength, the flow being the treated water: the exact form "
    "of gph = 0.006 x gpm x ppm / % of extension services"
)
_INJECT_VALID: Final = (
    "Steady flow and a fresh product: measure what the injector draws in a minute, and "
    "test at the last nozzle."
)


def feed_ml_per_min(
    flow_l_per_min: float,
    target_mg_per_l: float,
    stock: Strength,
    background_mg_per_l: float = 0.0,
) -> float:
    """Give the feed of product into a flow of treated water (product and all)."""
    if stock.solid:
        raise CannotInject(why="a solid cannot be injected: dissolve it (calc dilute)")
    return product_needed(stock, target_mg_per_l, flow_l_per_min, background_mg_per_l)


def gives_mg_per_l(feed_l: float, flow_l_per_min: float, stock: Strength) -> float:
    """Give the strength that a feed, in L/min of product, makes in the treated flow."""
    if stock.solid:
        raise CannotInject(why="a solid cannot be injected: dissolve it (calc dilute)")
    if feed_l > flow_l_per_min:
        raise CannotInject(why="the feed is more than the whole flow")
    return stock.mg_per_l * feed_l / flow_l_per_min


@dataclass(frozen=True, slots=True)
class Season:
    """How much water a season takes."""

    litres_per_day: float
    days: float


def inject(
    flow_l_per_min: float,
    target_mg_per_l: float,
    stock: Strength,
    *,
    background_mg_per_l: float = 0.0,
    ratio: Ratio | None = None,
    season: Season | None = None,
) -> Answer:
    """Answer an injector's feed, with ``ratio`` also a proportioner's concentrate."""
    feed = feed_ml_per_min(flow_l_per_min, target_mg_per_l, stock, background_mg_per_l)
    wanted = figure(target_mg_per_l)
    if background_mg_per_l:
        wanted = f"({wanted} - {figure(background_mg_per_l)})"
    answer = Answer(
        values={"feed_ml_per_min": feed, "feed_l_per_h": feed * 0.06},
        says=(f"Feed {figure(feed)} ml of product a minute ({litres(feed * 0.06)} an "
              f"hour) into {figure(flow_l_per_min)} L/min.",),
        steps=(*stock.steps,
               f"feed = {figure(flow_l_per_min)} L/min x {wanted} mg/L / "
               f"{figure(stock.mg_per_unit)} mg per ml = {figure(feed)} ml/min",
               f"{figure(feed)} x 60 / 1000 = {figure(feed * 0.06)} L/h"),
        source=_INJECT_SOURCE,
        valid=_INJECT_VALID,
        warnings=stock.warnings,
        cautions=cautions(stock, "inject"),
    )  # fmt: skip
    if ratio is not None:
        added = target_mg_per_l - background_mg_per_l
        answer = _with_ratio(answer, added, flow_l_per_min, stock, ratio)
    if season is not None:
        answer = _with_season(answer, feed / flow_l_per_min, season)
    return answer


def _with_ratio(
    answer: Answer, added_mg_per_l: float, flow: float, stock: Strength, ratio: Ratio
) -> Answer:
    concentrate = added_mg_per_l * ratio.in_all
    other = replace(ratio, counts_all=not ratio.counts_all)
    if concentrate > stock.mg_per_l:
        most = stock.mg_per_l / ratio.in_all
        raise CannotInject(
            why=f"at {ratio} the concentrate would be {figure(concentrate)} mg/L, "
            f"stronger than the product: it can give {figure(most)} mg/L at most"
        )
    per_l = product_needed(stock, concentrate, 1.0)
    draw = flow * 1000 / ratio.in_all
    values = {
        "concentrate_mg_per_l": concentrate,
        "concentrate_parts_in_all": ratio.in_all,
        "concentrate_if_read_the_other_way_mg_per_l": added_mg_per_l * other.in_all,
        "product_ml_per_l_of_concentrate": per_l,
        "concentrate_ml_per_min": draw,
    }
    says = (
        f"Proportioner at {ratio}: concentrate of {figure(concentrate)} mg/L, which is "
        f"{figure(per_l)} ml of product in each litre of concentrate made.",
        f"Does its maker mean {ratio}, or {other}? Then it would be "
        f"{figure(added_mg_per_l * other.in_all)} mg/L.",
    )
    steps = (
        f"{ratio}: {figure(ratio.in_all)} parts in all x {figure(added_mg_per_l)} mg/L "
        f"= {figure(concentrate)} mg/L",
        f"product in 1 L = {figure(concentrate)} / {figure(stock.mg_per_unit)} = "
        f"{figure(per_l)} ml; it draws {figure(flow)} x 1000 / "
        f"{figure(ratio.in_all)} = {figure(draw)} ml/min",
    )
    return replace(
        answer,
        values={**answer.values, **values},
        says=(*answer.says, *says),
        steps=(*answer.steps, *steps),
    )


def _with_season(answer: Answer, ml_per_l: float, season: Season) -> Answer:
    treated = season.litres_per_day * season.days
    product = treated * ml_per_l / 1000
    return replace(
        answer,
        values={
            **answer.values,
            "season_water_l": treated,
            "season_product_l": product,
        },
        says=(
            *answer.says,
            f"For {figure(season.days)} days of {figure(season.litres_per_day)} L: "
            f"{litres(product)} of product. It ages: buy it in parts, not at once.",
        ),
        steps=(
            *answer.steps,
            f"season = {figure(season.litres_per_day)} L x {figure(season.days)} days "
            f"x {figure(ml_per_l)} ml per L / 1000 = {figure(product)} L",
        ),
    )


def injected(feed_l_per_min: float, flow_l_per_min: float, stock: Strength) -> Answer:
    """Answer the other way: what strength a measured feed gives."""
    given = gives_mg_per_l(feed_l_per_min, flow_l_per_min, stock)
    return Answer(
        values={
            "gives_mg_per_l": given,
            "feed_ml_per_min": feed_l_per_min * 1000,
            "feed_l_per_h": feed_l_per_min * 60,
        },
        says=(f"{figure(feed_l_per_min * 1000)} ml/min into {figure(flow_l_per_min)} "
              f"L/min gives {figure(given)} mg/L {stock.name}.",),
        steps=(*stock.steps,
               f"{figure(feed_l_per_min * 1000)} ml/min x {figure(stock.mg_per_unit)} "
               f"mg per ml / {figure(flow_l_per_min)} L/min = {figure(given)} mg/L"),
        source=_INJECT_SOURCE,
        valid=_INJECT_VALID,
        warnings=stock.warnings,
        cautions=cautions(stock, "inject"),
    )  # fmt: skip


def proportioned(ratio: Ratio, concentrate: Strength) -> Answer:
    """Answer the other way: what a concentrate gives at a proportioner's setting."""
    if concentrate.solid:
        raise CannotInject(why="a solid cannot be injected: dissolve it (calc dilute)")
    other = replace(ratio, counts_all=not ratio.counts_all)
    given = concentrate.mg_per_l / ratio.in_all
    return Answer(
        values={
            "gives_mg_per_l": given,
            "if_read_the_other_way_mg_per_l": concentrate.mg_per_l / other.in_all,
        },
        says=(f"At {ratio} it gives {figure(given)} mg/L; read as {other}, "
              f"{figure(concentrate.mg_per_l / other.in_all)} mg/L.",),
        steps=(*concentrate.steps,
               f"{figure(concentrate.mg_per_l)} mg/L / {figure(ratio.in_all)} parts = "
               f"{figure(given)} mg/L"),
        source=_INJECT_SOURCE,
        valid=_INJECT_VALID,
        warnings=concentrate.warnings,
        cautions=cautions(concentrate, "inject"),
    )  # fmt: skip
