"""Entries in words: one line, or the whole of one. Screen and page say it alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Entry, has_passed, items, rows_of


def in_a_line(entry: Entry, *, standing: bool = True) -> str:
    """One line: when, who, what, and the entry's name; ruled through if superseded."""
    when = entry.happened_at[:16].replace("T", " ")
    kind = entry.kind.replace("_", " ")
    said = gist(entry)
    mark = "" if standing else " [no longer stands]"
    return f"{when}  {entry.by:<4} {kind}: {said}{mark}  ({entry.name})"


def gist(entry: Entry) -> str:
    """What an entry says, in a few words; an odd body is shown as it stands."""
    made = _GISTS.get(entry.kind)
    text = made(entry) if made else ""
    return text or ", ".join(
        f"{k.replace('_', ' ')} {inline(v)}" for k, v in entry.body.items()
    )


def _sign_off(entry: Entry) -> str:
    failed = [a for a in rows_of(entry, "answers") if a.get("passed") is False]
    marks = items(entry, "marks")
    said = f"{entry.get('task')} done"
    if failed:
        said += "; failed: " + ", ".join(answered(a) for a in failed)
    if marks:
        said += f" [{', '.join(map(str, marks))}]"
    return said


def _miss(entry: Entry) -> str:
    how = "not done" if entry.get("needed", True) else "not needed"
    return f"{entry.get('task')} {how}: {entry.get('why')}"


def _action(entry: Entry) -> str:
    did = f"; done: {entry.get('did')}" if entry.get("did") else ""
    return f"{entry.get('problem')}{did} (about {entry.get('about')})"


def looked(entry: Entry) -> str:
    """How a recheck went, in a word or three."""
    if has_passed(entry):
        return "passed"
    return "FAILED" if entry.get("passed") is not True else "NO NEW SAMPLE"


def _recheck(entry: Entry) -> str:
    return f"{looked(entry)}: {entry.get('seen')} (action {entry.get('action')})"


def _close(entry: Entry) -> str:
    return f"closed {entry.get('action')}: {entry.get('did')}"


def _hold(entry: Entry) -> str:
    return f"{entry.get('sort')} {entry.get('held')} held: {entry.get('why')}"


def _release(entry: Entry) -> str:
    word, role = entry.get("word_of"), entry.get("word_role")
    on = [
        f"on the word of {word}{f' ({role})' if role else ''}" if word else "",
        f"on {entry.get('document')}" if entry.get("document") else "",
    ]
    said = "".join(f", {part}" for part in on if part)
    return f"released {entry.get('hold')}: {entry.get('why')}{said}"


def _seed(entry: Entry) -> str:
    bad = (
        "" if entry.get("accepted", True) else f", REFUSED: {entry.get('refused_why')}"
    )
    return (
        f"lot {entry.get('lot')}: {_kg(entry)} from {entry.get('supplier')}, their lot "
        f"{entry.get('supplier_lot')}{bad}{_marks(entry)}"
    )


def _germination(entry: Entry) -> str:
    return f"{entry.get('lot')}: {entry.get('germinated')} of {entry.get('sown')}"


def _scrap(entry: Entry) -> str:
    return f"{_kg(entry)} of {entry.get('lot')}: {entry.get('why')}{_marks(entry)}"


def _sow(entry: Entry) -> str:
    seeds = ", ".join(f"{_kg(s)} of {s.get('lot')}" for s in rows_of(entry, "seeds"))
    return f"batch {entry.get('batch')}: {seeds} in {_standing(entry)}{_marks(entry)}"


def _move(entry: Entry) -> str:
    return f"{entry.get('batch')}: {_standing(entry)}{_marks(entry)}"


def _standing(entry: Entry) -> str:
    places = rows_of(entry, "places")
    racks = dict.fromkeys(str(p["rack"]) for p in places if p.get("rack"))
    on = f" on {', '.join(racks)}" if racks else ""
    return f"{_trays([str(p.get('tray')) for p in places])}{on}"


def _left(entry: Entry) -> str:
    to = entry.get("animals") or entry.get("buyer")
    why = (
        f"{entry.get('why')}, {entry.get('route')}" if entry.get("why") else f"to {to}"
    )
    trays = _trays(items(entry, "trays"))
    return f"{_kg(entry)} of {entry.get('batch')} ({trays}) {why}{_marks(entry)}"


