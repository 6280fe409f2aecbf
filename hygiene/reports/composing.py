"""A report's body as a part of another page: its headings deeper, its styles its own.

A template is laid out over a base of its two inner blocks alone, so a report need not
know that it is ever bound with others.
"""

from __future__ import annotations

import re
from typing import Any, Final, NamedTuple

from hygiene.reports import paper

BETWEEN: Final = "\0"
"""Stands between styles and body: no text that a person wrote can hold it."""
BASE: Final = (
    f"{{% block style %}}{{% endblock %}}{BETWEEN}{{% block content %}}{{% endblock %}}"
)
COMMENT: Final = re.compile(r"/\*.*?\*/", re.S)
RULE: Final = re.compile(r"([^{};]+)\{((?:[^{}]|\{[^{}]*\})*)\}")
HEADING: Final = re.compile(r"(</?h)([1-5])(?=[\s>])")
HEADING_NAME: Final = re.compile(r"\bh([1-5])\b")
OWN_NAME: Final = re.compile(r'(\s(?:id="|href="#|for="|aria-labelledby="))')


class Part(NamedTuple):
    """A body with its styles; ``wide`` where it is laid out on paper across."""

    style: str
    body: str
    wide: bool


def part(template: str, page: Any, scope: str) -> Part:
    """A report's body to stand in an element with the id ``scope``."""
    made = paper.environment(BASE).get_template(f"{template}.html").render(page=page)
    style, _, body = made.partition(BETWEEN)
    body = HEADING.sub(lambda m: f"{m[1]}{int(m[2]) + 1}", body)
    body = OWN_NAME.sub(lambda m: f"{m[1]}{scope}-", body)
    return Part(scoped(style, f"#{scope}"), body, "landscape" in style)


def scoped(style: str, scope: str) -> str:
    """The rules of a style sheet for what stands within ``scope`` alone.

    What is said of whole pages and of other media is left out: those are the bound
    page's own.
    """
    rules = RULE.findall(COMMENT.sub("", style))
    return "\n".join(
        f"{_selectors(names, scope)} {{{says}}}"
        for names, says in rules
        if not names.strip().startswith("@")
    )


def _selectors(names: str, scope: str) -> str:
    deeper = HEADING_NAME.sub(lambda m: f"h{int(m[1]) + 1}", names)
    return ", ".join(_selector(name.strip(), scope) for name in deeper.split(","))


def _selector(name: str, scope: str) -> str:
    return scope if name in ("html", "body") else f"{scope} {name}"
