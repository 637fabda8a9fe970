"""What a camera wrote beside a picture: when, where, and which way up it was held.

Only the few fields that count are looked at, each by its own tag; what is hostile or damaged gives nothing.
"""

import math
import re
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone

from locates.exchange.moments import EARLIEST_YEAR, LATEST_YEAR

# Tags and types: CIPA DC-008 (Exif 2.32), tables 4, 8 and 15; TIFF 6.0, section 2.
_ORIENTATION, _EXIF_PART, _GPS_PART = 0x0112, 0x8769, 0x8825
_TAKEN, _TAKEN_OFFSET = 0x9003, 0x9011
_SOUTH, _LATITUDE, _WEST, _LONGITUDE, _ERROR_M = 1, 2, 3, 4, 31
_TEXT, _SHORT, _LONG, _RATIO = 2, 3, 4, 5
_SIZES = {_TEXT: 1, _SHORT: 2, _LONG: 4, _RATIO: 8}
_MOST_TAGS = 500
_LONGEST_VALUE = 64

_TAKEN_TEXT = re.compile(r"(\d{4}):(\d{2}):(\d{2}) (\d{2}):(\d{2}):(\d{2})", re.ASCII)
_OFFSET_TEXT = re.compile(r"([+-])(\d{2}):(\d{2})", re.ASCII)
_FARTHEST_OFFSET = timedelta(hours=14)

Value = str | tuple[int, ...] | tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CameraWords:
    """What a camera wrote.

    Attributes
    ----------
    orientation : int
        1 to 8 as in TIFF 6.0; 1 is upright, and stands for what is unknown as well.
    taken_at : datetime or None
        In UTC where the camera wrote its offset, else without an offset, as its clock stood.
    longitude_deg, latitude_deg : float or None
        WGS 84; both or none.
    error_m : float or None
        How far the position may be off, as the camera says.
    """

    orientation: int = 1
    taken_at: datetime | None = None
    longitude_deg: float | None = None
    latitude_deg: float | None = None
    error_m: float | None = None


def read_exif(raw: bytes) -> CameraWords:
    """What stands in a picture's Exif part.

    Parameters
    ----------
    raw : bytes
        A TIFF structure, after the six bytes "Exif", 0, 0 where they are there; nothing for no Exif.

    Returns
    -------
    CameraWords
        Fields that are missing, damaged or cannot be true are None. The position 0, 0 is one of them: cameras
        write it where they know none.

    Notes
    -----
    CIPA DC-008, Exif 2.32; pointers that lead out of the bytes lead nowhere, and none is followed twice.
    """
    tiff = raw.removeprefix(b"Exif\x00\x00")
    if tiff[:4] not in (b"II*\x00", b"MM\x00*"):
        return CameraWords()
    reader = _Tiff(tiff, "<" if tiff[:2] == b"II" else ">")
    main = reader.part(reader.number("I", 4))
    camera = reader.part(_first_whole(main.get(_EXIF_PART)))
    place = reader.part(_first_whole(main.get(_GPS_PART)))
    orientation = _first_whole(main.get(_ORIENTATION))
    longitude_deg = _angle(place.get(_LONGITUDE), place.get(_WEST), "EW", 180.0)
    latitude_deg = _angle(place.get(_LATITUDE), place.get(_SOUTH), "NS", 90.0)
    is_placed = None not in (longitude_deg, latitude_deg) and (longitude_deg, latitude_deg) != (0.0, 0.0)
    return CameraWords(
        orientation=orientation if orientation is not None and 1 <= orientation <= 8 else 1,
        taken_at=_taken(camera.get(_TAKEN), camera.get(_TAKEN_OFFSET)),
        longitude_deg=longitude_deg if is_placed else None,
        latitude_deg=latitude_deg if is_placed else None,
        error_m=_error(place.get(_ERROR_M)) if is_placed else None,
    )


class _Tiff:
    """Bytes of a TIFF structure, read where they are there."""

    def __init__(self, raw: bytes, order: str) -> None:
        self.raw = raw
        self.order = order

    def number(self, kind: str, at: int) -> int | None:
        size = struct.calcsize(kind)
        if at < 0 or at + size > len(self.raw):
            return None
        return int(struct.unpack_from(self.order + kind, self.raw, at)[0])

    def part(self, at: int | None) -> Mapping[int, Value]:
        """Tags of the directory at an offset."""
        count = None if at is None else self.number("H", at)
        found: dict[int, Value] = {}
        if at is None or count is None:
            return found
        for entry in range(min(count, _MOST_TAGS)):
            start = at + 2 + 12 * entry
            tag, kind, length = (
                self.number("H", start),
                self.number("H", start + 2),
                self.number("I", start + 4),
            )
            if tag is None or kind is None or length is None:
                break
            value = self._value(kind, length, start + 8)
            if value is not None:
                found.setdefault(tag, value)
        return found

    def _value(self, kind: int, length: int, at: int) -> Value | None:
        size = _SIZES.get(kind, 0) * length
        if not 0 < size <= _LONGEST_VALUE:
            return None
        start = at if size <= 4 else self.number("I", at)
        if start is None or start + size > len(self.raw):
            return None
        raw = self.raw[start : start + size]
        if kind == _TEXT:
            return raw.split(b"\x00")[0].decode("ascii", errors="replace").strip()
        if kind == _RATIO:
            parts = struct.unpack(f"{self.order}{2 * length}I", raw)
            pairs = zip(parts[::2], parts[1::2], strict=True)
            return tuple(over / under if under else math.nan for over, under in pairs)
        return struct.unpack(f"{self.order}{length}{'H' if kind == _SHORT else 'I'}", raw)


def _first_whole(value: Value | None) -> int | None:
    return value[0] if isinstance(value, tuple) and isinstance(value[0], int) else None


def _angle(value: Value | None, side: Value | None, sides: str, most_deg: float) -> float | None:
    if not isinstance(value, tuple) or len(value) != 3 or not isinstance(side, str) or len(side) != 1:
        return None
    degrees, minutes, seconds = value
    angle_deg = degrees + minutes / 60 + seconds / 3600
    # NaN fails the comparison.
    if side not in sides or not 0 <= angle_deg <= most_deg:
        return None
    return -angle_deg if side in "WS" and angle_deg else angle_deg


def _error(value: Value | None) -> float | None:
    error_m = value[0] if isinstance(value, tuple) else math.nan
    return float(error_m) if 0 <= error_m < math.inf else None


def _taken(value: Value | None, offset: Value | None) -> datetime | None:
    match = _TAKEN_TEXT.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        return None
    try:
        year, month, day, hour, minute, second = map(int, match.groups())
        clock = datetime(year, month, day, hour, minute, second)
    except ValueError:
        return None
    if not EARLIEST_YEAR < clock.year < LATEST_YEAR:
        return None
    written = _OFFSET_TEXT.fullmatch(offset) if isinstance(offset, str) else None
    if written is None:
        return clock
    ahead = timedelta(hours=int(written[2]), minutes=int(written[3])) * (-1 if written[1] == "-" else 1)
    if abs(ahead) > _FARTHEST_OFFSET or int(written[3]) > 59:
        return clock
    return clock.replace(tzinfo=timezone(ahead)).astimezone(UTC)
