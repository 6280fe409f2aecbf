"""What somebody with a PDF tool can do to a report, and how cleverly."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import Any

import pypdf
from pypdf.generic import NameObject, TextStringObject

from hygiene.book import chain
from hygiene.book.carried import Carried, Link, followed, read_chains

ENTRIES, CHAIN, MANIFEST = "entries.jsonl", "chain.txt", "report.json"


def files(content: bytes) -> dict[str, bytes]:
    """The files that travel inside."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    return {name: made[0] for name, made in reader.attachments.items()}


def with_files(
    content: bytes, changed: Mapping[str, bytes | None], **added: bytes
) -> bytes:
    """The PDF saved again with files changed or taken out (None), or added."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(content))
    names = writer.root_object["/Names"]["/EmbeddedFiles"]["/Names"]
    for place in range(len(names) - 2, -2, -2):
        name = str(names[place])
        if name not in changed:
            continue
        if changed[name] is None:
            del names[place : place + 2]
        else:
            spec = names[place + 1].get_object()
            _put(spec["/EF"]["/F"].get_object(), changed[name])
    for name, made in added.items():
        spec = names[1].get_object().clone(writer, force_duplicate=True)
        _put(spec[NameObject("/EF")]["/F"].get_object(), made)
        names.append(TextStringObject(name))
        names.append(spec.indirect_reference)
    return _saved(writer)


def _put(stream: Any, data: bytes) -> None:
    """Whatever it is packed in: one that must not hold some byte is packed twice."""
    stream.get_data()
    stream[NameObject("/Filter")] = NameObject("/FlateDecode")
    stream.set_data(data)


def _saved(writer: pypdf.PdfWriter) -> bytes:
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


def with_page(content: bytes, number: int, change: Callable[[bytes], bytes]) -> bytes:
    """The PDF saved again with what draws a page changed."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(content))
    stream = writer.pages[number]["/Contents"].get_object()
    _put(stream, change(stream.get_data()))
    return _saved(writer)


def saved_again(content: bytes) -> bytes:
    """Nothing changed, by another program."""
    return _saved(pypdf.PdfWriter(clone_from=io.BytesIO(content)))


def with_lines(content: bytes, change: Callable[[list[str]], list[str]]) -> bytes:
    """Only the lines changed, with all else left as it was."""
    lines = change(files(content)[ENTRIES].decode().splitlines())
    return with_files(content, {ENTRIES: "".join(f"{x}\n" for x in lines).encode()})


def re_hashed(content: bytes, change: Callable[[list[str]], list[str]]) -> bytes:
    """The lines changed, and every hash in the file put right as well as it goes."""
    inside = files(content)
    lines = change(inside[ENTRIES].decode().splitlines())
    keys = {(made["book"], made["seq"]): x for x in lines for made in [json.loads(x)]}
    chains = []
    for each in read_chains(inside[CHAIN].decode()):
        run = each.linked
        links = tuple(
            Link((each.head.book, seq) in keys, _hash(keys, each.head.book, seq, link))
            for seq, link in enumerate(run.links, run.after + 1)
        )
        head = each.head._replace(hash=followed(run.before, links))
        chains.append(each._replace(head=head, linked=run._replace(links=links)))
    made = Carried(tuple(lines), tuple(chains))
    told = json.loads(inside[MANIFEST])
    told["heads"] = [str(head) for head in made.heads]
    told["carried"] = len(lines)
    changed = {ENTRIES: made.entries_text(), CHAIN: made.chain_text()}
    for name, new in changed.items():
        told["files"][name] = sha256(new).hexdigest()
    return with_files(content, {**changed, MANIFEST: json.dumps(told).encode()})


def _hash(keys: Mapping[tuple[str, int], str], book: str, seq: int, link: Link) -> str:
    line = keys.get((book, seq))
    return link.hash if line is None else chain.line_hash(line.encode())
