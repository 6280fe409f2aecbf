"""Random arguments for every ``hygiene calc`` command, most of which parse.

The commands and their options are read from the program itself, so a new one is
covered without a word here; a new sort of value (metavar) wants a pool of its own.
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator
from typing import Any

from hygiene.cli.calc import app

POOLS: dict[str, tuple[str, ...]] = {
    "STRENGTH": ("125 g/L", "12.5 % w/v", "5.25 % w/v", "10.8 % w/w", "65 % w/w",
                 "11.3 % w/w NaOCl", "48 chl", "50000 ppm", "120 g/L", "650 g/kg"),
    "CODE": ("hypo", "NONE", "x" * 40),
    "PPM": ("200", "0.5", "50 ppm", "3 mg/L", "0.2 g/L", "100", "5000", "1", "2.4"),
    "VOLUME": ("60 L", "250 ml", "4.35 imp gal", "16 US gal", "1 m3", "200 L", "10ml",
               "100 ml"),
    "FLOW": ("8 L/min", "300 US gal/min", "2 m3/h", "2 ml/min", "3 imp gpm", "5 gpm"),
    "TEMP": ("21 C", "70 F", "5 C", "0.5 C", "26 C", "20 C", "15 C",
             "10 d at 21 C, 30 d at 15 C"),
    "KG_PER_L": ("1.16", "1.16 kg/L", "1100 kg/m3", "9.7 lb/US gal"),
    "NAME": ("chlorine", "peracetic acid", "quat", "peroxide", "bleach", "DON"),
    "TOOL": ("100 ml jug, 10 ml marks", "10 ml syringe, 0.5 ml marks",
             "500 g scale, 1 g marks"),
    "WHOSE": ("us", "imp", "US"),
    "DATE": ("2026-01-01", "2026-02-10", "2026-06-30", "2025-12-31", "2024-02-29"),
    "TIMES": ("1", "1.6", "2"),
    "RUN": ("25mm x 40m", "25mm SDR11 x 40m", "25x2.3mm x 40m", "1 in x 100 ft"),
    "1:R": ("1:100", "1 to 64", "1 in 100", "2 %"),
    "TIME": ("12 min", "3 h", "120 d", "30 s"),
    "PH": ("7", "7.5", "6", "9", "8.2", "10"),
    "AGENT": ("thiosulfate", "vitamin c", "bisulfite", "chlorine", "chlorine-dioxide"),
    "WHAT": ("giardia", "virus", "iodine", "chlorine"),
    "N": ("3", "2", "4", "0.5"),
    "LIST": ("5,5,5", "10,1,0.1", "5,2,0", "3,3,3", "42,38", "1 ml, 0.1 ml",
             "2 at 0 min, 1.4 at 30 min"),
    "READING": ("0.9 of 5 ml in 100 ml",),
    "STEPS": ("0,10,25,50,100",),
    "STEP": ("50", "25,50", "100"),
    "RESULT": ("1 ug/kg", "<0.5 ug/kg", "12 mg/kg", "3 ppb"),
    "PERCENT": ("15%", "85 %", "12"),
    "HOW": ("unbaffled", "poor", "average", "superior"),
    "REGION": ("us", "uk", "eu"),
    "THING": ("bleach", "vinegar", "slurry", "quat", "ascorbic acid", "aluminium"),
    "WHERE": ("us", "uk", "eu", "ie"),
}  # fmt: skip
USUAL = {
    "make": 0.9, "pipe": 0.8, "tank": 0.5, "flow": 0.8, "made": 0.5, "used": 0.6,
    "kept_at": 0.5, "free": 0.7, "shown": 0.8, "sample": 0.8, "diluted_to": 0.8,
    "dry_matter": 0.7, "into": 0.1, "solid": 0.1, "cyanurate": 0.1, "density": 0.4,
    "against": 0.9, "log": 0.9, "ph": 0.9, "temp": 0.95, "background": 0.2,
    "measured_on": 0.2, "measured": 0.2, "active": 0.2, "as_json": 0.5, "help": 0.0,
}  # fmt: skip
"""How often an option that is not required is given; the others at 0.25."""
ODD = (
    "", " ", "nan", "inf", "-inf", "-5 L", "0", "0 L", "1e308", "1e-308 L", "9" * 40,
    "1,000 L", "١٢ L", "5 furlongs", "\x00", "é", "12.5 %", "--", "-", "5 L x", "NaN C",
    "1:0", "5,5", "a,b,c", "999999999999999 L", "0.000000000000001 g/L", "-1 ppm",
    "2026-13-01", "x" * 500, "21 C\n22 C", "1 / 0", "{}", "%s", "100 % w/w", "-",
)  # fmt: skip
FORMS = ("{:.3g}", "{:.1f} L", "{:.2f} C", "{:.0f} ppm", "{:.1f} % w/v", "{:.1f} g/L")
UNITS = ("", " L", " ml", " C", " F", " ppm", " mg/L", " g/L", " % w/v", " L/min", " d")


def _value(chance: random.Random, metavar: str) -> str:
    roll = chance.random()
    if roll < 0.90:
        return chance.choice(POOLS.get(metavar, ODD))
    if roll < 0.96:
        # the right sort with another number in it: near the edges, often past them
        pool = POOLS.get(metavar, ("1 L",))
        old = chance.choice(pool)
        number = f"{chance.choice((1, 10, 100)) * chance.random() ** 3:.3g}"
        return "".join([number, *old.lstrip("0123456789.")])
    if roll < 0.98:
        return f"{10 ** chance.uniform(-9, 12):.6f}" + chance.choice(UNITS)
    return chance.choice(ODD)


def _metavar(option: Any) -> str:
    return (option.metavar or option.name or "").split(" ")[0].strip("{}").upper()


def _words(chance: random.Random, name: str, options: list[Any]) -> list[str]:
    words = [name]
    for option in options:
        often = 0.98 if option.required else USUAL.get(option.name, 0.25)
        if chance.random() > often:
            continue
        if option.param_type_name == "argument":
            words += [_value(chance, "THING") for _ in range(chance.randint(1, 3))]
            continue
        flag = option.opts[-1]
        if option.is_flag:
            words.append(flag)
            continue
        for _ in range(chance.randint(1, 2) if option.multiple else 1):
            words += [flag, _value(chance, _metavar(option))]
    return words


def lines(seed: int, how_many: int) -> Iterator[list[str]]:
    """Yield so many command lines, each a list of words after ``hygiene calc``."""
    chance = random.Random(seed)
    commands = {name: app.get_command(None, name) for name in app.table}
    for _ in range(how_many):
        name = chance.choice(list(commands))
        yield _words(chance, name, commands[name].params)


def unknown_metavars() -> set[str]:
    """Say which sorts of value have no pool, so that they are never plausible."""
    found = set()
    for name in app.table:
        for option in app.get_command(None, name).params:
            flag = getattr(option, "is_flag", False)
            if not flag and option.param_type_name == "option":
                found.add(_metavar(option))
    return found - POOLS.keys()


def fault(words: list[str], result: Any) -> str | None:
    """Say what is wrong with how a command ended, or None."""
    if result.exit_code not in (0, 2, 3, 4, 5, 7):
        return f"exit {result.exit_code}"
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        return f"raised {result.exception!r}"
    if "Traceback" in result.output:
        return "traceback"
    if result.exit_code in (0, 3) and "--json" in words and "--help" not in words:
        return _json_fault(result.stdout)
    if result.exit_code in (2, 4) and result.stdout.strip():
        return "a number was printed with a refusal"
    return None


def _json_fault(text: str) -> str | None:
    try:
        answer = json.loads(text)
    except ValueError as odd:
        return f"not JSON: {odd}"
    if not answer.get("source"):
        return "no source"
    if not isinstance(answer.get("cautions"), list):
        return "no cautions"
    numbers = [value for value in answer.values() if isinstance(value, float)]
    if not all(math.isfinite(value) for value in numbers):
        return "not a finite number"
    return None


def got_past_the_parser(result: Any) -> bool:
    """Whether the command itself was reached: no usage error."""
    return not result.stderr.startswith("Usage:")
