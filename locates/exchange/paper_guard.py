"""What a paper that came with an answer must be before it is kept: of a known form by its content, and small.

Nothing here opens a paper further than it takes to tell what it is, and nothing changes a byte of it.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from email.parser import BytesHeaderParser
from email.policy import compat32
from hashlib import sha256
from pathlib import PurePosixPath

from locates.errors import LocatesError

ACCEPTED = "a PDF, a PNG or JPEG picture, plain text (.txt), or an e-mail (.eml)"
LONGEST_NAME = 200

# Signatures: ISO 32000-1, 7.5.2 (PDF); PNG, third edition, 5.2 with the IHDR chunk of 11.2.1; ITU-T T.81,
# B.1.1.3: the start of an image and then the first byte of another marker.
_PDF = re.compile(rb"%PDF-[12]\.\d")
_PNG = re.compile(rb"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")
_JPEG = re.compile(rb"\xff\xd8\xff[\xc0-\xfe]")
# What a browser would run as a page if somebody saved it under another name.
_MARKUP = re.compile(r"\s*<(?:!|\?|[a-z])", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")
# RFC 5322, 3.6: the only header fields that every message has.
_MAIL_HAS = ("From", "Date")
_FIELD_NAME = re.compile(rb"[!-9;-~]+:")
_SIDES = ("\\", "/")


class PaperError(LocatesError, ValueError):
    """A file that is not kept as a paper.

    Parameters
    ----------
    found, accepted : str
        What the file is, and what it may be.
    """

    def __init__(self, found: str, accepted: str = ACCEPTED) -> None:
        super().__init__(found, accepted)
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        return f"found {self.found}; accepted: {self.accepted}"


@dataclass(frozen=True, slots=True)
class _Form:
    """A form of paper: the media type that it is kept under, and how its content is told."""

    media_type: str
    words: str
    is_so: Callable[[bytes], bool]


@dataclass(frozen=True, slots=True)
class CheckedPaper:
    """A paper that may be kept: its name, its media type by content, its bytes and their digest."""

    name: str
    media_type: str
    raw: bytes
    sha256: str


def check_paper(file_name: str, raw: bytes, most_bytes: int) -> CheckedPaper:
    """A file as a paper that may be kept; `PaperError` where it is none of those accepted, or too large."""
    check_paper_size(len(raw), most_bytes)
    name = paper_name(file_name)
    return CheckedPaper(name, media_type_of(raw, name), raw, sha256(raw).hexdigest())


def paper_name(file_name: str) -> str:
    """The last part of a name, as it may stand in a header and on a page.

    Raises `PaperError` where nothing of it is left, or it is too long or not printable.
    """
    name = file_name
    for side in _SIDES:
        name = name.rpartition(side)[2]
    name = name.strip()
    if not name.strip(".") or not name.isprintable():
        raise PaperError("a file without a readable name", "a name of letters, digits and signs")
    if len(name) > LONGEST_NAME:
        raise PaperError(f"a name of {len(name)} letters", f"a name of at most {LONGEST_NAME}")
    return name


def check_paper_size(size_bytes: int, most_bytes: int) -> None:
    """Refuse a paper that is empty or too large."""
    if size_bytes == 0:
        raise PaperError("an empty file")
    if size_bytes > most_bytes:
        raise PaperError(f"{size_bytes:,} bytes", f"at most {most_bytes:,} bytes")


def media_type_of(raw: bytes, name: str) -> str:
    """The media type of a paper: that of its content, which must be the one that its name promises.

    Raises `PaperError` where the name promises none of those accepted, or the content is another.
    """
    suffix = PurePosixPath(name).suffix.lower()
    form = _FORMS.get(suffix)
    if form is None:
        raise PaperError(f'a file that ends in "{suffix}"' if suffix else "a name without an ending")
    if not form.is_so(raw):
        raise PaperError(f"a file that is called {suffix} and is no {form.words} inside")
    return form.media_type


def _is_text(raw: bytes) -> bool:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Mail programs of an office write either; every byte is a letter there, so the control codes decide.
        text = raw.decode("cp1252", errors="ignore")
    return not _CONTROL.search(text) and not _MARKUP.match(text)


def _is_mail(raw: bytes) -> bool:
    if b"\x00" in raw or not _FIELD_NAME.match(raw):
        return False
    headers = BytesHeaderParser(policy=compat32).parsebytes(raw)
    return all(headers.get(name) for name in _MAIL_HAS)


def _matches(signature: re.Pattern[bytes]) -> Callable[[bytes], bool]:
    return lambda raw: signature.match(raw) is not None


_PICTURE_JPEG = _Form("image/jpeg", "JPEG picture", _matches(_JPEG))
_FORMS: Mapping[str, _Form] = {
    ".pdf": _Form("application/pdf", "PDF", _matches(_PDF)),
    ".png": _Form("image/png", "PNG picture", _matches(_PNG)),
    ".jpg": _PICTURE_JPEG,
    ".jpeg": _PICTURE_JPEG,
    ".txt": _Form("text/plain", "plain text", _is_text),
    ".eml": _Form("message/rfc822", "e-mail", _is_mail),
}
SUFFIXES = tuple(_FORMS)
