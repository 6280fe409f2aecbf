"""What a spreadsheet may say of each kind of record: its columns, one by one.

A form is what ``hygiene import`` reads and what ``--template`` writes. A column is read
by its sort (``cells.READERS``); what it means is said here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Final, NamedTuple

from hygiene.errors import Unknown
from hygiene.water.parameters import PARAMETERS

STEP: Final = "STEP"
"""A form that also takes a column for each step of the checklist."""
PARAMETER: Final = "PARAMETER"
"""A form that also takes a column for each parameter of water."""


class NoForm(Unknown):
    """A kind that is not read from a spreadsheet."""

    sentence = "{given!r} is not read from a spreadsheet; these are: {known}"


class Field(NamedTuple):
    """One column: its name, how it is read, what it means, and an example."""

    name: str
    sort: str
    says: str
    example: str = ""
    required: bool = False


class Form(NamedTuple):
    """The columns of a kind, and which further ones it takes (STEP, PARAMETER)."""

    kind: str
    fields: tuple[Field, ...]
    more: str | None = None

    def field(self, name: str) -> Field | None:
        """The column of that name."""
        return next((each for each in self.fields if each.name == name), None)


def _must(name: str, sort: str, says: str, example: str = "") -> Field:
    return Field(name, sort, says, example, required=True)


DATE: Final = _must("date", "when", "the day, in the farm's own order", "2026-04-03")
TIME: Final = Field("time", "clock", "the time of day; empty: noon", "07:30")
BY: Final = Field("by", "person", "who did or saw it: the code of a person", "AB")
WRITTEN_BY: Final = Field("written_by", "person", "who wrote it down, if another")
REASON: Final = Field("reason", "text", "why it was done so, or written late")
NOTE: Final = Field("note", "text", "a remark")
OWN: Final = "your own number of it, as on the paper; empty: a new code is given"
KG: Final = _must("kg", "grams", "weight in kilograms, or with its unit", "12.5")
TRAYS: Final = Field("trays", "codes", "which trays: T001..T006 T010", "T001..T006")
BATCH: Final = Field("batch", "code", "the batch: its code, or your own number")
LOOK: Final = Field("look_ok", "yes", "looked at: no mould (yes or no)", "yes")
SMELL: Final = Field("smell_ok", "yes", "smells fresh (yes or no)", "yes")


def _form(kind: str, *fields: Field, more: str | None = None) -> Form:
    return Form(kind, (DATE, TIME, BY, *fields, WRITTEN_BY, REASON), more)


FORMS: Final = {
    form.kind: form
    for form in (
        _form(
            "sign_off",
            _must("task", "code", "the task of the rota", "walk"),
            Field("due", "clock", "its time, where it is due more than once a day"),
            Field("answers", "text", "answers in one cell: temp.GROW=21.3 mould.R1=0"),
            NOTE,
            more=STEP,
        ),
        _form(
            "miss",
            _must("task", "code", "the task that was not done", "floors"),
            Field("due", "clock", "its time, where it is due more than once a day"),
            _must("why", "text", "why it was not done", "no water"),
            Field("needed", "yes", "no, where it was not needed that day"),
        ),
        _form(
            "seed",
            Field("lot", "own", OWN, "2024-07"),
            _must("supplier", "code", "the code of the supplier", "ALDER"),
            _must("supplier_lot", "text", "the supplier's lot, letter by letter"),
            KG,
            Field("accepted", "yes", "no, where it was sent back"),
            Field("refused_why", "text", "why it was sent back"),
            Field("untreated_seen_by", "person", "who saw that it is untreated seed"),
            Field("declaration", "text", "on what paper that was seen"),
            Field("dressing", "text", "what it was dressed with, if it was"),
            Field("document", "text", "delivery note or invoice"),
            Field("variety", "text", "the variety"),
            Field("grade", "text", "the grade"),
            Field("claimed_germination_percent", "number", "as the supplier says, %"),
            Field("moisture_percent", "number", "moisture, %"),
            Field("chaff_percent", "number", "chaff, %"),
            Field("look", "text", "how it looked"),
            Field("smell", "text", "how it smelt"),
            Field("pests_seen", "text", "pests or their traces"),
            Field("ergot_count", "whole", "pieces of ergot"),
            Field("best_before", "day", "the supplier's date"),
            Field("kept_where", "text", "where it is kept"),
        ),
        _form(
            "germination",
            _must("lot", "code", "the lot: its code, or your own number", "2024-07"),
            _must("sown", "whole", "how many seeds were laid out", "100"),
            _must("germinated", "whole", "how many germinated", "94"),
            Field("days", "whole", "after how many days", "3"),
        ),
        _form(
            "scrap",
            _must("lot", "code", "the lot: its code, or your own number", "2024-07"),
            KG,
            _must("why", "text", "why it was not sown", "spilled"),
        ),
        _form(
            "sow",
            Field("batch", "own", OWN, "24/117"),
            _must("lot", "code", "the lot: its code, or your own number", "2024-07"),
            KG,
            Field("lot_2", "code", "a second lot, if there was one"),
            Field("kg_2", "grams", "and its weight"),
            TRAYS._replace(required=True),
            Field("rack", "code", "the rack on which they stood", "R1"),
            Field("level", "whole", "the level, from the floor"),
            Field("line", "code", "the water line", "L1"),
            NOTE,
        ),
        _form(
            "move",
            BATCH._replace(required=True, example="24/117"),
            TRAYS._replace(required=True),
            _must("rack", "code", "the rack on which they stand now", "R2"),
            Field("level", "whole", "the level, from the floor"),
            NOTE,
        ),
        _form(
            "feed",
            BATCH._replace(example="24/117"),
            TRAYS._replace(example=""),
            _must("animals", "code", "the group that ate it", "EWES"),
            KG,
            LOOK,
            SMELL,
            NOTE,
        ),
        _form(
            "dispatch",
            BATCH._replace(example="24/117"),
            TRAYS._replace(example=""),
            _must("buyer", "code", "the buyer's code", "HOLLOW"),
            KG,
            Field("document", "text", "delivery note or invoice", "DN-117"),
            LOOK,
            SMELL,
            NOTE,
        ),
        _form(
            "discard",
            BATCH._replace(example="24/117"),
            TRAYS._replace(example=""),
            KG,
            _must("why", "text", "why it was thrown away", "too old"),
            _must("route", "text", "where it went, away from animals", "muck heap"),
            Field("witness", "text", "who saw it go"),
        ),
        _form(
            "sample",
            BATCH._replace(example="24/117"),
            Field("lot", "code", "or the lot, where it is seed"),
            Field("trays", "codes", "trays that were taken whole"),
            Field("kg", "grams", "how much, in kilograms", "0.5"),
            Field("frozen_at", "text", "where the frozen half is kept", "freezer"),
            Field("chilled_at", "text", "where the chilled half is kept", "fridge"),
            _must("why", "text", "why it was taken", "reference"),
            Field("laboratory", "text", "where it was sent"),
        ),
        _form(
            "mould",
            BATCH._replace(example="24/117"),
            Field("rack", "code", "or the rack"),
            Field("trays", "codes", "or the trays"),
            Field("tray_count", "whole", "how many trays", "2"),
            Field("growing_day", "whole", "the day of growing"),
            Field("share_percent", "whole", "how much of the tray, %"),
            Field("colour", "text", "its colour", "grey"),
            Field("place", "text", "where in the tray"),
            Field("smell", "text", "its smell"),
            NOTE,
        ),
        _form(
            "pest",
            _must("what", "text", "which pest, or what trace", "droppings"),
            _must("place", "text", "where", "seed store"),
            Field("count", "whole", "how many", "3"),
            Field("did", "text", "what was done about it", "bait box 3"),
        ),
        _form(
            "ill",
            _must("animals", "code", "the group", "EWES"),
            Field("since", "day", "since when; empty: that day"),
            _must("head_ill", "whole", "how many were ill", "2"),
            _must("head_at_risk", "whole", "of how many", "85"),
            Field("head_dead", "whole", "how many died"),
            _must("signs", "text", "what was seen", "staggering"),
            Field("appetite_kept", "yes", "whether they ate (yes or no)"),
            Field("feeding_stopped", "text", "when the fodder was stopped"),
            Field("other_feed", "text", "what else they ate"),
            NOTE,
        ),
        _form(
            "notify",
            _must("role", "word", "vet, authority, buyer, supplier ...", "vet"),
            _must("who_told", "text", "who was told, by name", "E. Ash"),
            _must("what", "text", "what they were told, and said", "stop feeding"),
            Field("abouts", "words", "about which batch, lot or entry"),
            Field("how", "text", "by telephone, letter, in person"),
        ),
        _form(
            "hold",
            _must("held", "code", "what is held: a batch, lot, tray, rack, line ..."),
            _must("sort", "word", "which that is: batch, lot, tray, line", "batch"),
            _must("why", "text", "why it is held", "smelt musty"),
        ),
        _form(
            "action",
            _must("about", "code", "the entry that it is about", "shed-k7q2/1042"),
            _must("problem", "text", "what is wrong", "door left open"),
            Field("did", "text", "what was done at once"),
            Field("concerns", "code", "the rack, line or tray"),
        ),
        _form(
            "container",
            Field("container", "own", OWN, "can-12"),
            _must("product", "code", "the product's code", "hypo"),
            _must("amount", "amount", "how much is in it, with its unit", "20 L"),
            Field("maker_batch", "text", "the maker's batch, letter by letter"),
            Field("made_on", "day", "the day it was made"),
            Field("received_on", "day", "the day it came in"),
            Field("expires_on", "day", "its last day by the label"),
            Field("kept_where", "text", "where it is kept"),
            Field("kept_at_c", "number", "how warm it is there, C"),
            Field("supplier", "code", "the supplier's code"),
            Field("document", "text", "delivery note or invoice"),
        ),
        _form(
            "opened",
            _must(
                "container", "code", "the container: its code, or your number", "can-12"
            ),
        ),
        _form(
            "strength",
            _must(
                "container", "code", "the container: its code, or your number", "can-12"
            ),
            Field("value_g_per_l", "number", "found: g/L of the active", "112"),
            Field("value_g_per_kg", "number", "or g/kg, of a solid"),
            Field("method", "text", "how it was measured", "titration"),
            Field("kit", "code", "with which kit"),
            NOTE,
        ),
        _form(
            "lost",
            _must(
                "container", "code", "the container: its code, or your number", "can-12"
            ),
            _must("amount", "amount", "how much, with its unit", "0.5 L"),
            _must("why", "text", "spilled, thrown away, sent back", "spilled"),
        ),
        _form(
            "dose",
            Field("product", "code", "the product, if no container is known", "hypo"),
            Field("container", "code", "the container: its code, or your own number"),
            Field("amount", "amount", "how much was measured out", "96 ml"),
            Field("trays", "codes", "the trays that were treated", "T001..T006"),
            Field("line", "code", "or the water line"),
            Field("tank", "code", "or the tank"),
            Field("place", "text", "or the surface"),
            Field("tools", "codes", "tools that were treated, or used"),
            Field("way", "word", "soak, spray, foam or wipe", "soak"),
            Field("volume_l", "litres", "made up to so many litres", "60 L"),
            Field("target_mg_per_l", "number", "the strength wanted, mg/L", "200"),
            Field("start_mg_per_l", "number", "read at the start, mg/L", "190"),
            Field("end_mg_per_l", "number", "read at the end, mg/L", "160"),
            Field("kit", "code", "the kit that read it"),
            Field("ph", "number", "its pH"),
            Field("temp_c", "number", "its temperature, C"),
            Field("minutes", "number", "for how many minutes it stood", "12"),
            Field("washed_before", "yes", "washed first (yes or no)"),
            Field("rinsed", "yes", "rinsed after (yes or no)", "yes"),
            Field("dry", "yes", "stood until dry (yes or no)", "yes"),
            Field("deep", "yes", "the deep variant, after mould"),
            Field("gear", "words", "what was worn: gloves, goggles", "gloves"),
            Field("locked_off_by", "person", "who locked the line's timer"),
            NOTE,
        ),
        _form(
            "rinse",
            Field("trays", "codes", "the trays that were rinsed", "T001..T006"),
            Field("line", "code", "or the water line"),
            Field("tank", "code", "or the tank"),
            Field("tools", "codes", "or the tools"),
            Field("rinsed", "yes", "no, where they were only dried"),
            Field("dry", "yes", "stood until dry (yes or no)", "yes"),
            NOTE,
        ),
        _form(
            "water",
            _must("point", "code", "the sample point", "P1"),
            Field("results", "text", "results in one cell: free=0.6 ph=7.4"),
            Field("kit", "words", "the kits it was read with", "DPD"),
            Field("laboratory", "text", "the laboratory, by name"),
            Field("certificate", "text", "the number of its paper"),
            Field("method", "text", "the laboratory's method"),
            Field("received", "day", "when the laboratory had it"),
            Field("sampler", "text", "who took it, if nobody of the farm did"),
            NOTE,
            more=PARAMETER,
        ),
        _form(
            "disturbance",
            _must("points", "words", "the sample points, or all", "all"),
            _must("sort", "word", "repair, flood, new-source, stood ...", "repair"),
            _must("what", "text", "what happened", "burst pipe"),
        ),
        _form(
            "calibrate",
            _must("kit", "code", "the kit's code", "DPD"),
            _must("passed", "yes", "whether it passed (yes or no)", "yes"),
            _must("against", "text", "against what", "1.00 mg/L standard"),
            Field("shown", "number", "what it showed", "1.02"),
            Field("unit", "text", "the unit of that", "mg/L"),
            Field("next_on", "day", "the last day that this check counts"),
            Field("expires_on", "day", "the new last day of reagent or strips"),
            Field("did", "text", "what was done"),
            Field("certificate", "text", "the number of the certificate"),
        ),
        _form(
            "train",
            _must("person", "person", "who was trained: the code of a person", "CD"),
            _must("topic", "text", "in what", "chemicals"),
            Field("until", "day", "the last day that it counts"),
            Field("given_by", "text", "who gave it"),
            Field("document", "text", "its paper"),
        ),
        _form(
            "visitor",
            _must("name", "text", "who came in", "A driver"),
            _must("why", "text", "what for", "delivery"),
            Field("business", "text", "from which business"),
            Field("places", "text", "where they went"),
            Field("washed_hands", "yes", "washed hands (yes or no)", "yes"),
            Field("dipped_boots", "yes", "dipped the boots (yes or no)", "yes"),
            Field("well", "yes", "were well (yes or no)", "yes"),
            Field("with_whom", "person", "who went with them"),
            Field("left_at", "clock", "when they left", "10:15"),
            NOTE,
        ),
        _form(
            "accident",
            _must("sort", "word", "splash, gas, spill, dust, cut, fall", "splash"),
            _must("who", "text", "who was hurt", "CD"),
            _must("what", "text", "what happened", "splash in the eye"),
            Field("place", "text", "where"),
            Field("product", "code", "with which product"),
            Field("gear_worn", "words", "what was worn"),
            Field("first_aid", "text", "what was done at once"),
            Field("told", "text", "who was told"),
            Field("sent_to", "text", "where they were sent"),
            Field("days_off", "whole", "days off work"),
        ),
        _form(
            "file",
            _must("sort", "word", "site-plan, data-sheet, label, audit ...", "audit"),
            _must("title", "text", "its title", "Yearly audit"),
            Field("number", "text", "its number"),
            Field("dated", "day", "its date"),
            Field("review_on", "day", "when it is looked at again"),
            Field("kept_where", "text", "where it is kept"),
            NOTE,
        ),
        _form(
            "season",
            _must("turn", "word", "start or stop: the shed, on that day", "stop"),
            Field("why", "text", "why", "summer, grass enough"),
        ),
        _form(
            "recheck",
            _must("action", "code", "the action, by its entry", "shed-k7q2/1043"),
            _must("seen", "text", "what was seen or read this time", "21.5 C"),
            _must("passed", "yes", "whether it is right now (yes or no)", "yes"),
            Field("value", "number", "the reading, if any"),
            Field("unit", "text", "the unit of that"),
        ),
        _form(
            "close",
            _must("action", "code", "the action, by its entry", "shed-k7q2/1043"),
            _must("did", "text", "what was done about it", "new door seal"),
            Field("cause", "text", "why it came about (an incident: must be filled)"),
            Field(
                "cleaned", "text", "an incident: entry of the deep clean, or why none"
            ),
            Field("effect", "text", "an incident: what shows that it helped"),
        ),
        _form(
            "countersign",
            Field("day", "day", "the day that was looked at", "2026-04-03"),
            Field("entry", "code", "or the one entry that was looked at"),
            Field("self_review", "yes", "yes, where a farm has one person"),
            NOTE,
        ),
    )
}
"""By kind."""
BY_HAND: Final = ("release", "assess")
"""A word, a paper or a named person ends a hold: these are typed, one by one."""


def form_of(kind: str) -> Form:
    """The form of a kind; raises ``NoForm``."""
    name = kind.strip().lower().replace("-", "_").replace(" ", "_")
    form = FORMS.get(name) or FORMS.get(TYPED_AS.get(name, ""))
    if form is None:
        near = get_close_matches(name, FORMS, 1)
        way_out = f"did you mean {near[0]}?" if near else None
        if name in BY_HAND:
            way_out = f"only typed by hand, one by one: hygiene {name} --help"
        raise NoForm(given=kind, known=", ".join(FORMS), way_out=way_out)
    return form


TYPED_AS: Final = {"sign": "sign_off", "action": "action", "upset": "disturbance"}
"""Commands whose kind of entry has another name."""


def more_columns(form: Form) -> Iterator[Field]:
    """The further columns that a form takes by their own names."""
    if form.more == PARAMETER:
        for parameter in PARAMETERS:
            yield Field(parameter.code, "text", f"{parameter.name}, {parameter.unit}")