def _sample(entry: Entry) -> str:
    halves = [
        f"{half} at {entry.get(key)}"
        for half, key in (("frozen", "frozen_at"), ("chilled", "chilled_at"))
        if entry.get(key)
    ]
    of = entry.get("batch") or entry.get("lot")
    return f"sample of {of}: {', '.join(halves)}; {entry.get('why')}{_marks(entry)}"


def _mould(entry: Entry) -> str:
    named = [entry.get("batch"), *items(entry, "batches")]
    where = ", ".join(str(code) for code in named if code)
    trays = _trays(items(entry, "trays")) if entry.get("trays") else ""
    place = entry.get("rack") or trays
    said = [
        trays if where else "",
        f"{entry.get('tray_count')} trays" if entry.get("tray_count") else "",
        f"day {entry.get('growing_day')}"
        if entry.get("growing_day") is not None
        else "",
        f"{entry.get('share_percent')} % of a tray"
        if entry.get("share_percent")
        else "",
        *(str(entry.get(key) or "") for key in ("colour", "place", "smell", "note")),
    ]
    told = ", ".join(text for text in said if text)
    return f"mould in {where or place}" + (f": {told}" if told else "")


def _pest(entry: Entry) -> str:
    count = f", {entry.get('count')}" if entry.get("count") is not None else ""
    did = f"; done: {entry.get('did')}" if entry.get("did") else ""
    return f"{entry.get('what')} at {entry.get('place')}{count}{did}"


def _ill(entry: Entry) -> str:
    more = ", ".join(
        f"{said}: {entry.get(key)}"
        for key, said in (
            ("milk", "milk"),
            ("sales", "sold"),
            ("feeding_stopped", "fodder stopped"),
        )
        if entry.get(key)
    )
    return (
        f"{entry.get('head_ill')} of {entry.get('head_at_risk')} "
        f"{entry.get('animals')} ill since {entry.get('since')}: {entry.get('signs')}"
        + (f"; {more}" if more else "")
    )


def _assess(entry: Entry) -> str:
    on = f", on {entry.get('document')}" if entry.get("document") else ""
    holds = ", ".join(map(str, items(entry, "holds")))
    return f"{holds}: {entry.get('found')}{on}"


def _drill(entry: Entry) -> str:
    ways = ", ".join(
        f"{way.get('way')} {way.get('found_count')} of {way.get('right_count')} in "
        f"{way.get('seconds')} s"
        for way in rows_of(entry, "ways")
    )
    return f"{entry.get('code')}: {ways}{_marks(entry)}"


def _notify(entry: Entry) -> str:
    return f"{entry.get('role')} {entry.get('who_told')} told: {entry.get('what')}"


def _kg(body: Any) -> str:
    given = body.get("grams")
    if not isinstance(given, int):
        return "an unknown weight"
    return f"{(Decimal(given) / 1000).normalize():f} kg"


def _trays(codes: Sequence[Any]) -> str:
    if len(codes) < 2:
        return f"tray {codes[0]}" if codes else "no tray"
    return f"{len(codes)} trays, {codes[0]} to {codes[-1]}"


def _marks(entry: Entry) -> str:
    marks = items(entry, "marks")
    return f" [{', '.join(map(str, marks))}]" if marks else ""


def _strike(entry: Entry) -> str:
    return f"ruled through {entry.corrects}: {entry.reason}"


def _imported(entry: Entry) -> str:
    count = entry.get("line_count")
    return (
        f"{count} line{'s' * (count != 1)} of {entry.get('sort')} from "
        f"{entry.get('name')} (SHA-256 {str(entry.get('sha256'))[:12]})"
    )


def _gone(entry: Entry) -> str:
    last = f"{entry.get('book_name')}/{entry.get('last_seq')}"
    return f"{last} is the last line of its device: {entry.get('why')}"


def _backup(entry: Entry) -> str:
    heads = [str(head).partition(":")[0] for head in items(entry, "heads")]
    return f"verified copy at {entry.get('place')}, up to {', '.join(heads)}"


