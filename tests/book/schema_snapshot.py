"""The layout as it was when ``VERSION`` was last raised.

Run this file to take it anew: python tests/book/schema_snapshot.py
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from hygiene.book.record import VERSION
from hygiene.book.schema import statements

TAKEN = (1, "23fc6b9574089812bfda0b4fa1d3f654c50cd0ce656f8737537e671c27bb8924")
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
