"""Every byte of every line of a record changed in turn, and verify asked. By hand:

python tests/soak/bytes.py
"""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "book"))

from shed import Shed, rat

from hygiene.kinds.find import Mould


def main() -> None:
    """Print how many changes were made, and how many named their line first."""
    dice = Random(1)
    with TemporaryDirectory() as folder:
        shed = Shed.create(Path(folder))
        shed.write(Mould(batch="B-1", rack="R1", colour="é"), *map(rat, "abcd"))
        good = shed.path.read_bytes()
        made = named = 0
        for book, seq, text, _ in shed.lines():
            line = text.encode()
            for place, byte in enumerate(line):
                changed = bytearray(line)
                changed[place] = (byte + dice.randint(1, 255)) % 256
                shed.path.write_bytes(good.replace(line, bytes(changed)))
                made += 1
                named += shed.where()[:1] == [f"{book}/{seq}"]
        print(f"{made} bytes changed, {named} named by line")
        if made != named:
            raise SystemExit(1)


if __name__ == "__main__":
    main()
