"""The table of commands: name, the module that holds it, one line of help.

A module is imported only when its command runs, so ``--help`` costs what this table
costs. A module's ``app`` (or the name after the colon) is a ``typer.Typer`` with one
command, or a group of them.
"""

from typing import NamedTuple


class Entry(NamedTuple):
    """One command: its name, where it lives, what it does, where help lists it."""

    name: str
    module: str
    help: str
    section: str = "More"


DAY = "The day"
SET_UP = "Set up and see it work"
WRITE = "Write a record"
PUT_RIGHT = "Put right what went wrong"
MEND = "Read and mend the record"
READY = "Get ready and prove it"
WORK_OUT = "Work it out"
CARRY = "Carry it"

COMMANDS: tuple[Entry, ...] = (
    Entry("demo", "hygiene.cli.demo", "See it work: an invented farm's year.", SET_UP),
    Entry("set-up", "hygiene.cli.set_up", "Set up the farm, or change it.", SET_UP),
    Entry(
        "completion",
        "hygiene.cli.completion",
        "Let the Tab key complete commands and codes.",
        SET_UP,
    ),
    Entry("today", "hygiene.cli.today", "What is due, overdue, done and held.", DAY),
    Entry("sign", "hygiene.cli.sign", "Sign a task of today's list.", DAY),
    Entry(
        "miss",
        "hygiene.cli.miss",
        "Write that a task was not done, and why.",
        DAY,
    ),
    Entry(
        "feed",
        "hygiene.cli.leaving:feed_app",
        "Write what was fed, and to which animals; --check asks first.",
        DAY,
    ),
    Entry(
        "sow",
        "hygiene.cli.batches:sow_app",
        "Sow a batch from seed lots; --check asks first.",
        DAY,
    ),
    Entry(
        "mould",
        "hygiene.cli.finds:mould_app",
        "Mould was found: hold the batch, stop its lot, say who ate.",
        DAY,
    ),
    Entry(
        "trace",
        "hygiene.cli.trace",
        "Follow seed, batch, tray or animals: back, forward, sideways.",
        DAY,
    ),
    Entry(
        "countersign",
        "hygiene.cli.countersign",
        "A second person looks at a task or a whole day.",
        DAY,
    ),
    Entry("seed", "hygiene.cli.seed:seed_app", "A seed lot comes in.", WRITE),
    Entry(
        "germination",
        "hygiene.cli.seed:germination_app",
        "Count how many of a lot's seeds germinate.",
        WRITE,
    ),
    Entry(
        "scrap",
        "hygiene.cli.seed:scrap_app",
        "Seed of a lot that is no more.",
        WRITE,
    ),
    Entry("move", "hygiene.cli.batches:move_app", "Trays stand elsewhere now.", WRITE),
    Entry(
        "dispatch",
        "hygiene.cli.leaving:dispatch_app",
        "Fodder sent to a buyer.",
        WRITE,
    ),
    Entry(
        "sample",
        "hygiene.cli.leaving:sample_app",
        "Keep a sample: one half frozen, one chilled.",
        WRITE,
    ),
    Entry(
        "discard",
        "hygiene.cli.leaving:discard_app",
        "Trays thrown away: why, where to, who saw it.",
        WRITE,
    ),
    Entry(
        "container",
        "hygiene.cli.containers:container_app",
        "Sanitiser: comes in, is opened, measured; list what is left.",
        WRITE,
    ),
    Entry("dose", "hygiene.cli.dosing:dose_app", "Plan a dose, or write one.", WRITE),
    Entry(
        "rinse",
        "hygiene.cli.dosing:rinse_app",
        "Trays or tools rinsed and dry, a line flushed.",
        WRITE,
    ),
    Entry(
        "trays",
        "hygiene.cli.cleared:trays_app",
        "Which trays and lines are cleared, and why not.",
        WRITE,
    ),
    Entry("pest", "hygiene.cli.finds:pest_app", "A pest, or its traces.", WRITE),
    Entry("water", "hygiene.cli.water", "A water test, from kit or laboratory.", WRITE),
    Entry(
        "calibrate",
        "hygiene.cli.kits",
        "A kit, meter, thermometer or scale was checked.",
        WRITE,
    ),
    Entry("train", "hygiene.cli.people:train_app", "Somebody was trained.", WRITE),
    Entry("visitor", "hygiene.cli.people:visitor_app", "Somebody came in.", WRITE),
    Entry("accident", "hygiene.cli.people:accident_app", "Somebody was hurt.", WRITE),
    Entry("file", "hygiene.cli.papers:file_app", "Keep a paper and its date.", WRITE),
    Entry(
        "season", "hygiene.cli.papers:season_app", "The shed starts or stops.", WRITE
    ),
    Entry("trend", "hygiene.cli.trend", "A sample point's history, drawn.", MEND),
    Entry("log", "hygiene.cli.log", "List what was written, by kind and period.", MEND),
    Entry("show", "hygiene.cli.show", "One entry, whole, with its history.", MEND),
    Entry(
        "correct",
        "hygiene.cli.correct",
        "Put an entry right; the old one stays readable.",
        MEND,
    ),
    Entry(
        "strike",
        "hygiene.cli.strike",
        "Rule an entry through; it stays readable.",
        MEND,
    ),
    Entry(
        "action",
        "hygiene.cli.actions:action_app",
        "Open a corrective action: what is wrong, what was done.",
        PUT_RIGHT,
    ),
    Entry(
        "recheck",
        "hygiene.cli.actions:recheck_app",
        "Look again at what went wrong.",
        PUT_RIGHT,
    ),
    Entry(
        "close",
        "hygiene.cli.actions:close_app",
        "Close a corrective action that a recheck has passed.",
        PUT_RIGHT,
    ),
    Entry(
        "hold",
        "hygiene.cli.holds:hold_app",
        "Stop a batch, lot, rack, tray or line from being used.",
        PUT_RIGHT,
    ),
    Entry(
        "assess",
        "hygiene.cli.incidents:assess_app",
        "A written assessment of holds.",
        PUT_RIGHT,
    ),
    Entry(
        "release",
        "hygiene.cli.holds:release_app",
        "End a hold, on whose word and on what paper.",
        PUT_RIGHT,
    ),
    Entry(
        "ill",
        "hygiene.cli.incidents:ill_app",
        "Animals are sick: prints the sheet for the vet.",
        PUT_RIGHT,
    ),
    Entry(
        "vet",
        "hygiene.cli.incidents:vet_app",
        "The vet's sheet of a group again: what it ate, what was found.",
        PUT_RIGHT,
    ),
    Entry(
        "notify",
        "hygiene.cli.incidents:notify_app",
        "Write who was told: vet, authority, buyer, supplier.",
        PUT_RIGHT,
    ),
    Entry(
        "ready",
        "hygiene.cli.ready",
        "What an inspector would find, in three heaps, while there is time.",
        READY,
    ),
    Entry(
        "drill",
        "hygiene.cli.drill",
        "Trace a lot both ways against the clock, once a year.",
        READY,
    ),
    Entry(
        "balance",
        "hygiene.cli.balance",
        "Do seed, trays and fodder add up? What does not is named.",
        READY,
    ),
    Entry(
        "causes",
        "hygiene.cli.causes",
        "What mouldy batches share: hints, and what they cannot show.",
        READY,
    ),
    Entry(
        "report",
        "hygiene.cli.report",
        "Pages to hand over, as PDF: day, month, dosing, store ...",
        READY,
    ),
    Entry("cost", "hygiene.cli.cost", "What a month of hygiene cost.", READY),
    Entry(
        "import",
        "hygiene.cli.importing",
        "Old records from a spreadsheet: says first, then writes.",
        CARRY,
    ),
    Entry(
        "export",
        "hygiene.cli.exporting",
        "The record as CSV, JSON lines or Parquet, for other tools.",
        READY,
    ),
    Entry(
        "verify",
        "hygiene.cli.verify",
        "Is the record, or a report, still what was written?",
        READY,
    ),
    Entry(
        "backup",
        "hygiene.cli.carry:backup_app",
        "Copy the record to a stick or folder, and verify the copy.",
        CARRY,
    ),
    Entry(
        "restore",
        "hygiene.cli.carry:restore_app",
        "Bring a copy back, if it verifies and nothing is lost by it.",
        CARRY,
    ),
    Entry(
        "sheets",
        "hygiene.cli.sheets",
        "Paper for the shed: the rota, cards for the wall, visitors.",
        CARRY,
    ),
    Entry(
        "labels",
        "hygiene.cli.labels",
        "Labels with QR codes: trays, racks, lots, batches, lines.",
        CARRY,
    ),
    Entry(
        "calendar",
        "hygiene.cli.calendar",
        "What is due, for a calendar: rota, samples, expiries.",
        CARRY,
    ),
    Entry(
        "devices",
        "hygiene.cli.devices",
        "Whose books the record holds, and how far each is known.",
        CARRY,
    ),
    Entry(
        "merge",
        "hygiene.cli.merge",
        "Take over what another device wrote.",
        CARRY,
    ),
    Entry(
        "calc",
        "hygiene.cli.calc",
        "Dilutions, ageing, contact, lines, counts: worked step by step.",
        WORK_OUT,
    ),
)
