"""Photo files as cameras and phones write them, and as nobody should; made in memory."""

import io
from datetime import datetime
from fractions import Fraction

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw
from PIL.TiffImagePlugin import IFDRational

TAKEN_CLOCK = datetime(2026, 11, 10, 8, 15, 30)
OFFSET = "-05:00"
LONGITUDE_DEG, LATITUDE_DEG = -78.4995, 38.0001
CAMERA = "Invented Camera 3"


def picture(width_px: int = 640, height_px: int = 480, shade: int = 90, mode: str = "RGB") -> Image.Image:
    """A picture whose upper left corner is red, so that it can be seen which way up it is."""
    made = Image.new("RGB", (width_px, height_px), (shade, 140, 60))
    drawn = ImageDraw.Draw(made)
    drawn.rectangle((0, 0, width_px // 4, height_px // 4), fill=(230, 20, 20))
    drawn.line((0, height_px, width_px, height_px // 3), fill=(240, 220, 40), width=max(1, height_px // 40))
    return made.convert(mode)


def exif(
    *,
    taken: datetime | None = TAKEN_CLOCK,
    offset: str | None = OFFSET,
    place_deg: tuple[float, float] | None = (LONGITUDE_DEG, LATITUDE_DEG),
    error_m: float | None = 4.5,
    orientation: int | None = None,
) -> bytes:
    """What a camera writes beside a picture; its make is private too."""
    written = Image.Exif()
    written[0x010F] = CAMERA
    if orientation is not None:
        written[0x0112] = orientation
    camera = written.get_ifd(0x8769)
    if taken is not None:
        camera[0x9003] = f"{taken:%Y:%m:%d %H:%M:%S}"
    if offset is not None:
        camera[0x9011] = offset
    if place_deg is not None:
        place = written.get_ifd(0x8825)
        place[1], place[2] = ("N" if place_deg[1] >= 0 else "S"), _sexagesimal(place_deg[1])
        place[3], place[4] = ("E" if place_deg[0] >= 0 else "W"), _sexagesimal(place_deg[0])
        if error_m is not None:
            place[31] = IFDRational(Fraction(error_m).limit_denominator(1000))
    return written.tobytes()


def jpeg(width_px: int = 640, height_px: int = 480, *, shade: int = 90, exif: bytes = b"", **saved) -> bytes:
    """A JPEG file; ``exif`` as `exif` makes it."""
    return _file(picture(width_px, height_px, shade), "JPEG", exif=exif, **saved)


def png(width_px: int = 320, height_px: int = 240, *, shade: int = 90, exif: bytes = b"", **saved) -> bytes:
    """A PNG file."""
    return _file(picture(width_px, height_px, shade), "PNG", exif=exif, **saved)


def webp(width_px: int = 320, height_px: int = 240, *, shade: int = 90, exif: bytes = b"", **saved) -> bytes:
    """A WebP file."""
    return _file(picture(width_px, height_px, shade), "WEBP", exif=exif, **saved)


def animated(form: str) -> bytes:
    """A moving picture of three frames, as PNG or WebP."""
    frames = [picture(40, 30, shade) for shade in (20, 120, 220)]
    return _file(frames[0], form, save_all=True, append_images=frames[1:], duration=100)


def photo_upload(raw: bytes | None = None, name: str = "hole.jpg", *, shade: int = 90) -> SimpleUploadedFile:
    """A photo as a form sends it; each shade is another photo."""
    return SimpleUploadedFile(name, jpeg(shade=shade) if raw is None else raw, content_type="image/jpeg")


def _file(made: Image.Image, form: str, **saved) -> bytes:
    file = io.BytesIO()
    made.save(file, form, **saved)
    return file.getvalue()


def _sexagesimal(angle_deg: float) -> tuple[IFDRational, IFDRational, IFDRational]:
    seconds = Fraction(abs(angle_deg)).limit_denominator(10**7) * 3600
    degrees, rest = divmod(seconds, 3600)
    minutes, left = divmod(rest, 60)
    return IFDRational(int(degrees), 1), IFDRational(int(minutes), 1), IFDRational(round(left * 1000), 1000)
