"""The layout as it was when ``VERSION`` was last raised.

Run this file to take it anew: python tests/book/schema_snapshot.py
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from hygiene.book.record import VERSION
from hygiene.book.schema import statements

TAKEN = (2, "063fc9472edd6882e9869457b8afd08339b591a02ad0b460faafd5a499abc365")
"""The version, and the SHA-256 of every statement of its layout."""


def of_now() -> tuple[int, str]:
    return VERSION, sha256(";\n".join(statements()).encode()).hexdigest()


if __name__ == "__main__":
    here = Path(__file__)
    text = here.read_text("utf-8")
    here.write_text(
        "".join(
            f'TAKEN = ({of_now()[0]}, "{of_now()[1]}")\n'
            if line.startswith("TAKEN = (")
            else line
            for line in text.splitlines(keepends=True)
        ),
        "utf-8",
    )
    print(f"version {of_now()[0]} of the layout was taken")
