"""A clearance record as a PDF: tagged, its text selectable, the same bytes for the same record."""

import re
from pathlib import Path
from typing import Any, NamedTuple

from django.template.loader import render_to_string
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

from conflicts.record.complaints import nothing_left_out
from conflicts.record.sheet import ClearanceRecord
from conflicts.record.writing import nothing_collected, written_once
from locates.canonical import utc_text

PDF_VARIANT = "pdf/ua-1"
STYLE_SHEETS = tuple(
    Path(__file__).parent / "styles" / name for name in ("paper.css", "tables.css", "parts.css")
)
OWN_SCHEME = "record"
_TIME = re.compile(r"</?time\b[^>]*>")  # our own markup: texts of a record are escaped
SVG, JPEG = "image/svg+xml", "image/jpeg"


class MadeFile(NamedTuple):
    """The file of a record."""

    content: bytes
    page_count: int


class OwnPictures(URLFetcher):
    """Hands out the record's own pictures by name, and refuses whatever else a page might ask for."""

    def __init__(self, record: ClearanceRecord) -> None:
        super().__init__(allowed_protocols=frozenset())
        self._pictures: dict[str, tuple[str, bytes]] = {
            "plan": (SVG, record.plan.svg.encode()),
            "profile": (SVG, record.profile.svg.encode()),
        }
        if record.drilled is not None and record.drilled.profile_svg:
            self._pictures["drilled"] = (SVG, record.drilled.profile_svg.encode())
        for one in record.crossings:
            self._pictures[f"section-{one.number}"] = (SVG, one.section.svg.encode())
        for photo in record.all_photos():
            self._pictures[f"photo-{photo.sha256}"] = (JPEG, photo.print_copy)

    def fetch(self, url: str, headers: dict[str, str] | None = None) -> URLFetcherResponse:
        """The picture of a name; anything else is refused before a connection is made."""
        scheme, _, name = url.partition(":")
        if scheme != OWN_SCHEME or name not in self._pictures:
            return super().fetch(url, headers)
        media_type, content = self._pictures[name]
        return URLFetcherResponse(url, content, {"Content-Type": media_type})


def record_html(record: ClearanceRecord) -> str:
    """The record's pages as markup, every text of a record escaped."""
    context: dict[str, Any] = {
        "record": record,
        # The tags of figures read the units and the time zone from it.
        "job": record.job,
        "digest": record.inputs_digest(),
        "as_of_utc": utc_text(record.as_of),
    }
    # A moment is its words on paper: each element within a line costs as much as the line.
    return _TIME.sub("", render_to_string("conflicts/record/record.html", context))


def render_record(record: ClearanceRecord) -> MadeFile:
    """The file of a record.

    No clock and no chance goes into it: there is no time of creation but the record's own, and the file's
    identifier is the record's digest.

    Raises
    ------
    IncompleteRecordError
        A picture that cannot be shown: no file is made without it.
    """
    # Around all of it, so that the pages are let go before anything is collected again.
    with nothing_collected(), nothing_left_out():
        return _rendered(record)


def _rendered(record: ClearanceRecord) -> MadeFile:
    fonts, own_files = FontConfiguration(), URLFetcher(allowed_protocols={"file"})
    sheets = [CSS(filename=one, url_fetcher=own_files, font_config=fonts) for one in STYLE_SHEETS]
    options = {"pdf_variant": PDF_VARIANT, "pdf_identifier": bytes.fromhex(record.inputs_digest())}
    page = HTML(string=record_html(record), url_fetcher=OwnPictures(record))
    laid_out = page.render(font_config=fonts, stylesheets=sheets, **options)
    return MadeFile(laid_out.write_pdf(finisher=written_once, **options), len(laid_out.pages))
