"""Every report by its name. A further one is a line here, a module and a template."""

from __future__ import annotations

from datetime import datetime
from importlib import import_module
from typing import Any, NamedTuple

from hygiene.book.record import Record
from hygiene.reports.period import Period
from hygiene.reports.reading import read


class Report(NamedTuple):
    """A report: its name and template, its module, and the period that it is of.

    ``of`` is ``day`` (one day only), ``month`` (a month if nothing else is said, or
    any days from and to), ``year`` (the same, but the last twelve months), ``days``
    (today if nothing else is said, a day, or any days from and to) or ``now`` (the
    moment of printing). ``subject`` is the word that
    follows the name, such as ``GROUP``; in brackets it may be left out. ``template``
    is the one that lays it out, where that does not bear its name.
    """

    name: str
    module: str
    help: str
    of: str
    subject: str = ""
    template: str = ""

    @property
    def laid_out_by(self) -> str:
        """The template that lays it out."""
        return self.template or self.name

    def read(
        self,
        record: Record,
        period: Period,
        printed_at: datetime,
        subject: str | None = None,
    ) -> Any:
        """What the page is made from, by the module's own ``gather`` if it has one."""
        gather = getattr(import_module(self.module), "gather", None)
        if gather is None:
            return read(record, period, printed_at)
        if not self.subject:
            return gather(record, period, printed_at)
        return gather(record, period, printed_at, subject)

    def page(self, gathered: Any) -> Any:
        """The page's values: the module's own ``page``."""
        return import_module(self.module).page(gathered)


def _log(name: str, help: str) -> Report:
    return Report(name, f"hygiene.reports.logs.{name}", help, "month", template="log")


REPORTS = {
    report.name: report
    for report in (
        Report("day", "hygiene.reports.day", "every task of a day", "day"),
        Report("month", "hygiene.reports.month", "tasks down, days across", "month"),
        Report("dosing", "hygiene.reports.dosing", "every dose, a line each", "month"),
        Report("water", "hygiene.reports.water", "water tests, with figures", "month"),
        _log("seed", "lots: in, counted, sown, left"),
        _log("batches", "sown, ended, held, released"),
        _log("feeding", "to whom, how much, how it looked"),
        _log("mould", "finds and discards, to their end"),
        _log("actions", "open first, then closed"),
        _log("training", "who had it, and until when"),
        _log("calibration", "checks of kits, in date or not"),
        _log("pests", "what was seen, and who looked"),
        _log("visitors", "who came in, and accidents"),
        Report(
            "cards", "hygiene.reports.cards", "mixing, for the wall", "day", "[PRODUCT]"
        ),
        Report("vet", "hygiene.reports.vet", "the vet's sheet", "now", "GROUP"),
        Report("store", "hygiene.reports.store", "chemicals, and their hazards", "day"),
        Report(
            "trace", "hygiene.reports.trace", "both ways, and beside", "days", "CODE"
        ),
        Report(
            "readiness",
            "hygiene.reports.readiness",
            "what an inspector would find",
            "year",
        ),
        Report(
            "pack",
            "hygiene.reports.pack",
            "all of it, for an inspector",
            "month",
            "[readiness]",
        ),
    )
}
