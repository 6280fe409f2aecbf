r"""The hash chain of a book, alone, so that an auditor can check it by hand.

    hash(0) = sha256(book name)
    hash(n) = sha256(hash(n-1) + "\n" + sha256(line n))

All hashes are lower-case hex of SHA-256 (FIPS 180-4) over UTF-8. Since only the hash
of a line enters the chain, a report may carry the lines of its subject and bare line
hashes of what it leaves out. With the lines of a book in a file, one to a line::

    h=$(printf %s shed-k7q2 | sha256sum | cut -d' ' -f1)
    while IFS= read -r line; do
      l=$(printf %s "$line" | sha256sum | cut -d' ' -f1)
      h=$(printf '%s\n%s' "$h" "$l" | sha256sum | cut -d' ' -f1)
    done < lines; echo "$h"

A chain shows that no line before its head was changed, dropped or swapped. It sees
neither a tail that was cut off nor a well-made extra line: for those, compare with a
head that was printed earlier.
"""

from __future__ import annotations

from hashlib import sha256


def start(book: str) -> str:
    """The hash before the first line of ``book``."""
    return sha256(book.encode()).hexdigest()


def line_hash(line: bytes) -> str:
    """The hash of one line, without a line end."""
    return sha256(line).hexdigest()


def follow(before: str, line: bytes) -> str:
    """The hash of the chain once ``line`` stands after ``before``."""
    return follow_hash(before, line_hash(line))


def follow_hash(before: str, of_line: str) -> str:
    """The hash of the chain once a line stands there that is known by its hash."""
    return sha256(f"{before}\n{of_line}".encode()).hexdigest()
