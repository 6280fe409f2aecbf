"""What the tests of single reports ask of a finished file."""

from __future__ import annotations

import io

import page as validator
import pypdf
from log_farm import LogFarm

from hygiene.book.record import Record
from hygiene.reports import proof
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.period import Period


def gathered(farm: LogFarm, name: str, period: Period, subject: str | None = None):
    """What a report's page is made from, printed at the farm's own moment."""
    with Record.open(farm.path) as record:
        return REPORTS[name].read(record, period, farm.now, subject)


def made(farm: LogFarm, name: str, period: Period, subject: str | None = None):
    """A report's page and its file, with its proof inside."""
    with Record.open(farm.path) as record:
        taken = proof.take(record, REPORTS[name], period, farm.now, subject)
    done = proof.make(taken)
    return done.page, done.content


def faults(content: bytes) -> list[str]:
    """What the validator (page-validation) says against PDF/A-3a and PDF/UA-1."""
    profiles = validator.ValidationProfile
    return [
        f"{profile.value} {failure.rule_id}: {failure.message}"
        for profile in (profiles.PDF_A_3A, profiles.PDF_UA_1)
        for failure in validator.validate_pdf_bytes(content, profile=profile).failures
    ]


def texts(content: bytes) -> list[str]:
    """The text of each page."""
    return [p.extract_text() for p in pypdf.PdfReader(io.BytesIO(content)).pages]


def files(content: bytes) -> dict[str, list[bytes]]:
    """The files that travel inside."""
    return dict(pypdf.PdfReader(io.BytesIO(content)).attachments)
