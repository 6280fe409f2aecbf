"""Lines that answer an action or a day, and those that only a person may type."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from binder_farm import BinderFarm
from small_farm import SmallFarm

CLOSE = "date;by;action;did;cause;cleaned;effect"


@pytest.fixture
def action(farm: BinderFarm) -> str:
    """An action about a visit, open since September."""
    path = farm.put("visitor.csv", "date;by;name;why", "3.9.2025;TO;A driver;delivery")
    farm.run("import", path, "--write")
    (visit,) = farm.entries("visitor")
    farm.run(
        "action", visit.name, "--problem", "door left open", "--at", "2025-09-03 12:30"
    )
    return farm.entries("action")[-1].name


def put_in(farm: BinderFarm, kind: str, *lines: str):
    return farm.run("import", farm.put(f"{kind}.csv", *lines), kind, "--write")


def looked(farm: BinderFarm, action: str, passed: str = "yes"):
    row = f"4.9.2025;TO;{action};door shut;{passed}"
    return put_in(farm, "recheck", "date;by;action;seen;passed", row)


def test_a_recheck_of_the_binder_answers_its_action(farm: BinderFarm, action: str):
    """It names the action, its doer, its typist and its line."""
    done = looked(farm, action)
    assert done.exit_code == 0, done.output
    (look,) = farm.entries("recheck")
    assert (look.get("action"), look.get("passed")) == (action, True)
    assert (look.by, look.written_by) == ("TO", "MP")
    assert look.happened_at == "2025-09-04T12:00:00+01:00"
    assert look.reason.startswith("imported from recheck.csv line 2 (")
    assert farm.run("verify").exit_code == 0


def test_a_close_of_the_binder_ends_its_action_once(farm: BinderFarm, action: str):
    """A file that grew finds it written already; another close is refused."""
    looked(farm, action)
    row = f"5.9.2025;TO;{action};new door seal;;;"
    assert put_in(farm, "close", CLOSE, row).exit_code == 0
    (close,) = farm.entries("close")
    assert (close.get("action"), close.by, close.written_by) == (action, "TO", "MP")
    assert close.get("recheck") == farm.entries("recheck")[0].name
    assert "imported from close.csv line 2" in close.reason
    again = put_in(farm, "close", CLOSE, row, row.replace("seal", "lock"))
    assert again.exit_code == 8
    assert "close.csv line 3, action" in again.stderr
    assert "was closed by TO" in again.stderr
    assert "line 2" not in again.stderr
    assert len(farm.entries("close")) == 1


@pytest.mark.parametrize("passed", [None, "no"])
def test_no_close_without_a_recheck_that_passed(
    farm: BinderFarm, action: str, passed: str | None
):
    """As it would be typed: refused, with what to do."""
    if passed:
        looked(farm, action, passed)
    before = farm.heads()
    done = put_in(farm, "close", CLOSE, f"5.9.2025;TO;{action};new door seal;;;")
    assert (done.exit_code, farm.heads()) == (8, before)
    assert "close.csv line 2, action: refused" in done.stderr
    assert "has no recheck that passed" in done.stderr
    assert f"hygiene recheck {action}" in done.stderr


def test_an_incident_wants_all_that_ends_it(farm: BinderFarm):
    """The column that is empty is named."""
    put_in(
        farm, "ill", "date;by;animals;head_ill;head_at_risk;signs",
        "3.9.2025;TO;EWES;2;85;staggering",
    )  # fmt: skip
    (incident,) = [e for e in farm.entries("action") if e.get("incident")]
    looked(farm, incident.name)
    row = f"5.9.2025;TO;{incident.name};other feed;wet hay;none was sown;"
    done = put_in(farm, "close", CLOSE, row)
    assert done.exit_code == 8
    assert "close.csv line 2, effect: refused" in done.stderr
    assert put_in(farm, "close", CLOSE, f"{row}all well").exit_code == 0


@pytest.mark.parametrize(
    ("kind", "head", "row", "says"),
    [
        ("recheck", "action;seen;passed", "shed-aaaa/9;x;yes", "action: there is no"),
        ("recheck", "action;seen;passed", "{visit};x;yes", "action: {visit} is a"),
        ("recheck", "action;seen;passed", "{action};x;maybe", "passed: 'maybe' is"),
        ("recheck", "action;seen;passed;value", "{action};x;yes;3", "unit"),
        ("close", "action;did", "nonsense;x", "action: there is no"),
        ("close", "action;did", "{action};", "did: is empty"),
        (
            "close",
            "action;did;cleaned",
            "{action};x;shed-aaaa/9",
            "cleaned: there is no",
        ),
        ("opened", "container", "NOPE-1", "container: "),
        ("season", "turn", "pause", "turn: 'pause' is no turn"),
        ("season", "turn", "start", "turn: refused: the shed runs already"),
        ("countersign", "day;entry", ";", "day: a day or an entry is wanted"),
        ("countersign", "day;entry", "3.9.2025;{visit}", "day: a day or an entry"),
        ("countersign", "day", "3.9.2025", "day: nothing is signed for 2025-09-03"),
        ("countersign", "entry", "shed-aaaa/9", "entry: there is no"),
        ("countersign", "entry", "{visit}", "by: "),
    ],
)
def test_a_wrong_answer_is_told(
    farm: BinderFarm, action: str, kind: str, head: str, row: str, says: str
):
    """With its line, its column and what to do; nothing is written."""
    before = farm.heads()
    names = {"action": action, "visit": farm.entries("visitor")[0].name}
    row = f"5.9.2025;TO;{row.format(**names)}"
    done = put_in(farm, kind, f"date;by;{head}", row)
    assert (done.exit_code, farm.heads()) == (8, before), done.output
    assert f"{kind}.csv line 2, " in done.stderr
    assert says.format(**names) in done.stderr


def test_a_shed_that_stops_and_starts_is_read_line_by_line(farm: BinderFarm):
    """A start is judged by the stop before it, in the same file."""
    rows = ("8.9.2025;MP;stop;heat", "20.9.2025;MP;start;rain", "1.10.2025;MP;stop;")
    done = put_in(farm, "season", "date;by;turn;why", *rows)
    assert done.exit_code == 0, done.output
    said = [(e.get("day"), e.get("runs")) for e in farm.entries("season")]
    assert said == [("2025-09-08", False), ("2025-09-20", True), ("2025-10-01", False)]


# ---- a second look


@pytest.fixture
def signed(shed: SmallFarm, run: Callable[..., object]):
    """Imports a sheet; the walk of 2 March is signed by AB."""
    shed.later(days=3)

    def imported(kind: str, text: str, by: str = "AB"):
        path = shed.folder / f"{kind}.csv"
        path.write_text(text)
        return run("import", path, kind, "--by", by, "--write", world=shed.world())

    row = "2026-03-02,AB,walk,temp=21 mould.R1=0 mould.R2=0 pests=none\n"
    imported("sign_off", f"date,by,task,answers\n{row}")
    return imported


def entries(shed: SmallFarm, kind: str):
    with shed.open() as record:
        return record.entries([kind])


def test_a_day_of_the_book_is_countersigned(shed: SmallFarm, signed):
    """By another person, once; it names what was looked at."""
    text = "date,by,day\n2026-03-03,CD,2026-03-02\n"
    done = signed("countersign", text)
    assert done.exit_code == 0, done.output
    (look,) = entries(shed, "countersign")
    (walk,) = entries(shed, "sign_off")
    assert (look.get("day"), look.get("how")) == ("2026-03-02", "countersigned")
    assert look.get("entries") == [walk.name]
    assert (look.by, look.written_by) == ("CD", "AB")
    again = signed("countersign", f"{text}2026-03-04,CD,2026-03-02\n")
    assert "recorded already: 1" in again.stdout


def test_one_entry_is_countersigned_by_its_name(shed: SmallFarm, signed):
    """Then no day is said."""
    (walk,) = entries(shed, "sign_off")
    done = signed("countersign", f"date,by,entry\n2026-03-03,CD,{walk.name}\n")
    assert done.exit_code == 0, done.output
    (look,) = entries(shed, "countersign")
    assert (look.get("entries"), look.get("day")) == ([walk.name], None)


def test_nobody_countersigns_what_he_did(shed: SmallFarm, signed):
    """Nor as a self-review, where others can look."""
    done = signed("countersign", "date,by,day\n2026-03-03,AB,2026-03-02\n")
    assert done.exit_code == 8
    assert "countersign.csv line 2, by: refused" in done.stderr
    text = "date,by,day,self_review\n2026-03-03,AB,2026-03-02,yes\n"
    assert signed("countersign", text).exit_code == 8
    assert entries(shed, "countersign") == []


def test_who_did_what_another_typed_reviews_it(shed: SmallFarm, signed):
    """It is self-reviewed, never countersigned, as it would be typed."""
    signed(
        "sign_off",
        "date,by,task,answers\n"
        "2026-03-03,CD,walk,temp=21 mould.R1=0 mould.R2=0 pests=none\n",
    )
    text = "date,by,day,self_review\n2026-03-04,CD,2026-03-03,yes\n"
    done = signed("countersign", text)
    assert done.exit_code == 0, done.output
    (look,) = entries(shed, "countersign")
    assert (look.by, look.get("how")) == ("CD", "self-reviewed")


# ---- typed by hand


@pytest.mark.parametrize("kind", ["release", "assess"])
def test_the_end_of_a_hold_is_typed_by_hand(farm: BinderFarm, kind: str):
    """No sheet ends a hold; it says how that is done."""
    done = farm.run("import", "--template", kind)
    assert done.exit_code == 4
    assert f"only typed by hand, one by one: hygiene {kind} --help" in done.stderr
