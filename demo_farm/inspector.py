"""What an inspector would find in the year: every trouble, its rule and its day.

``TO_FIND`` names all that ``hygiene ready`` finds: the stories of ``PLANTED`` that are
still to be told of, the days that nobody looked at again, and what is planted here. The
tests hold it against what the rules find: all of it, and nothing else. Only what goes
wrong by chance is not in the table: ``year.build`` gives it back.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from typing import Any, Final, NamedTuple

from demo_farm import mishaps, washing
from demo_farm.dates import A_DAY
from demo_farm.ordinary import on_duty
from demo_farm.shed import MANAGER, Day, Mend, Plan
from hygiene.acts import seed, water
from hygiene.acts.how import How
from hygiene.acts.mending import strike
from hygiene.acts.set_up import FarmFiles
from hygiene.acts.signing import Signed
from hygiene.acts.water import Given
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Pest
from hygiene.kinds.seed import Scrap
from hygiene.kinds.setup import Product

FORGOTTEN_CAN, ITS_LAST_DAY = 177, 100
SAME, SAME_UNTIL = 172, 168
WIPED, STRONGER, LONGER = 174, 166, 164
BEETLES = (165, 158, 151)
NO_KIT, OWN_LOOK, BEHIND, TWIN, TWIN_STRUCK = 161, 159, 157, 156, 154
SELDOM, SELDOM_UNTIL = 155, 50
PUT_OFF = 20
"""Days before the last one."""
BEHIND_BY: Final = timedelta(hours=26)


class ToFind(NamedTuple):
    """A trouble: when it was planted, the rule that finds it, and under which day.

    ``found`` is the day that the finding names, where that is another one; what has no
    day of its own (a sum, a lot) is not ``dated``.
    """

    planted: int
    rule: str
    says: str
    found: int | None = None
    dated: bool = True

    def key(self, last: date) -> tuple[str, date | None]:
        """The rule and the day under which it is found, in a year up to ``last``."""
        before = self.planted if self.found is None else self.found
        return self.rule, last - before * A_DAY if self.dated else None

    def lies_in(self, first: int, last: int) -> bool:
        """Whether it shows in a record from so many days before to so many."""
        shows = self.planted if self.found is None else self.found
        return last <= self.planted <= first and shows >= last


TO_FIND: Final = (
    # stories of PLANTED that are still to be told of
    ToFind(176, "untrained", "trays washed after the training had ended"),
    ToFind(mishaps.EXPIRED, "expired-used", "drawn from a can past its date"),
    ToFind(mishaps.FLOOR_PRODUCT, "product-type", "a product for floors on trays"),
    ToFind(mishaps.FLOOR_PRODUCT, "unread", "and its strength was never read"),
    ToFind(mishaps.ACID_UNRINSED, "against-rules", "acid after bleach in one tub"),
    ToFind(8, "unsigned", "typed by the other one, never signed by the doer"),
    ToFind(mishaps.TRAY_LOST, "balance", "a tray that nobody wrote off", dated=False),
    ToFind(6, "late", "floors, written the next morning"),
    ToFind(mishaps.FORCED, "against-rules", "sown though the tray was in use"),
    ToFind(3, "gap", "floors: nothing written"),
    ToFind(1, "open-action", "dry trays, still open"),
    # days that nobody looked at a second time
    ToFind(298, "unreviewed", "nobody looked again"),
    ToFind(203, "unreviewed", "nobody looked again"),
    ToFind(118, "unreviewed", "nobody looked again"),
    ToFind(61, "unreviewed", "nobody looked again"),
    ToFind(22, "unreviewed", "nobody looked again"),
    # planted here
    ToFind(FORGOTTEN_CAN, "expired-store", "a can behind the buckets", ITS_LAST_DAY),
    ToFind(SAME, "same-value", "20.6 C on five mornings running", SAME_UNTIL),
    ToFind(WIPED, "impossible", "twenty minutes of contact, signed after two"),
    ToFind(STRONGER, "strength", "150 mg/L by the checklist, 240 by the dose"),
    ToFind(BEETLES[0], "again", "beetles in the seed sieve, three times", BEETLES[-1]),
    ToFind(LONGER, "time", "12 minutes by the checklist, 25 by the dose"),
    ToFind(NO_KIT, "kit-used", "pH at a tap, and no kit named that reads it"),
    ToFind(OWN_LOOK, "own-check", "one person put it right, looked and closed it"),
    ToFind(BEHIND, "clock", "a line by a clock that was a day behind", BEHIND + 1),
    ToFind(TWIN, "chain", "seed scrapped of a lot that was ruled through", dated=False),
    ToFind(SELDOM, "often", "the chemical store, left out", SELDOM_UNTIL, dated=False),
    ToFind(PUT_OFF, "assessment", "the review of the descaler's was put off"),
)


def on_day(day: Day) -> bool:
    """Let what is planted here happen; False where the day has none of it."""
    stories: dict[int, Callable[[Day], None]] = {
        FORGOTTEN_CAN: forgotten_can,
        WIPED: wiped,
        STRONGER: stronger,
        LONGER: longer,
        NO_KIT: no_kit,
        OWN_LOOK: own_look,
        BEHIND: behind,
        TWIN: twin,
        **dict.fromkeys(BEETLES, beetles),
        **dict.fromkeys(range(SAME_UNTIL - 1, SAME + 2), same_value),
    }
    story = stories.get(day.before)
    if story is not None:
        story(day)
    seldom(day)
    return story is not None


def same_value(day: Day) -> None:
    """Five mornings with one reading; the thermometer had stopped. Others around it."""
    plan = day.plans.get("walk")
    if plan is not None:
        within = SAME_UNTIL <= day.before <= SAME
        plan.answers["temp.GROW"] = "20.6" if within else "21.2"


def forgotten_can(day: Day) -> None:
    """A can of the floor product comes, goes to the back, and is forgotten there."""
    last = day.shed.last
    can = partial(
        washing.take_in_can,
        day,
        mishaps.QUAT,
        in_use=False,
        made_on=day.date - 40 * A_DAY,
        expires_on=last - ITS_LAST_DAY * A_DAY,
        kept_where="STORE, top shelf, behind the buckets",
    )
    day.at("11:55", can)


def wiped(day: Day) -> None:
    """A wall is wiped; it is signed at once, with the end of the contact to come."""
    day.at("15:22", lambda: _wipe(day))


def _wipe(day: Day) -> None:
    wall, litres = "wall behind the wash bay", washing.TUB_L
    washing.wipe_down(day, "15:20", wall, way="wipe", tool="TUB1", volume_l=litres)


def stronger(day: Day) -> None:
    """The checklist says what it always says; the strip in the dose says more."""
    said = {"start": Decimal(240), "end": Decimal(210)}
    _tub(day, said)


def longer(day: Day) -> None:
    """The checklist says twelve minutes, the dose twenty-five."""
    _tub(day, {"minutes": 25})
    day.plans["wash"].answers["contact"] = "12"


def _tub(day: Day, said: dict[str, Any]) -> None:
    def tub(day: Day, by: str, plan: Plan) -> None:
        washing.wash_today(day, by, plan, **said)

    day.plans["wash"].answers |= {"strength": "150", "endstrength": "120"}
    day.plans["wash"].tub = tub


def no_kit(day: Day) -> None:
    """Free chlorine and pH at a tap, and only the kit for the chlorine is named."""
    day.at("15:05", lambda: _read_without(day))


def _read_without(day: Day) -> None:
    shed = day.shed
    given = [Given("free", "0.44"), Given("ph", "7.3")]
    made = water.write_test(
        shed.writing, shed.farm, How(MANAGER), point="P1", given=given, kits=("DPD",)
    )
    mend = Mend("read again with the pocket meter: 7.4", "both kits are named now")
    for action in made.actions:
        shed.mend(action, mend, "TO")


def own_look(day: Day) -> None:
    """A slow drain: who saw it cleared it, looked again and closed it, all alone."""
    plan = day.plans["walk"]
    plan.fail("drains", "slow", "roots raked out of the gutter", None)
    mend = Mend("runs freely", "gutter raked and flushed", cause="roots")

    def alone(signed: Signed) -> None:
        for action in signed.actions:
            day.shed.mend(action, mend, plan.by)

    plan.then = alone


def behind(day: Day) -> None:
    """A line is written with a tablet whose clock is a day behind."""
    day.at("13:40", lambda: _behind(day))


def _behind(day: Day) -> None:
    shed = day.shed
    shed.now -= BEHIND_BY
    thing = Pest(what="a wasp", place="door of the store", did="let out")
    How(on_duty(day.date)).add(shed.writing, thing)
    shed.now += BEHIND_BY


def beetles(day: Day) -> None:
    """The same beetles once a week, brushed away each time."""
    thing = Pest(what="beetles", place="seed sieve", count=4, did="sieve brushed")
    day.at("16:45", lambda: How(on_duty(day.date)).add(day.shed.writing, thing))


def twin(day: Day) -> None:
    """A delivery is typed twice; dust of the second is scrapped, then it is struck."""
    day.at("11:25", lambda: _typed_twice(day))


def _typed_twice(day: Day) -> None:
    shed, by = day.shed, How(on_duty(day.date))
    made = seed.receive(
        shed.writing,
        shed.farm,
        by,
        supplier="QUILL",
        supplier_lot="QM 0156 B, typed twice",
        grams=240_000,
        untreated_seen_by=by.by,
        declaration="declaration QD-156",
        document="delivery note 0156",
    )
    later = TWIN - TWIN_STRUCK
    day.at("17:35", partial(_scrap_and_strike, day, made.seed), days=later)


def _scrap_and_strike(day: Day, came: Entry) -> None:
    shed = day.shed
    thing = Scrap(lot=str(came.get("lot")), grams=400, why="dust in the bag")
    seed.scrap(shed.writing, thing, How(MANAGER))
    reason = "the same delivery was written already"
    strike(shed.writing, came.name, reason=reason, by=MANAGER)


def seldom(day: Day) -> None:
    """For three months nobody finds the time for the chemical store."""
    plan = day.plans.get("chemicals")
    if plan is not None and SELDOM_UNTIL <= day.before <= SELDOM:
        plan.missed = "nobody free to do it"
        plan.typed_at = plan.at


def with_review_put_off(files: FarmFiles, last: date) -> FarmFiles:
    """The farm files with an assessment whose review was to be so long ago."""
    things = dict(files.wanted.things)
    things["product"] = tuple(
        dataclasses.replace(product, assessment_review_on=last - PUT_OFF * A_DAY)
        if isinstance(product, Product) and product.code == mishaps.DESCALE
        else product
        for product in things["product"]
    )
    wanted = dataclasses.replace(files.wanted, things=things)
    return dataclasses.replace(files, wanted=wanted)
