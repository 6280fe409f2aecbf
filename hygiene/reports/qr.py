"""QR codes of our labels (ISO/IEC 18004), as drawings with their quiet zone."""

from __future__ import annotations

from io import BytesIO
from typing import Final, NamedTuple

from hygiene.kinds.codes import scannable

QUIET: Final = 4
"""Modules that stay white all round: ISO/IEC 18004 asks for four."""
LEAST_MODULE_MM: Final = 0.4
"""The smallest module: two dots and a third at 150 to the inch. Common practice, no
source; the standard leaves it to the application."""


class Qr(NamedTuple):
    """A drawing (SVG) of ``side`` modules each way, the quiet zone within."""

    svg: str
    side: int

    @property
    def least_mm(self) -> float:
        """The smallest side on paper that a scanner can read."""
        return self.side * LEAST_MODULE_MM


def qr(code: str) -> Qr:
    """The QR code of a code's label; it holds nothing but the code with its check."""
    import segno

    made = segno.make_qr(scannable(code), error="m", boost_error=True)
    held = BytesIO()
    made.save(
        held, kind="svg", border=QUIET, light="#fff", xmldecl=False, omitsize=True
    )
    return Qr(held.getvalue().decode(), int(made.symbol_size(border=QUIET)[0]))
