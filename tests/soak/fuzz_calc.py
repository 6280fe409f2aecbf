"""20,000 random argument strings against ``hygiene calc``: run by hand, prints counts.

python tests/soak/fuzz_calc.py [HOW_MANY] [SEED]
"""

from __future__ import annotations

import shlex
import sys
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import typer.testing
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from calc_arguments import fault, got_past_the_parser, lines

from hygiene.cli import command
from hygiene.cli.world import World

NOON = datetime(2026, 7, 1, 12, tzinfo=UTC)


def main(how_many: int = 20_000, seed: int = 1) -> int:
    """Run them all; the exit code is 1 where one of them went wrong."""
    typer.testing._get_command = lambda made: made  # type: ignore[assignment]
    runner, world = CliRunner(), World(now=lambda: NOON)
    ended: Counter[str] = Counter()
    began, wrong = time.monotonic(), 0
    for words in lines(seed, how_many):
        result = runner.invoke(command, ["calc", *words], obj=world)
        ended[f"exit {result.exit_code}"] += 1
        ended["past the parser"] += got_past_the_parser(result)
        found = fault(words, result)
        if found:
            wrong += 1
            print(f"WRONG ({found}): hygiene calc {shlex.join(words)}")
    print(f"{how_many} argument strings, seed {seed}, {wrong} wrong")
    for name, count in sorted(ended.items()):
        print(f"  {name}: {count} ({count / how_many:.1%})")
    print(f"  {time.monotonic() - began:.0f} s")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:3])))
