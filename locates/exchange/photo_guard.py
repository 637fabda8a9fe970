"""What a photo must be before it is kept: a whole still picture of a known form, by its content, and small.

The copies are made here too, from the picture's points alone, so that nothing a camera wrote goes into them.
"""

import io
import math
import struct
import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import PurePosixPath

from PIL import Image, ImageFile, JpegImagePlugin, PngImagePlugin, WebPImagePlugin

from locates.errors import LocatesError
from locates.exchange.exif_reader import CameraWords, read_exif
from locates.exchange.paper_guard import PaperError, paper_name

ACCEPTED = "a still JPEG, PNG or WebP picture"
ON_A_PHONE = f"{ACCEPTED}; in the phone's camera settings choose the most compatible form, JPEG"
MOST_POINTS = 50_000_000
"""Of a picture before it is read: 150 MB of points in three colours; common practice, no source."""
THUMBNAIL_PX, PRINT_COPY_PX = 400, 1200

# TIFF 6.0, tag 274: how a picture of each orientation is turned to stand upright.
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_SIDEWAYS = (5, 6, 7, 8)
# What a reader of pictures raises on bytes that are none, as Pillow's own `open` and its tests count them.
_NO_PICTURE = (OSError, SyntaxError, ValueError, IndexError, KeyError, TypeError, EOFError)
_NO_PICTURE += (OverflowError, struct.error, zlib.error)
_PNG_END = b"\x00\x00\x00\x00IEND\xaeB`\x82"
_RIFF_HEAD = 8
# ISO/IEC 14496-12, 4.3: files of the family that phones keep HEIC and AVIF in.
_FAMILY = b"ftyp"
# Markup long enough to stand in no picture by chance: seven letters once in 10^9 pictures of 15 MB.
_MARKUP = (b"<script", b"<!doctype", b"<iframe", b"</html>", b"<html>", b"<?php ")
_PDF, _PDF_WITHIN = b"%PDF-", 1024


class PhotoError(LocatesError, ValueError):
    """A file that is not kept as a photo.

    Parameters
    ----------
    name : str
        The file's name, or "" where it has none.
    found, accepted : str
        What the file is, and what it may be.
    """

    def __init__(self, name: str, found: str, accepted: str = ACCEPTED) -> None:
        super().__init__(name, found, accepted)
        self.name = name
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        where = f"{self.name}: " if self.name else ""
        return f"{where}found {self.found}; accepted: {self.accepted}"


@dataclass(frozen=True, slots=True)
class Copy:
    """A smaller picture as a JPEG file without metadata."""

    raw: bytes
    width_px: int
    height_px: int

    @property
    def sha256(self) -> str:
        """Digest of the file."""
        return sha256(self.raw).hexdigest()


@dataclass(frozen=True, slots=True)
class CheckedPhoto:
    """A photo that may be kept: its bytes as they came, its copies, and what the camera wrote."""

    name: str
    media_type: str
    raw: bytes
    width_px: int
    height_px: int
    thumbnail: Copy
    print_copy: Copy
    camera: CameraWords

    @property
    def sha256(self) -> str:
        """Digest of the bytes as they came."""
        return sha256(self.raw).hexdigest()


@dataclass(frozen=True, slots=True)
class _Form:
    """A form of picture: its media type and words, how it is opened, and whether it ends with its file."""

    media_type: str
    words: str
    is_so: Callable[[bytes], bool]
    opened: Callable[[io.BytesIO], Image.Image]
    ends: Callable[[bytes], bool]


def _is_webp(raw: bytes) -> bool:
    return raw[:4] == b"RIFF" and raw[8:12] == b"WEBP"


def _webp_ends(raw: bytes) -> bool:
    length = struct.unpack_from("<I", raw, 4)[0] + _RIFF_HEAD
    return len(raw) in (length, length + length % 2)


_JPEG = _Form(
    "image/jpeg",
    "JPEG picture",
    lambda raw: raw[:3] == b"\xff\xd8\xff",
    # Phones put further pictures behind the first (a depth, a brighter one); this opens the first alone.
    JpegImagePlugin.JpegImageFile,
    lambda _: True,
)
_FORMS: Mapping[str, _Form] = {
    ".jpg": _JPEG,
    ".jpeg": _JPEG,
    ".png": _Form(
        "image/png",
        "PNG picture",
        lambda raw: raw[:8] == b"\x89PNG\r\n\x1a\n",
        PngImagePlugin.PngImageFile,
        lambda raw: raw.endswith(_PNG_END) and raw.count(_PNG_END) == 1,
    ),
    ".webp": _Form("image/webp", "WebP picture", _is_webp, WebPImagePlugin.WebPImageFile, _webp_ends),
}
SUFFIXES = tuple(_FORMS)


def check_photo_size(name: str, size_bytes: int, most_bytes: int) -> None:
    """Refuse a file that is empty or too large, before it is read."""
    if size_bytes == 0:
        raise PhotoError(name, "an empty file")
    if size_bytes > most_bytes:
        raise PhotoError(name, f"{size_bytes:,} bytes", f"at most {most_bytes:,} bytes")


