"""A report's body as a part of another page: its headings deeper, its styles its own.

A template is laid out over a base of its two inner blocks alone, so a report need not
know that it is ever bound with others.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
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
    """A body, and the rules of its styles; it stands in an element with its id.

    ``wide`` is true of one that is laid out on paper across.
    """

    scope: str
    rules: tuple[tuple[str, str], ...]
    body: str
    wide: bool


def part(template: str, page: Any, scope: str) -> Part:
    """A report's body to stand in an element with the id ``scope``."""
    made = paper.environment(BASE).get_template(f"{template}.html").render(page=page)
    style, _, body = made.partition(BETWEEN)
    body = HEADING.sub(lambda m: f"{m[1]}{int(m[2]) + 1}", body)
    body = OWN_NAME.sub(lambda m: f"{m[1]}{scope}-", body)
    return Part(scope, _rules(style), body, "landscape" in style)


def _rules(style: str) -> tuple[tuple[str, str], ...]:
    """Names and what is said of them, without what is said of whole pages and of other
    media: those are the bound page's own."""
    return tuple(
        (" ".join(names.split()), " ".join(says.split()))
        for names, says in RULE.findall(COMMENT.sub("", style))
        if not names.strip().startswith("@")
    )


def styles(parts: Iterable[Part]) -> str:
    """One style sheet for them all: a rule that several share is written once.

    The engine tries every rule on every element, so a dozen copies would cost more
    than all the words on the pages.
    """
    shared: dict[tuple[str, str], list[str]] = {}
    for each in parts:
        for rule in each.rules:
            shared.setdefault(rule, []).append(f"#{each.scope}")
    return "\n".join(
        f"{_selectors(names, scopes)} {{{says}}}"
        for (names, says), scopes in shared.items()
    )


def _selectors(names: str, scopes: list[str]) -> str:
    within = scopes[0] if len(scopes) == 1 else f":is({', '.join(scopes)})"
    deeper = HEADING_NAME.sub(lambda m: f"h{int(m[1]) + 1}", names)
    return ", ".join(_selector(name.strip(), within) for name in deeper.split(","))


def _selector(name: str, within: str) -> str:
    return within if name in ("html", "body") else f"{within} {name}"