def _issued(entry: Entry) -> str:
    about = f" {entry.get('subject')}" if entry.get("subject") else ""
    days = " to ".join(dict.fromkeys((str(entry.get("first")), str(entry.get("last")))))
    file = f"{entry.get('file_name')} ({str(entry.get('file_sha256'))[:12]})"
    return f"report {entry.get('report')}{about}, {days}: {file}"


def _countersign(entry: Entry) -> str:
    what = entry.get("day") or ", ".join(map(str, items(entry, "entries")))
    return f"{entry.get('how')} {what}"


def _container(entry: Entry) -> str:
    size = _amount(entry.body)
    batch = entry.get("maker_batch")
    of = f", batch {batch}" if batch else ""
    return f"{entry.get('container')}: {size} of {entry.get('product')}{of}"


def _opened(entry: Entry) -> str:
    return f"{entry.get('container')} opened"


def _strength(entry: Entry) -> str:
    liquid, solid = entry.get("value_g_per_l"), entry.get("value_g_per_kg")
    value = f"{solid} g/kg" if liquid is None else f"{liquid} g/L"
    how = f" by {entry.get('method')}" if entry.get("method") else ""
    return f"{entry.get('container')} holds {value}{how}"


def _lost(entry: Entry) -> str:
    return f"{_amount(entry.body)} of {entry.get('container')}: {entry.get('why')}"


def _dose(entry: Entry) -> str:
    parts = [f"{entry.get('product')} on {_treated(entry)}"]
    drawn = [_amount(row) for row in rows_of(entry, "drawn")]
    if drawn:
        parts.append(" and ".join(drawn))
    for row in rows_of(entry, "readings"):
        sign = row.get("sign") or ""
        parts.append(f"{row.get('spot')} {sign}{row.get('value_mg_per_l')} mg/L")
    marks = items(entry, "marks")
    return ", ".join(parts) + (f" [{', '.join(map(str, marks))}]" if marks else "")


def _rinse(entry: Entry) -> str:
    parts = [_treated(entry)]
    parts += ["rinsed"] * (entry.get("rinsed", True) is True)
    parts += ["dry"] * (entry.get("dry") is True)
    for row in rows_of(entry, "readings"):
        parts.append(f"{row.get('spot')} {row.get('value_mg_per_l')} mg/L")
    parts += ["timer on"] * (entry.get("timer_on") is True)
    return ", ".join(parts)


def _treated(entry: Entry) -> str:
    trays = [str(tray) for tray in items(entry, "trays")]
    named = [entry.get("line"), entry.get("tank"), entry.get("place")]
    found = [ranges(trays)] if trays else [str(name) for name in named if name]
    return ", ".join(found or [str(tool) for tool in items(entry, "tools")])


def _amount(row: Mapping[str, Any]) -> str:
    liquid, solid = row.get("tenth_ml"), row.get("mg")
    if isinstance(liquid, int):
        return f"{liquid / 10:.10g} ml" if liquid < 10_000 else f"{liquid / 1e4:.10g} L"
    if isinstance(solid, int):
        return f"{solid / 1e3:.10g} g" if solid < 1e6 else f"{solid / 1e6:.10g} kg"
    return "?"


def _water(entry: Entry) -> str:
    rows = rows_of(entry, "results")
    bad = {"over": " OVER", "under": " UNDER", "cannot tell": " UNDECIDED"}
    said = ", ".join(
        f"{row.get('parameter')} {row.get('as_written')}"
        f"{bad.get(str(row.get('verdict')), '')}"
        for row in rows
    )
    lab = f", {entry.get('laboratory')}" if entry.get("laboratory") else ""
    paper = f" {entry.get('certificate')}" if entry.get("certificate") else ""
    return f"{entry.get('point')}: {said}{lab}{paper}{_marks(entry)}"


def _disturbance(entry: Entry) -> str:
    points = ", ".join(map(str, items(entry, "points")))
    return f"{entry.get('sort')} at {points}: {entry.get('what')}"