def check_photo(file_name: str, raw: bytes) -> CheckedPhoto:
    """A photo with its copies, told by its content.

    Raises `PhotoError` where the content is no whole still picture of the form that its name promises, where
    it is another file as well, or where it has more points than are read.
    """
    try:
        name = paper_name(file_name)
    except PaperError as error:
        raise PhotoError("", error.found, error.accepted) from error
    form = _form_of(name, raw)
    _refuse_second_nature(name, raw)
    # One switch for the whole process, which a library that prints pictures turns on when it is imported:
    # with it on, a picture that is cut off opens like a whole one.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        opened = form.opened(io.BytesIO(raw))
        _refuse_animated(name, opened)
        whole_px = opened.size
        if math.prod(whole_px) > MOST_POINTS:
            points = f"{whole_px[0]:,} x {whole_px[1]:,} points"
            raise PhotoError(name, points, f"at most {MOST_POINTS:,} points in all")
        # A JPEG is read through to its end, but at the least size that the copies need.
        opened.draft("RGB", (PRINT_COPY_PX, PRINT_COPY_PX))
        opened.load()
        # After loading: a PNG may hold it behind its points.
        camera = read_exif(_exif_of(opened))
        print_copy, thumbnail = _copies(opened, camera.orientation)
    except PhotoError:
        raise
    except _NO_PICTURE as error:
        found = f"a {form.words} that is cut off or damaged"
        raise PhotoError(name, found, "a whole picture that opens") from error
    if not form.ends(raw):
        raise PhotoError(name, f"a {form.words} with something else behind its end", "a picture alone")
    width_px, height_px = whole_px[::-1] if camera.orientation in _SIDEWAYS else whole_px
    return CheckedPhoto(name, form.media_type, raw, width_px, height_px, thumbnail, print_copy, camera)


def _form_of(name: str, raw: bytes) -> _Form:
    suffix = PurePosixPath(name).suffix.lower()
    if raw[4:8] == _FAMILY:
        raise PhotoError(name, "a HEIC or AVIF picture, or a film", ON_A_PHONE)
    form = _FORMS.get(suffix)
    if form is None:
        found = f'a file that ends in "{suffix}"' if suffix else "a name without an ending"
        raise PhotoError(name, found, f"{ACCEPTED} ({', '.join(SUFFIXES)})")
    if not form.is_so(raw):
        really = next((other.words for other in _FORMS.values() if other.is_so(raw)), None)
        inside = f"a {really} inside" if really else f"no {form.words} inside"
        raise PhotoError(name, f"a file that is called {suffix} and is {inside}")
    return form


def _refuse_second_nature(name: str, raw: bytes) -> None:
    """Refuse what another program would read as an archive, a page or a document."""
    small = raw.lower()
    if zipfile.is_zipfile(io.BytesIO(raw)):
        found = "a picture that is an archive as well"
    elif any(words in small for words in _MARKUP):
        found = "a picture that holds a page or a script as well"
    elif _PDF in raw[:_PDF_WITHIN]:
        found = "a picture that is a PDF as well"
    else:
        return
    raise PhotoError(name, found, "a picture alone, as the camera wrote it")


def _refuse_animated(name: str, opened: Image.Image) -> None:
    frames = getattr(opened, "n_frames", 1)
    if frames > 1:
        raise PhotoError(
            name, f"a moving picture of {frames} frames", "a still one: a single moment is shown"
        )


def _exif_of(opened: Image.Image) -> bytes:
    found = opened.info.get("exif", b"")
    return found if isinstance(found, bytes) else b""


def _copies(opened: Image.Image, orientation: int) -> tuple[Copy, Copy]:
    """The copy for pages and paper and the thumbnail, both upright."""
    upright = _flat(opened)
    upright.thumbnail((PRINT_COPY_PX, PRINT_COPY_PX), Image.Resampling.LANCZOS)
    if orientation in _TURNS:
        upright = upright.transpose(_TURNS[orientation])
    print_copy = _as_jpeg(upright, quality=85)
    upright.thumbnail((THUMBNAIL_PX, THUMBNAIL_PX), Image.Resampling.LANCZOS)
    return print_copy, _as_jpeg(upright, quality=80)


def _flat(opened: Image.Image) -> Image.Image:
    """Three colours, on white where it is transparent; nothing else of the file stays with them."""
    if opened.mode.startswith("I"):
        # Sixteen bits of grey: their upper eight.
        opened = opened.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if "A" in opened.mode or "transparency" in opened.info:
        coloured = opened.convert("RGBA")
        flat = Image.new("RGB", coloured.size, "white")
        flat.paste(coloured, mask=coloured.getchannel("A"))
        return flat
    points = opened.convert("RGB")
    flat = Image.new("RGB", points.size)
    flat.paste(points)
    return flat


def _as_jpeg(picture: Image.Image, *, quality: int) -> Copy:
    file = io.BytesIO()
    picture.save(file, "JPEG", quality=quality, optimize=True)
    return Copy(file.getvalue(), *picture.size)
