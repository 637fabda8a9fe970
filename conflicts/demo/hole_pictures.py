"""Invented pictures of test holes for the demo: drawn, and showing nothing that exists."""

import io
import random
from dataclasses import dataclass

from PIL import Image, ImageDraw, ImageFont

WIDTH_PX, HEIGHT_PX = 480, 640
SKY_PX = 90
EARTH, PIT, SHADE = (141, 116, 92), (84, 66, 50), (58, 45, 34)
STAFF, INK, PAPER = (238, 232, 210), (28, 28, 28), (250, 250, 246)
PIPES = {
    "electric": (178, 34, 40),
    "gas_oil_steam": (222, 184, 20),
    "communication": (226, 124, 38),
    "potable_water": (36, 92, 170),
    "reclaimed_water": (112, 52, 140),
    "sewer_drain": (48, 128, 72),
}


@dataclass(frozen=True)
class HolePicture:
    """What a picture shows: the words on its card, the line's type, and where the drill head is seen.

    ``head_below_px`` is how far under the line the head passes; None where none is seen.
    """

    words: str
    facility_type: str
    head_below_px: int | None = None


def draw_hole(shown: HolePicture) -> bytes:
    """A small JPEG of a hole with a line across it, a staff and a card; the same bytes for the same words."""
    image = Image.new("RGB", (WIDTH_PX, HEIGHT_PX), EARTH)
    pen = ImageDraw.Draw(image)
    # Not for secrets: grains of the ground, the same for each card.
    grain = random.Random(shown.words)  # noqa: S311
    for _ in range(900):
        x, y, shade = grain.randrange(WIDTH_PX), grain.randrange(HEIGHT_PX), grain.randrange(-16, 17)
        pen.ellipse((x, y, x + 3, y + 3), fill=tuple(part + shade for part in EARTH))
    pen.rounded_rectangle((90, SKY_PX, 390, 600), 60, fill=PIT, outline=SHADE, width=6)
    _line(pen, PIPES[shown.facility_type])
    if shown.head_below_px is not None:
        y = 400 + shown.head_below_px
        pen.rounded_rectangle((140, y, 320, y + 34), 16, fill=(120, 124, 126), outline=INK, width=2)
        pen.polygon([(320, y), (352, y + 17), (320, y + 34)], fill=(150, 154, 156), outline=INK)
    _staff(pen)
    pen.rectangle((0, 0, WIDTH_PX, 62), fill=PAPER)
    pen.text((16, 18), shown.words, fill=INK, font=ImageFont.load_default(22))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=62)
    return out.getvalue()


def _line(pen: ImageDraw.ImageDraw, colour: tuple[int, int, int]) -> None:
    pen.rectangle((96, 340, 384, 390), fill=colour)
    pen.rectangle((96, 346, 384, 354), fill=tuple(min(255, part + 60) for part in colour))
    pen.line((96, 390, 384, 390), fill=SHADE, width=4)


def _staff(pen: ImageDraw.ImageDraw) -> None:
    pen.rectangle((356, 40, 376, 600), fill=STAFF, outline=INK)
    for place in range(56):
        long = 12 if place % 5 == 0 else 6
        pen.line((376 - long, 40 + place * 10, 376, 40 + place * 10), fill=INK, width=1)
