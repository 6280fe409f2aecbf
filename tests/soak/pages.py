"""Many small files through the press, each checked. By hand:

python tests/soak/pages.py [HOW MANY, else 600]

A packed stream ends in a carriage return once in 256, so a few hundred files show that
none is left: of each it asks the validator (page-validation) for PDF/A-3a and PDF/UA-1.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime

import page as validator

from hygiene.reports import press

BARE = '<html lang="en"><head><title>T</title></head><body><p>{}</p></body></html>'
PROFILES = (
    validator.ValidationProfile.PDF_A_3A,
    validator.ValidationProfile.PDF_UA_1,
)


def main(many: int) -> None:
    """Print how many were made, how many needed base 85, and how many had a fault."""
    moment = datetime(2026, 3, 25, tzinfo=UTC)
    spelt = faulty = 0
    for number in range(many):
        made = press.make(BARE.format(f"text {number}"), (), moment)
        spelt += b"ASCII85Decode" in made
        good = all(
            validator.validate_pdf_bytes(made, profile=profile).is_compliant
            for profile in PROFILES
        )
        faulty += not good or b"\r\nendstream" in made
    print(f"{many} files, {spelt} with a stream in base 85, {faulty} with a fault")
    sys.exit(bool(faulty))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 600)
