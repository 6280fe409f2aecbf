"""Every report by its name. A further one is a line here, a module and a template."""

from __future__ import annotations

from importlib import import_module
from typing import Any, NamedTuple

from hygiene.reports.reading import Reading


class Report(NamedTuple):
    """A report: its name and template, its module, and the period that it is of.

    ``of`` is ``day`` (one day only), or ``month`` (a month if nothing else is said,
    or any days from and to).
    """

    name: str
    module: str
    help: str
    of: str

    def page(self, reading: Reading) -> Any:
        """The page's values: the module's own ``page``."""
        return import_module(self.module).page(reading)


REPORTS = {
    report.name: report
    for report in (
        Report("day", "hygiene.reports.day", "every task of a day", "day"),
        Report("month", "hygiene.reports.month", "tasks down, days across", "month"),
    )
}