def _calibrate(entry: Entry) -> str:
    how = "good" if entry.get("passed") else "FAILED"
    shown = (
        f", showed {inline(entry.get('shown'))} {entry.get('unit')}"
        if entry.get("shown") is not None
        else ""
    )
    return f"{entry.get('kit')} against {entry.get('against')}: {how}{shown}"


def _train(entry: Entry) -> str:
    until = f", counts until {entry.get('until')}" if entry.get("until") else ""
    return (
        f"{entry.get('person')}: {entry.get('topic')} on {entry.get('had_on')}{until}"
    )


def _visitor(entry: Entry) -> str:
    business = f" ({entry.get('business')})" if entry.get("business") else ""
    return f"{entry.get('name')}{business}: {entry.get('why')}{_marks(entry)}"


def _accident(entry: Entry) -> str:
    return f"{entry.get('sort')}: {entry.get('who')}, {entry.get('what')}"


def _file(entry: Entry) -> str:
    review = f", review on {entry.get('review_on')}" if entry.get("review_on") else ""
    return f"{entry.get('sort')}: {entry.get('title')}{review}"


def _season(entry: Entry) -> str:
    if entry.get("runs"):
        return f"the shed runs from {entry.get('day')} on"
    return f"the shed stands after {entry.get('day')}"


_GISTS = {
    "sign_off": _sign_off,
    "miss": _miss,
    "action": _action,
    "recheck": _recheck,
    "close": _close,
    "hold": _hold,
    "release": _release,
    "strike": _strike,
    "imported": _imported,
    "backup": _backup,
    "gone": _gone,
    "issued": _issued,
    "countersign": _countersign,
    "container": _container,
    "opened": _opened,
    "strength": _strength,
    "lost": _lost,
    "dose": _dose,
    "rinse": _rinse,
    "seed": _seed,
    "germination": _germination,
    "scrap": _scrap,
    "sow": _sow,
    "move": _move,
    "feed": _left,
    "dispatch": _left,
    "discard": _left,
    "sample": _sample,
    "mould": _mould,
    "pest": _pest,
    "ill": _ill,
    "assess": _assess,
    "notify": _notify,
    "drill": _drill,
    "water": _water,
    "disturbance": _disturbance,
    "calibrate": _calibrate,
    "train": _train,
    "visitor": _visitor,
    "accident": _accident,
    "file": _file,
    "season": _season,
}


def answered(answer: Mapping[str, Any]) -> str:
    """One answer in words: the step, of what, and what was answered."""
    of = f" {answer['of']}" if answer.get("of") else ""
    if "value" in answer:
        said = f"{answer['value']} {answer.get('unit', '')}".rstrip()
    elif "chosen" in answer:
        said = str(answer["chosen"])
    else:
        said = "yes" if answer.get("done") else "no"
    return f"{answer.get('step')}{of} {said}"


def inline(value: Any) -> str:
    """A plain value on one line."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return "(" + ", ".join(f"{k} {inline(v)}" for k, v in value.items()) + ")"
    if isinstance(value, list):
        return ", ".join(inline(item) for item in value)
    if isinstance(value, Decimal):
        return format(value, "f")
    return str(value)


def whole(entry: Entry) -> list[str]:
    """All that an entry says, a field to a line."""
    lines = [
        f"{entry.name}  {entry.kind.replace('_', ' ')}",
        f"  happened  {entry.happened_at}",
        f"  recorded  {entry.recorded_at}",
        f"  by        {entry.by}"
        + (f", typed by {entry.written_by}" if entry.written_by else ""),
    ]
    if entry.reason:
        lines.append(f"  reason    {entry.reason}")
    for key, value in entry.body.items():
        tables = rows_of(entry, key)
        if tables:
            lines.append(f"  {key}:")
            lines += [f"    {_item(item)}" for item in tables]
        else:
            lines.append(f"  {key.replace('_', ' '):<9} {inline(value)}")
    return lines


def _item(item: Mapping[str, Any]) -> str:
    if "step" not in item:
        return inline(item).strip("()")
    did = f"; done: {item['did']}" if item.get("did") else ""
    wrote = f"; wrote {item['wrote']}" if item.get("wrote") else ""
    mark = "" if item.get("passed", True) else "  FAILED"
    return f"{answered(item)}{mark}{did}{wrote}"
