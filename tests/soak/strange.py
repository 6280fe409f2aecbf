"""Thousands of spoilt files handed to merge and restore. By hand:

python tests/soak/strange.py [COUNT] [SEED]
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1]))

from small_farm import build
from strange_files import another, offered


def main(count: int, seed: int) -> None:
    with TemporaryDirectory() as folder:
        farm = build(Path(folder))
        codes = offered(farm, another(farm), count, seed)
    told = ", ".join(f"{word} {code}: {n}" for (word, code), n in sorted(codes.items()))
    print(f"{count} strange files, 0 tracebacks, 0 changes but by good ones; {told}")


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*(given + [3000, 1][len(given) :]))
