"""Reports: from what was read to a page. Nothing here writes to the record.

A report goes through three hands. ``reading.read`` fetches from the record all that a
period is about, once. A context module (``day``, ``month``) makes plain values of it:
it is a pure function, and the moment of printing is an argument. ``paper`` lays the
values out by a template and makes the HTML or the PDF.

To add a report: write ``hygiene/reports/NAME.py`` with ``page(reading)``, a pure
function to a NamedTuple whose field ``frame`` is made by ``frame.frame_of``; write
``report_templates/NAME.html``, which extends ``base.html``; add one line to
``catalogue.REPORTS``. The command, the running head, the marks, the words across a
demonstration and the archive file come with that. A report that needs more than
``reading.read`` gives has its own ``gather(record, period, printed_at)``, with the
``subject`` last where it has one; what it gives goes to ``page``. Files in the page's
field ``attached`` travel inside the PDF, or beside the HTML. Logs are made by one
engine: see ``reports.logs``. ``reports.pack`` binds reports by their bodies
(``composing``): what they say is said once, there and by themselves.
"""
