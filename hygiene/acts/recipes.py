"""Which act a line of a spreadsheet goes through, kind by kind.

Each recipe makes of a line what its command makes of what was typed, and calls the
same act; it gives the entry, and whether that was recorded already.
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Callable, Mapping
from datetime import datetime, time, timedelta
from typing import Any, Final

from hygiene.acts import (
    batches,
    finds,
    leaving,
    people,
    recipes_of_answers,
    recipes_of_doses,
    seed,
)
from hygiene.acts.calibrating import calibrate
from hygiene.acts.import_scene import Said, Scene, of_column, once
from hygiene.acts.papers import keep, upset
from hygiene.acts.recipe_parts import (
    all_known,
    done,
    fields_of,
    known_in,
    meant_in,
    trays_of,
)
from hygiene.acts.recipes_of_answers import is_entry
from hygiene.acts.signing import miss, questions, sign
from hygiene.acts.water import Given, write_test
from hygiene.errors import HygieneError
from hygiene.exchange.cells import NOON, bad, number, own_code
from hygiene.farm.in_force import InForce
from hygiene.kinds.action import Action
from hygiene.kinds.batch import Discard, Dispatch, Feed, Place, Sample, SeedShare
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold, Mould, Pest
from hygiene.kinds.incident import Ill, Notify
from hygiene.kinds.moments import stamp
from hygiene.kinds.papers import File
from hygiene.kinds.people import Accident, Train, Visitor
from hygiene.kinds.seed import Germination, Scrap
from hygiene.kinds.water import Disturbance
from hygiene.rota.schedule import Due
from hygiene.rota.signing import answer_all

Recipe = Callable[[Scene, Said], tuple[Entry, bool]]


# ---- the rota --------------------------------------------------------------------


def _due(scene: Scene, said: Said) -> Due:
    task = str(said.get("task"))
    found = scene.dues(task, said.at)
    wanted: time | None = said.get("due")
    if wanted is not None:
        at = [due for due in found if due.at.time().replace(tzinfo=None) == wanted]
        found = at or found
    if len(found) == 1:
        return found[0]
    day = f"{said.at:%d %b %Y}"
    if found:
        times = ", ".join(f"{due.at:%H:%M}" for due in found)
        raise of_column(
            "due",
            bad(f"{task} was due at {times} on {day}", "say which in a column 'due'"),
        )
    raise of_column(
        "task",
        bad(
            f"no task {task!r} was due on {day}",
            "see its name with hygiene today; a checklist that was in force earlier: "
            "hygiene set-up FARM.toml --from DATE",
        ),
    )


def _sign_off(scene: Scene, said: Said) -> tuple[Entry, bool]:
    due = _due(scene, said)
    at = said.at if said.timed else due.at
    given = {**_answers(said), **said.further}
    asked = questions(due.task, scene.farm_at(at))
    made = sign(
        scene.writing,
        scene.farm_at(at),
        due,
        answer_all(due.code, asked, given),
        by=said.how.by,
        happened_at=at,
        written_by=said.how.written_by,
        reason=said.how.reason,
        note=said.get("note"),
        attached=said.file.attached,
        sheet=f"csv-{said.file.source.origin.sha256[:8]}-{said.line}",
    )
    return done(made)


def _answers(said: Said) -> dict[str, str]:
    text = str(said.get("answers") or "")
    try:
        parts = [word.partition("=") for word in shlex.split(text)]
    except ValueError:
        parts = [("", "", "")] if text else []
    if any(not key or not equals for key, equals, _ in parts):
        raise of_column(
            "answers",
            bad(f"{text!r} is no list of answers", "write temp=21.3 mould.R1=0"),
        )
    return {key: value for key, _, value in parts}


def _miss(scene: Scene, said: Said) -> tuple[Entry, bool]:
    due = _due(scene, said)
    at = said.at if said.timed else due.at
    before = scene.writing.head.seq
    needed = said.get("needed")
    made = miss(
        scene.writing,
        due,
        why=said.get("why"),
        by=said.how.by,
        needed=needed is not False,
        happened_at=at,
        written_by=said.how.written_by,
        reason=said.how.reason,
    )
    return made, scene.writing.head.seq == before


# ---- seed and batches ------------------------------------------------------------


def _seed(scene: Scene, said: Said) -> tuple[Entry, bool]:
    from hygiene.kinds.seed import Seed

    farm = scene.farm_with(said, supplier="supplier")
    described = fields_of(Seed, said, grams=said.get("kg"))
    return done(seed.receive(scene.writing, farm, said.how, **described))


def _germination(scene: Scene, said: Said) -> tuple[Entry, bool]:
    lot = meant_in(scene, "lot", said, "lot")
    thing = Germination(**fields_of(Germination, said, lot=lot))
    return seed.count(scene.writing, thing, said.how)


def _scrap(scene: Scene, said: Said) -> tuple[Entry, bool]:
    lot = meant_in(scene, "lot", said, "lot")
    thing = Scrap(**fields_of(Scrap, said, lot=lot, grams=said.get("kg")))
    return done(seed.scrap(scene.writing, thing, said.how))


def _sow(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said, rack="rack", line="line")
    shares = [
        SeedShare(lot=meant_in(scene, "lot", said, lot), grams=said.get(kg) or 0)
        for lot, kg in (("lot", "kg"), ("lot_2", "kg_2"))
        if said.get(lot)
    ]
    line = known_in(farm, "line", said, "line") if said.get("line") else None
    return done(
        batches.sow(
            scene.writing,
            farm,
            said.how,
            seeds=tuple(shares),
            places=_places(farm, said),
            line=line,
            note=said.get("note"),
            batch=said.get("batch"),
        )
    )


def _places(farm: InForce, said: Said) -> tuple[Place, ...]:
    rack = known_in(farm, "rack", said, "rack") if said.get("rack") else None
    level = said.get("level")
    return tuple(Place(tray=t, rack=rack, level=level) for t in trays_of(farm, said))


def _move(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said, rack="rack")
    return done(
        batches.move(
            scene.writing,
            farm,
            said.how,
            batch=meant_in(scene, "batch", said, "batch"),
            places=_places(farm, said),
            note=said.get("note"),
        )
    )


def _leaving(scene: Scene, said: Said, farm: InForce) -> dict[str, Any]:
    """The batch and the trays that are meant, as the commands read them."""
    batch = meant_in(scene, "batch", said, "batch") if said.get("batch") else None
    given = trays_of(farm, said)
    if batch is None and not given:
        raise of_column("batch", bad("neither batch nor trays are said", "name one"))
    try:
        code, trays = leaving.trays_meant(scene.record, batch, given, said.at)
    except HygieneError as failure:
        column = "trays" if batch is None else "batch"
        raise of_column(column, failure) from failure
    return {"batch": code, "trays": trays, "grams": said.get("kg")}


def _feed(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said, animals="animals")
    group = known_in(farm, "animals", said, "animals")
    thing = Feed(**fields_of(Feed, said, **_leaving(scene, said, farm), animals=group))
    return done(leaving.feed(scene.writing, farm, thing, said.how))


def _dispatch(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said, buyer="buyer")
    buyer = known_in(farm, "buyer", said, "buyer")
    given = fields_of(Dispatch, said, **_leaving(scene, said, farm), buyer=buyer)
    return done(leaving.dispatch(scene.writing, farm, Dispatch(**given), said.how))


def _discard(scene: Scene, said: Said) -> tuple[Entry, bool]:
    given = fields_of(Discard, said, **_leaving(scene, said, scene.farm_with(said)))
    return done(leaving.discard(scene.writing, Discard(**given), said.how))


def _sample(scene: Scene, said: Said) -> tuple[Entry, bool]:
    more = {
        sort: meant_in(scene, sort, said, sort)
        for sort in ("batch", "lot")
        if said.get(sort)
    }
    trays = trays_of(scene.farm_with(said), said)
    thing = Sample(**fields_of(Sample, said, **more, trays=trays, grams=said.get("kg")))
    return done(leaving.sample(scene.writing, thing, said.how))


# ---- what was found --------------------------------------------------------------


def _mould(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said, rack="rack")
    batch = meant_in(scene, "batch", said, "batch") if said.get("batch") else None
    rack = known_in(farm, "rack", said, "rack") if said.get("rack") else None
    trays = trays_of(farm, said)
    thing = Mould(**fields_of(Mould, said, batch=batch, rack=rack, trays=trays))
    return done(finds.find_mould(scene.writing, farm, thing, said.how))


def _pest(scene: Scene, said: Said) -> tuple[Entry, bool]:
    return once(scene, Pest(**fields_of(Pest, said)), said.how)


def _ill(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said, animals="animals")
    since = said.get("since") or said.at.astimezone(scene.farm.zone).date()
    group = known_in(farm, "animals", said, "animals")
    thing = Ill(**fields_of(Ill, said, animals=group, since=since))
    return done(finds.fall_ill(scene.writing, farm, thing, said.how))


def _notify(scene: Scene, said: Said) -> tuple[Entry, bool]:
    abouts = tuple(
        scene.record.entry(given).first if is_entry(given) else own_code(given)
        for given in said.get("abouts") or ()
    )
    thing = Notify(**fields_of(Notify, said, abouts=abouts))
    return once(scene, thing, said.how)


def _hold(scene: Scene, said: Said) -> tuple[Entry, bool]:
    sort = str(said.get("sort"))
    if sort in ("batch", "lot"):
        held = meant_in(scene, sort, said, "held")
    elif sort in ("rack", "room", "line", "tray", "tank"):
        held = known_in(scene.farm_with(said), sort, said, "held")
    else:
        held = str(said.get("held"))
    return once(scene, Hold(held=held, sort=sort, why=said.get("why")), said.how)


def _action(scene: Scene, said: Said) -> tuple[Entry, bool]:
    scene.record.entry(str(said.get("about")))
    thing = Action(**fields_of(Action, said))
    return once(scene, thing, said.how._replace(gathered=None))


# ---- water, kits, people, papers -------------------------------------------------

_RESULT: Final = re.compile(r"([<>]=?)?\s*(\d[\d., ]*)\s*(.*)")


def _water(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_at(said.at)
    if said.texts["point"].strip().upper() not in map(str.upper, farm.things("point")):
        farm = scene.farm
    method = said.get("method")
    given = [
        Given(code, _result(said, text), method)
        for code, text in _all_results(said).items()
    ]
    if not given:
        raise of_column(
            "results", bad("nothing was read", "fill a column such as free or ph")
        )
    received = said.get("received")
    described = {
        "laboratory": said.get("laboratory"),
        "certificate": said.get("certificate"),
        "received_at": received and stamp(_noon_or_after(scene, said, received)),
        "sampler": said.get("sampler"),
        "note": said.get("note"),
    }
    return done(
        write_test(
            scene.writing,
            farm,
            said.how,
            point=known_in(farm, "point", said, "point"),
            given=given,
            kits=said.get("kit") or (),
            **described,
        )
    )


def _all_results(said: Said) -> dict[str, str]:
    text = str(said.get("results") or "")
    pairs = [word.partition("=") for word in re.split(r"[\s]+", text) if word]
    if any(not key or not value for key, _, value in pairs):
        raise of_column(
            "results", bad(f"{text!r} is no list of results", "write free=0.6 ph=7.4")
        )
    return {**{key: value for key, _, value in pairs}, **said.further}


def _result(said: Said, text: str) -> str:
    """A result as it was written, with a decimal comma as a point."""
    found = _RESULT.fullmatch(text.strip())
    if found is None or "," not in found[2]:
        return text
    value = number(said.manner, found[2])
    return " ".join(part for part in (f"{found[1] or ''}{value:f}", found[3]) if part)


def _noon_or_after(scene: Scene, said: Said, day: Any) -> datetime:
    noon = datetime.combine(day, NOON, scene.farm.zone)
    return max(noon, said.at) if noon.date() == said.at.date() else noon


def _disturbance(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said)
    points = said.get("points")
    if points == ("all",):
        points = tuple(farm.things("point"))
    points = all_known(farm, "point", said, "points", points)
    thing = Disturbance(points=points, sort=said.get("sort"), what=said.get("what"))
    return done(upset(scene.writing, farm, said.how, thing))


def _calibrate(scene: Scene, said: Said) -> tuple[Entry, bool]:
    from hygiene.kinds.kits import Calibrate

    farm = scene.farm_with(said, kit="kit")
    described = fields_of(Calibrate, said, kit=known_in(farm, "kit", said, "kit"))
    return done(calibrate(scene.writing, farm, said.how, **described))


def _train(scene: Scene, said: Said) -> tuple[Entry, bool]:
    day = said.at.astimezone(scene.farm.zone).date()
    thing = Train(**fields_of(Train, said, had_on=day))
    return done(people.train(scene.writing, scene.farm_at(said.at), said.how, thing))


def _visitor(scene: Scene, said: Said) -> tuple[Entry, bool]:
    left = said.get("left_at")
    left_at = None
    if left is not None:
        local = said.at.astimezone(scene.farm.zone)
        made = datetime.combine(local.date(), left, scene.farm.zone)
        left_at = stamp(made if made >= local else made + timedelta(days=1))
    thing = Visitor(**{**fields_of(Visitor, said), "left_at": left_at})
    return done(people.visit(scene.writing, said.how, thing))


def _accident(scene: Scene, said: Said) -> tuple[Entry, bool]:
    farm = scene.farm_with(said, product="product")
    thing = Accident(**fields_of(Accident, said))
    return done(people.accident(scene.writing, farm, said.how, thing))


def _file(scene: Scene, said: Said) -> tuple[Entry, bool]:
    return done(keep(scene.writing, said.how, File(**fields_of(File, said))))


RECIPES: Final[Mapping[str, Recipe]] = {
    "sign_off": _sign_off,
    "miss": _miss,
    "seed": _seed,
    "germination": _germination,
    "scrap": _scrap,
    "sow": _sow,
    "move": _move,
    "feed": _feed,
    "dispatch": _dispatch,
    "discard": _discard,
    "sample": _sample,
    "mould": _mould,
    "pest": _pest,
    "ill": _ill,
    "notify": _notify,
    "hold": _hold,
    "action": _action,
    "container": recipes_of_doses.container,
    "opened": recipes_of_doses.opened,
    "strength": recipes_of_doses.strength,
    "lost": recipes_of_doses.lost,
    "dose": recipes_of_doses.dose,
    "rinse": recipes_of_doses.rinse,
    "water": _water,
    "disturbance": _disturbance,
    "calibrate": _calibrate,
    "train": _train,
    "visitor": _visitor,
    "accident": _accident,
    "file": _file,
    "season": recipes_of_answers.season,
    "recheck": recipes_of_answers.recheck,
    "close": recipes_of_answers.close,
    "countersign": recipes_of_answers.countersign,
}
