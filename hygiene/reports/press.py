"""From HTML to an archive PDF. Importing this module loads the layout engine.

The file is PDF/A-3a (ISO 19005-3) with the claim of PDF/UA-1 (ISO 14289-1), its fonts
embedded. It holds no clock and no chance: the same HTML gives the same bytes, for one
version of the layout engine, of Pango and of the fonts. Nothing is ever fetched.
"""

from __future__ import annotations

import base64
import gc
import logging
import warnings
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from importlib.metadata import version
from io import BytesIO
from typing import Any

import pydyf  # type: ignore[import-untyped]
from weasyprint import HTML, Attachment
from weasyprint.text.ffi import pango
from weasyprint.urls import URLFetcher, URLFetcherResponse

from hygiene.reports.attached import Attached

VARIANT = "pdf/a-3a"
PICTURES = {
    "image/svg+xml": b"<",
    "image/jpeg": b"\xff\xd8\xff",
    "image/png": b"\x89PNG",
}
"""Drawings of the templates, and photos that ``pictures`` encoded anew: how each
begins."""
LEVEL = 6
"""Of packing: the last few hundredths of a file are not worth twice the time."""
LATIN = "\u024f"
OWN = frozenset("–…▲✔✖○□◧\u2068\u2069\u200b")
"""What the templates themselves use; the fonts that the program asks for have it."""
PROBE = "<html lang=en><title>Characters</title><p>{}</p></html>"
_RETURN_ENDS_A_STREAM = b"\r\nendstream"
# The layout engine knows one variant at a time, so the second claim is merged into its
# metadata; PDF/A asks that a foreign property be described where it is used.
UA_CLAIM = b"""<rdf:Description rdf:about="" \
xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"><pdfuaid:part>1</pdfuaid:part>\
</rdf:Description><rdf:Description rdf:about="" \
xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" \
xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" \
xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"><pdfaExtension:schemas>\
<rdf:Bag><rdf:li rdf:parseType="Resource">\
<pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>\
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>\
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq>\
<rdf:li rdf:parseType="Resource"><pdfaProperty:name>part</pdfaProperty:name>\
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>\
<pdfaProperty:category>internal</pdfaProperty:category>\
<pdfaProperty:description>Part of ISO 14289 that the file conforms to\
</pdfaProperty:description></rdf:li></rdf:Seq></pdfaSchema:property></rdf:li>\
</rdf:Bag></pdfaExtension:schemas></rdf:Description>"""


class OnlyOwnPictures(URLFetcher):  # type: ignore[misc]
    """Gives back the pictures that a template holds in itself; refuses all else."""

    def fetch(self, url: str, headers: Any = None) -> Any:
        """The bytes of a picture; raises ``ValueError`` for any other address."""
        kind, _, content = url.partition(";base64,")
        scheme, _, media = kind.partition(":")
        picture = base64.b64decode(content)
        begins = PICTURES.get(media) if scheme == "data" else None
        if begins is None or not picture.startswith(begins):
            raise ValueError("a report fetches nothing")
        return URLFetcherResponse(url, picture, {"Content-Type": media})


def engine() -> dict[str, str]:
    """What the bytes of a page hang on, and its versions."""
    packages = ("weasyprint", "pydyf", "fonttools")
    number = pango.pango_version()
    return {
        **{name: version(name) for name in packages},
        "pango": f"{number // 10000}.{number // 100 % 100}.{number % 100}",
        "zlib": zlib.ZLIB_RUNTIME_VERSION,
    }


def make(html: str, attached: Iterable[Attached], moment: datetime) -> bytes:
    """Lay out and write; ``moment`` dates the files inside."""
    files = tuple(attached)
    with _uncollected():
        document = _lay_out(_spelt_out(html))
        made = _write(document, files, moment)
        padding = 0
        while _RETURN_ENDS_A_STREAM in made:
            padding += 1
            made = _write(document, files, moment, padding)
    return made


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without looking for cycles meanwhile: the engine's boxes live to the end anyway,
    and a sixth of the time of a long file goes on looking at them again and again."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _lay_out(html: str) -> Any:
    return HTML(string=html, media_type="press", url_fetcher=OnlyOwnPictures()).render()


