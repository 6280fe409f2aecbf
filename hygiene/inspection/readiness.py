"""Ready for an inspection? Every rule, in three heaps, and what each one found.

A rule is a small pure function over what was read; a finding is a value. What can be
put right is put right tonight or asked for tomorrow; what cannot is said first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final, NamedTuple

from hygiene.inspection import of_answers, of_days, of_plans, of_things
from hygiene.inspection.clauses import Clause
from hygiene.inspection.seen import Item, Seen, by_day

TONIGHT, TOMORROW, SAY = "tonight", "tomorrow", "say"
HEAPS: Final = {
    TONIGHT: "Put right tonight",
    TOMORROW: "Ring or order tomorrow",
    SAY: "Cannot be put right: say it first",
}


LONGEST: Final = 240
"""Letters of a place that are shown."""


class Rule(NamedTuple):
    """One rule: what it finds, what to do, which clauses it answers, how long it takes.

    ``minutes`` are for each place that it finds, or for all of them (``at_once``), as
    a person in the shed would guess: an assumption, no source.
    """

    code: str
    what: str
    do: str
    answers: tuple[str, ...]
    heap: str
    minutes: int
    find: Callable[[Seen], Iterable[Item]]
    at_once: bool = False


class Finding(NamedTuple):
    """What one rule found: everywhere that it is, and the clauses that ask for it."""

    rule: Rule
    items: tuple[Item, ...]
    clauses: tuple[Clause, ...] = ()

    @property
    def places(self) -> int:
        """In how many places."""
        return len(self.items)

    @property
    def minutes(self) -> int:
        """How long it takes to put all of them right."""
        return self.rule.minutes * (1 if self.rule.at_once else self.places)


RULES: Final = (
    Rule(
        "gap",
        "Nothing is written of what was due",
        "Write why: hygiene miss TASK --on DATE --reason TEXT; done all the same: "
        "hygiene sign TASK --on DATE --at TIME --reason TEXT",
        ("gaps", "cleaning", "records", "us-cleaning"),
        TONIGHT,
        2,
        of_days.gaps,
    ),
    Rule(
        "unsigned",
        "Not signed by whoever did it",
        "The doer looks at it and says so: hygiene countersign ENTRY --by DOER "
        "--self-review; initials that nobody has: put the person into the farm file",
        ("at-once", "us-signed"),
        TONIGHT,
        2,
        of_days.unsigned,
    ),
    Rule(
        "unreviewed",
        "No second person has looked at it",
        "Somebody who did not do it looks: hygiene countersign ENTRY, or --on DATE, "
        "--by CODE",
        ("reviewed", "us-reviewed"),
        TONIGHT,
        3,
        of_days.unreviewed,
    ),
    Rule(
        "no-action",
        "Out of limit, and nobody wrote what was done",
        "Write it: hygiene action ENTRY --problem TEXT --did TEXT, then look again",
        ("corrective", "act-on-results", "us-suspect-lot", "us-water-tests"),
        TONIGHT,
        5,
        of_answers.no_action,
    ),
    Rule(
        "open-action",
        "Corrective actions that are still open",
        "Look again, then close: hygiene recheck ENTRY --seen TEXT --passed; hygiene "
        "close ENTRY --did TEXT",
        ("corrective", "act-on-results", "us-suspect-lot"),
        TONIGHT,
        15,
        of_answers.open_actions,
    ),
    Rule(
        "closed-unchecked",
        "Closed without a second look that passed",
        "Look again and write it: hygiene recheck ENTRY --seen TEXT --passed",
        ("corrective", "us-suspect-lot"),
        TONIGHT,
        10,
        of_answers.closed_unchecked,
    ),
    Rule(
        "strength",
        "Strength in practice is not the one planned",
        "Do it again at the strength on the label and look again; two papers "
        "differ: put the wrong one right: hygiene correct ENTRY",
        ("plan-and-practice", "used-as-told", "as-authorised", "us-cleaning"),
        TONIGHT,
        45,
        of_plans.strength,
    ),
    Rule(
        "time",
        "Contact time in practice is not the one planned",
        "Do it again for the whole time on the label, and look again; two papers "
        "differ: put the wrong one right: hygiene correct ENTRY",
        ("plan-and-practice", "used-as-told", "as-authorised", "us-cleaning"),
        TONIGHT,
        45,
        of_plans.time,
    ),
    Rule(
        "order",
        "Done in another order than planned",
        "Do it again in the checklist's order, and look again",
        ("plan-and-practice", "dried", "us-before-seed"),
        TONIGHT,
        45,
        of_plans.order,
    ),
    Rule(
        "without-paper",
        "Left the shed without a look, paper, witness or sample",
        "Put the number or the witness in: hygiene correct ENTRY; close the action",
        ("in-and-out", "one-step-forward", "no-mould"),
        TONIGHT,
        5,
        of_plans.without_paper,
    ),
    Rule(
        "chain",
        "A link from seed to animals is missing",
        "Find the paper and write it, or put the code right: hygiene correct ENTRY",
        ("chain", "in-and-out", "one-step-back", "us-values"),
        TONIGHT,
        15,
        of_things.chain,
    ),
    Rule(
        "balance",
        "Does not add up",
        "Find out what happened, and put the entry right: hygiene correct ENTRY; "
        "never make it fit",
        ("balance", "in-and-out"),
        TONIGHT,
        15,
        of_things.balance,
    ),
    Rule(
        "past-day",
        "Still growing after its last growing day",
        "Write what became of it: hygiene feed, or hygiene discard; it stands there: "
        "look at it and smell it, and throw it out if you doubt it",
        ("plan-and-practice", "balance", "no-mould"),
        TONIGHT,
        10,
        of_things.past_day,
    ),
    Rule(
        "expired-store",
        "In the store, past its last day",
        "Mark it, set it apart, write it off: hygiene container CODE --lost AMOUNT "
        "--why TEXT",
        ("in-date", "used-as-told", "kept-apart"),
        TONIGHT,
        5,
        of_things.expired_store,
    ),
    Rule(
        "kit-check",
        "Meters and scales that are not checked",
        "Check it and write it: hygiene calibrate KIT; used meanwhile: say so",
        ("checked-kits", "scales"),
        TONIGHT,
        10,
        of_things.kits_to_check,
    ),
    Rule(
        "drill",
        "The yearly tracing exercise is overdue",
        "Do it now: hygiene drill",
        ("drill", "one-step-back", "us-within-a-day"),
        TONIGHT,
        40,
        of_things.drill,
    ),
    Rule(
        "backup",
        "No verified copy of the record lately",
        "Make one, and keep it elsewhere: hygiene backup DIR",
        ("backups", "records", "us-two-years"),
        TONIGHT,
        5,
        of_things.backup,
    ),
    Rule(
        "incident",
        "Incidents that are still open",
        "Ring whom it concerns and write it: hygiene notify; then cause, deep clean, "
        "recheck, effect: hygiene close ENTRY",
        ("incidents", "withdraw", "us-suspect-lot"),
        TOMORROW,
        30,
        of_answers.open_incidents,
    ),
    Rule(
        "seed-held",
        "Seed that may not be sown",
        "Get the supplier's paper: hygiene correct SEED untreated_seen_by=CODE, then "
        "hygiene release HOLD --document PAPER; dressed seed is never feed: hygiene "
        "scrap LOT KG, then release it on the paper of the waste",
        ("untreated-seed", "one-step-back"),
        TOMORROW,
        15,
        of_things.seed_held,
    ),
    Rule(
        "germination",
        "Seed of which too little germinates",
        "Count 200 seeds again: hygiene germination LOT N/200; then ring the supplier",
        ("not-again",),
        TOMORROW,
        15,
        of_things.germination,
    ),
    Rule(
        "water",
        "Water not sampled in time",
        "Ring the laboratory for bottles, sample, write it: hygiene water POINT --lab",
        ("water-tests", "clean-water", "analyses", "us-water-yearly", "us-water-tests"),
        TOMORROW,
        30,
        of_things.water_due,
    ),
    Rule(
        "kit-order",
        "Strips or reagent past their date",
        "Order new ones; until then read with a kit that is in date",
        ("checked-kits",),
        TOMORROW,
        10,
        of_things.kits_to_order,
    ),
    Rule(
        "register",
        "The register and the product's type do not agree",
        "Read the label again; ask the supplier; put the farm file right",
        ("product-type", "as-authorised"),
        TOMORROW,
        15,
        of_things.register,
    ),
    Rule(
        "data-sheet",
        "Safety data sheets not looked at for too long",
        "Ask the supplier for the newest one, read it, set sds_checked_on in the farm "
        "file",
        ("data-sheets", "in-date"),
        TOMORROW,
        10,
        of_things.data_sheets,
    ),
    Rule(
        "assessment",
        "Assessments and papers past their review",
        "Review it, and write the new day: farm file, or hygiene file",
        ("assessment", "in-date"),
        TOMORROW,
        30,
        of_things.assessments,
    ),
    Rule(
        "training",
        "Training that holds no longer",
        "Book it; until then another signs; had: hygiene train PERSON TOPIC",
        ("trained", "skills", "chemical-training", "us-training"),
        TOMORROW,
        10,
        of_things.training,
    ),
    Rule(
        "own-check",
        "One person did it and checked it",
        "Ask a second person to look, and let them write it: hygiene countersign",
        ("reviewed", "us-reviewed"),
        TOMORROW,
        10,
        of_days.own_check,
    ),
    Rule(
        "again",
        "The same thing found again and again",
        "Look for the cause with the adviser, write it as an action; hygiene causes",
        ("not-again", "corrective", "no-mould"),
        TOMORROW,
        30,
        of_answers.again,
    ),
    Rule(
        "late",
        "Written down late",
        "Say which, and why; from now on write it when it is done",
        ("at-once", "us-at-once"),
        SAY,
        0,
        of_days.late,
    ),
    Rule(
        "impossible",
        "Times that cannot be",
        "Say what really happened, and correct the time: hygiene correct ENTRY",
        ("at-once", "us-at-once", "us-values"),
        SAY,
        0,
        of_days.impossible,
    ),
    Rule(
        "same-value",
        "The same decimals time after time",
        "Say whether it was read each time; look at the instrument",
        ("at-once", "values", "us-values"),
        SAY,
        0,
        of_days.same_decimals,
    ),
    Rule(
        "unread",
        "A tick where a value belongs",
        "Say that it was not read; read it from now on",
        ("values", "us-values"),
        SAY,
        0,
        of_days.unread,
    ),
    Rule(
        "often",
        "Done less often than planned",
        "Say why; change the checklist, or find the hands for it",
        ("plan-and-practice", "cleaning", "us-cleaning"),
        SAY,
        0,
        of_days.frequency,
    ),
    Rule(
        "young",
        "Left before its growing days were over",
        "Say why; change growing_days in the farm file if that is the plan",
        ("plan-and-practice",),
        SAY,
        0,
        of_plans.fed_young,
    ),
    Rule(
        "expired-used",
        "Used past its last day",
        "Say when, on what, and what was done about it",
        ("in-date", "as-authorised", "used-as-told"),
        SAY,
        0,
        of_plans.expired_used,
    ),
    Rule(
        "product-type",
        "A product used where its type does not belong",
        "Say when, on what, and what was done about it",
        ("product-type", "as-authorised", "used-as-told"),
        SAY,
        0,
        of_plans.product_type,
    ),
    Rule(
        "untrained",
        "Done by somebody without the training or the right",
        "Say who, and when the training was had",
        ("trained", "skills", "chemical-training", "us-training"),
        SAY,
        0,
        of_plans.untrained,
    ),
    Rule(
        "kit-used",
        "Read with a kit that does not count",
        "Say which readings; read again with one that is in date",
        ("checked-kits", "scales"),
        SAY,
        0,
        of_plans.kit_used,
    ),
    Rule(
        "against-rules",
        "Done against a rule of safety",
        "Say what happened, why, and what was done about it",
        (
            "plan-and-practice",
            "whole-batch",
            "never-meet",
            "no-mould",
            "us-before-seed",
        ),
        SAY,
        0,
        of_plans.against_rules,
    ),
    Rule(
        "clock",
        "Doubts about the clock",
        "Say so, and set the device's clock; the order of the lines still holds",
        ("true-clock", "at-once"),
        SAY,
        0,
        of_days.clock,
    ),
)
"""Every rule, in the order in which a person reads them."""


class Ready(NamedTuple):
    """What an inspector would find, in the order of the rules."""

    findings: tuple[Finding, ...]

    def heap(self, name: str) -> tuple[Finding, ...]:
        """The findings of one heap."""
        return tuple(f for f in self.findings if f.rule.heap == name)

    def minutes(self, name: str) -> int:
        """How long a heap takes."""
        return sum(finding.minutes for finding in self.heap(name))


def _short(item: Item) -> Item:
    """What a person wrote may be a page long; its entry has all of it."""
    if len(item.says) <= LONGEST:
        return item
    return item._replace(says=f"{item.says[: LONGEST - 3]}...")


def look(seen: Seen, clauses: Iterable[Clause] = ()) -> Ready:
    """Ask every rule; ``clauses`` are those of the farm, its own among them."""
    by_code = {clause.code: clause for clause in clauses if clause.applies}
    found = []
    for rule in RULES:
        items = tuple(_short(item) for item in by_day(rule.find(seen)))
        if items:
            asked = (by_code[code] for code in rule.answers if code in by_code)
            found.append(Finding(rule, items, tuple(asked)))
    return Ready(tuple(found))
