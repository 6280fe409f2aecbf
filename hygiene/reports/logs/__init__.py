"""The logs: short lines of what matters, what went wrong told in full, the rest inside.

To add a log: a module here with ``KINDS``, ``beside(record, reading)`` (what else it
must read, given what was read), ``gather`` (both at once) and ``page``, which puts
together what ``page.py`` and ``told.py`` make; and a line in ``reports.catalogue``.
Its body is the macro ``body`` of ``report_templates/logs.html``. ``beside`` takes any
reading of the same period, so several logs can be made from one.
"""
