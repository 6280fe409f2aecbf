"""5,000 random argument lines against every command but ``calc``: run by hand.

python tests/soak/fuzz_day.py [HOW_MANY] [SEED]
"""

from __future__ import annotations

import os
import shlex
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import typer.testing
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from day_arguments import Shed, fault, got_past_the_parser, lines

from hygiene.cli import command


def main(how_many: int = 5_000, seed: int = 1) -> int:
    """Run them all, then verify; the exit code is 1 where anything went wrong."""
    typer.testing._get_command = lambda made: made  # type: ignore[assignment]
    runner = CliRunner()
    ended: Counter[str] = Counter()
    began, wrong = time.monotonic(), 0
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        shed = Shed(Path(folder))
        for words in lines(seed, how_many, shed):
            result = runner.invoke(command, words, obj=shed.world())
            ended[f"exit {result.exit_code}"] += 1
            ended["past the parser"] += got_past_the_parser(result)
            found = fault(words, result)
            if found:
                wrong += 1
                print(f"WRONG ({found}): hygiene {shlex.join(words)[:400]!r}")
        verified = runner.invoke(command, ["verify"], obj=shed.world())
        with shed.farm.open() as record:
            print(f"{record.count()} entries in {len(record.heads())} books")
        os.chdir("/")
    print(f"{how_many} argument lines, seed {seed}, {wrong} wrong")
    for name, count in sorted(ended.items()):
        print(f"  {name}: {count} ({count / how_many:.1%})")
    print(verified.output.splitlines()[0])
    print(f"  {time.monotonic() - began:.0f} s")
    return 1 if wrong or verified.exit_code else 0


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:3])))