def _write(
    document: Any, files: Iterable[Attached], moment: datetime, padding: int = 0
) -> bytes:
    with warnings.catch_warnings():
        # the engine leaves the file of its colour profile to the collector
        warnings.simplefilter("ignore", ResourceWarning)
        made: bytes = document.write_pdf(
            pdf_variant=VARIANT,
            attachments=[_attachment(file, moment) for file in files],
            finisher=lambda _, pdf: _finish(pdf, padding),
        )
    return made


def _attachment(file: Attached, moment: datetime) -> Attachment:
    # the engine writes the wall clock that it is given and calls it UTC
    dated = moment.astimezone(UTC)
    return Attachment(
        file_obj=BytesIO(file.content),
        name=file.name,
        description=file.description,
        created=dated,
        modified=dated,
        relationship=file.relation,
    )


def _finish(pdf: Any, padding: int) -> None:
    """Claim PDF/UA, pack every stream, and add ``padding`` empty objects.

    A packed stream that ends in a carriage return is taken by a validator for a
    fault at the keyword that follows. Its last byte is that of a checksum over the
    content, so packing it anew changes nothing: it is written in base 85 instead. The
    last two streams, which list the objects, are made later: empty objects change
    those.
    """
    for found in list(pdf.objects):
        if not isinstance(found, pydyf.Stream):
            continue
        if found.extra.get("Type") == "/Metadata":
            _claim_ua(found)
        elif found.compress:
            _pack(found)
        else:
            _guard(found)
    for _ in range(padding):
        pdf.add_object(pydyf.Dictionary())


def _claim_ua(metadata: Any) -> None:
    """Merge the second claim into the metadata; it stays readable as plain text."""
    (text,) = metadata.stream
    before, end, after = text.rpartition(b"</rdf:RDF>")
    metadata.stream = [before + UA_CLAIM + end + after]
    metadata.compress = False


def _pack(stream: Any) -> None:
    stream.compress = False  # so that nothing is compressed twice
    content = b"\n".join(pydyf._to_bytes(item) for item in stream.stream)
    if b"begincmap" in content:
        # in a cluster of several signs (Arabic) the engine gives later ones no text
        content = content.replace(b"> <>", b"> <200b>")
    packed = zlib.compress(content, LEVEL)
    filters = "/FlateDecode"
    if packed.endswith(b"\r"):
        packed = base64.a85encode(packed, wrapcol=120) + b"~>"
        filters = "[/ASCII85Decode /FlateDecode]"
    stream.stream = [packed]
    stream.extra = {**stream.extra, "Filter": filters}


def _guard(stream: Any) -> None:
    """A picture is packed already; one that ends in a carriage return is wrapped."""
    content = b"\n".join(pydyf._to_bytes(item) for item in stream.stream)
    if not content.endswith(b"\r"):
        return
    stream.stream = [base64.a85encode(content, wrapcol=120) + b"~>"]
    named = str(stream.extra.get("Filter") or "")
    stream.extra = {**stream.extra, "Filter": f"[/ASCII85Decode {named}]"}
    if "DecodeParms" in stream.extra:
        parameters = pydyf.Array(["null", stream.extra["DecodeParms"]])
        stream.extra["DecodeParms"] = parameters


def _spelt_out(html: str) -> str:
    """The page with every character that no font here has as its code: [U+1F33E].

    An archive file may not hold a glyph that says nothing. Which are missing shows
    when they are painted, so the rare ones are painted by themselves first.
    """
    rare = sorted(char for char in set(html) - OWN if char > LATIN)
    if not rare:
        return html
    with _missing_glyphs() as missing:
        _lay_out(PROBE.format(" ".join(rare))).write_pdf()
    head, body, rest = html.partition("<body")
    return head + body + rest.translate({c: f"[U+{c:04X}]" for c in missing})


@contextmanager
def _missing_glyphs() -> Iterator[set[int]]:
    """The characters for which the engine found no glyph, as it says on its log."""
    heard: set[int] = set()

    class Listener(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            if str(record.msg).startswith(".notdef") and isinstance(record.args, tuple):
                heard.update(a for a in record.args if isinstance(a, int))

    log, listener = logging.getLogger("weasyprint"), Listener()
    log.addHandler(listener)
    try:
        yield heard
    finally:
        log.removeHandler(listener)
