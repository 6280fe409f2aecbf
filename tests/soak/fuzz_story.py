"""Stories at random, many: does anything but a release ever loosen safety?

Run by hand: python tests/soak/fuzz_story.py [STORIES] [ACTS] [FIRST]. It prints how
many acts were refused, and stops at the first story that ends badly, naming its number.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from sprout_farm import build_sprouts  # noqa: E402
from story_acts import Loosened, Story  # noqa: E402


def main(stories: int, acts: int, first: int = 0) -> None:
    """Tell them all."""
    refused = 0
    for number in range(first, first + stories):
        with tempfile.TemporaryDirectory() as folder:
            story = Story(build_sprouts(Path(folder)), number)
            try:
                story.go(acts)
            except Loosened as loosened:
                print(f"story {number}: {loosened}")
                print("\n".join(story.told))
                raise SystemExit(1) from loosened
            refused += story.refused
    print(f"{stories} stories of {acts} acts, {refused} acts refused: none loosened")


if __name__ == "__main__":
    given = [int(word) for word in sys.argv[1:]]
    main(*given, *[200, 60][len(given) :])
