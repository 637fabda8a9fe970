"""What is kept as a photo: whole still pictures that are what their name promises, and nothing besides."""

import io
import struct
import zipfile
import zlib
from contextlib import suppress
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageFile

from locates.exchange import photo_guard
from locates.exchange.exif_reader import CameraWords, read_exif
from locates.exchange.photo_guard import (
    MOST_POINTS,
    PRINT_COPY_PX,
    SUFFIXES,
    THUMBNAIL_PX,
    PhotoError,
    check_photo,
    check_photo_size,
)
from tests import photo_files
from tests.photo_files import CAMERA, LATITUDE_DEG, LONGITUDE_DEG, TAKEN_CLOCK, exif, jpeg, png, webp

WHOLE = exif()
GOOD = {
    "hole.jpg": (jpeg(exif=WHOLE), "image/jpeg"),
    "Hole.JPEG": (jpeg(progressive=True), "image/jpeg"),
    "hole.png": (png(exif=WHOLE), "image/png"),
    "hole.webp": (webp(exif=WHOLE), "image/webp"),
}


def archive():
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as made:
        made.writestr("run.js", "alert(1)")
    return file.getvalue()


def png_of_size(width_px, height_px):
    """A PNG that says it is so large, of a few bytes."""

    def part(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", zlib.compress(b"")) + part(b"IEND", b"")


PAGE = b"<!DOCTYPE html><script>alert(1)</script>"
HOSTILE = [
    ("page.jpg", PAGE, "no JPEG picture inside"),
    ("drawing.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", 'ends in ".svg"'),
    ("program.exe", b"MZ\x90\x00", 'ends in ".exe"'),
    ("hole", jpeg(), "a name without an ending"),
    ("hole.png", jpeg(), "called .png and is a JPEG picture inside"),
    ("hole.jpg", png(), "called .jpg and is a PNG picture inside"),
    ("hole.jpg", b"\xff\xd8\xff" + bytes(60), "cut off or damaged"),
    ("hole.gif", b"GIF89a", 'ends in ".gif"'),
    ("hole.heic", b"\x00\x00\x00\x18ftypheic" + bytes(60), "a HEIC or AVIF picture"),
    ("hole.jpg", b"\x00\x00\x00\x18ftypheic" + bytes(60), "a HEIC or AVIF picture"),
    ("cut.jpg", jpeg()[:-600], "cut off or damaged"),
    ("cut.png", png()[:-200], "cut off or damaged"),
    ("cut.webp", webp()[:-200], "cut off or damaged"),
    ("both.jpg", jpeg() + archive(), "an archive as well"),
    ("both.png", png() + archive(), "an archive as well"),
    ("both.webp", webp() + archive(), "an archive as well"),
    ("both.jpg", jpeg() + PAGE, "a page or a script as well"),
    ("both.png", png() + PAGE, "a page or a script as well"),
    ("inside.jpg", jpeg(comment=PAGE), "a page or a script as well"),
    ("both.jpg", jpeg(comment=b"%PDF-1.7"), "a PDF as well"),
    ("more.png", png() + b"more", "something else behind its end"),
    ("more.webp", webp() + b"more", "something else behind its end"),
    ("moving.png", photo_files.animated("PNG"), "a moving picture of 3 frames"),
    ("moving.webp", photo_files.animated("WEBP"), "a moving picture of 3 frames"),
    ("bomb.png", png_of_size(50_000, 50_000), "50,000 x 50,000 points"),
    ("just.png", png_of_size(MOST_POINTS + 1, 1), "50,000,001 x 1 points"),
    ("huge.png", png_of_size(2**31 - 1, 2**31 - 1), "points"),
    ("no.png", png_of_size(0, 0), "cut off or damaged"),
    ("a\u202egpj.jpg", jpeg(), "without a readable name"),
]


@pytest.mark.parametrize("name", GOOD)
def test_a_photo_is_told_by_its_content_and_stays_as_it_came(name):
    raw, media_type = GOOD[name]
    checked = check_photo(name, raw)
    assert (checked.media_type, checked.raw, checked.name) == (media_type, raw, name)


@pytest.mark.parametrize(("name", "raw", "found"), HOSTILE)
def test_what_is_no_photo_alone_is_refused_with_what_was_found_and_what_is_accepted(name, raw, found):
    with pytest.raises(PhotoError) as caught:
        check_photo(name, raw)
    assert found in str(caught.value)
    assert "; accepted: " in str(caught.value)


def test_an_empty_and_a_large_file_are_refused_before_they_are_read():
    with pytest.raises(PhotoError, match=r"a\.jpg: found an empty file; accepted: a still JPEG"):
        check_photo_size("a.jpg", 0, 10)
    with pytest.raises(PhotoError, match="found 11 bytes; accepted: at most 10 bytes"):
        check_photo_size("a.jpg", 11, 10)
    check_photo_size("a.jpg", 10, 10)


@pytest.mark.parametrize("raw", [jpeg(120, 90), jpeg(120, 90, progressive=True), png(60, 40), webp(60, 40)])
def test_a_file_cut_anywhere_is_no_photo(raw):
    suffix = next(name for name, form in photo_guard._FORMS.items() if form.is_so(raw))
    # The last two bytes of a JPEG say that it ends; all points are there before them.
    for length in range(len(raw) - 2 * (suffix == ".jpg")):
        with pytest.raises(PhotoError):
            check_photo(f"a{suffix}", raw[:length])


def test_a_cut_file_is_no_photo_where_another_library_has_let_them_open(monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    for name in ("a.jpg", "a.png"):
        raw = (jpeg if name == "a.jpg" else png)(120, 90)
        with pytest.raises(PhotoError, match="cut off or damaged"):
            check_photo(name, raw[: len(raw) // 2])


@given(st.binary(max_size=400), st.sampled_from(SUFFIXES), st.sampled_from(["", *GOOD]))
def test_any_bytes_are_kept_or_refused_and_never_break_the_reader(raw, suffix, begins_as):
    whole = GOOD[begins_as][0] if begins_as else b""
    for candidate in (raw, whole[:40] + raw, whole[: len(whole) // 2] + raw):
        with suppress(PhotoError):
            assert check_photo(f"a{suffix}", candidate).raw == candidate


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")
@given(
    st.sampled_from(list(GOOD)),
    st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 255)), min_size=1, max_size=12),
)
def test_a_photo_with_altered_bytes_is_kept_or_refused(name, alterations):
    raw = bytearray(GOOD[name][0])
    for place, value in alterations:
        raw[int(place * len(raw))] = value
    with suppress(PhotoError):
        assert check_photo(name, bytes(raw)).thumbnail.raw.startswith(b"\xff\xd8\xff")


def parts_of_jpeg(raw):
    """The markers of a JPEG before its points, with their bodies (ITU-T T.81, B.1.1)."""
    at, found = 2, []
    while raw[at + 1] != 0xDA:
        (length,) = struct.unpack_from(">H", raw, at + 2)
        found.append((raw[at + 1], raw[at + 4 : at + 2 + length]))
        at += 2 + length
    return found


@pytest.mark.parametrize("name", GOOD)
def test_copies_carry_nothing_that_the_camera_wrote(name):
    raw, _ = GOOD[name]
    profile = b"invented colours of a device"
    picture = Image.open(io.BytesIO(raw))
    file = io.BytesIO()
    picture.save(file, picture.format, exif=WHOLE, icc_profile=profile, comment=b"Ash Lane 4")
    checked = check_photo(name, file.getvalue())
    assert CAMERA.encode() in checked.raw
    for copy in (checked.thumbnail, checked.print_copy):
        # JFIF's own head (APP0), tables and frame: no APP1 (Exif, XMP), no APP2 (colours), no comment.
        assert {marker for marker, _ in parts_of_jpeg(copy.raw)} <= {0xE0, 0xDB, 0xC0, 0xC4}
        (head,) = [body for marker, body in parts_of_jpeg(copy.raw) if marker == 0xE0]
        assert head[:5] == b"JFIF\x00"
        assert head[-2:] == b"\x00\x00"  # no picture within
        for private in (CAMERA.encode(), b"Exif", b"GPS", profile, b"Ash Lane"):
            assert private not in copy.raw
        assert copy.raw.endswith(b"\xff\xd9")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_copies_stand_upright_whichever_way_the_camera_was_held(orientation):
    upright = photo_files.picture(600, 300)
    # How a camera so held stores it: the inverse of the turn that a viewer makes (TIFF 6.0, tag 274).
    back = {
        1: None,
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }[orientation]
    file = io.BytesIO()
    held = upright.transpose(back) if back is not None else upright
    held.save(file, "JPEG", quality=95, exif=exif(orientation=orientation))
    checked = check_photo("a.jpg", file.getvalue())
    assert (checked.width_px, checked.height_px) == (600, 300)
    small = Image.open(io.BytesIO(checked.thumbnail.raw))
    assert small.size == (checked.thumbnail.width_px, checked.thumbnail.height_px) == (400, 200)
    red, green, _ = small.getpixel((20, 20))
    assert red > 180 > 80 > green  # the red corner is at the upper left


def test_copies_are_no_larger_than_they_say_and_small_ones_are_not_blown_up():
    checked = check_photo("a.jpg", jpeg(2600, 1300))
    assert (checked.print_copy.width_px, checked.print_copy.height_px) == (PRINT_COPY_PX, 600)
    assert (checked.thumbnail.width_px, checked.thumbnail.height_px) == (THUMBNAIL_PX, 200)
    tiny = check_photo("a.jpg", jpeg(30, 20))
    assert (tiny.print_copy.width_px, tiny.print_copy.height_px) == (30, 20)


def test_one_line_of_points_still_has_copies():
    checked = check_photo("a.png", png(5000, 1))
    assert (checked.thumbnail.width_px, checked.thumbnail.height_px) == (400, 1)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "I;16", "CMYK"])
def test_pictures_of_every_kind_of_colour_have_copies(mode):
    form = ("JPEG", ".jpg") if mode == "CMYK" else ("PNG", ".png")
    picture = Image.new("I;16", (40, 30), 65535) if mode == "I;16" else photo_files.picture(40, 30, mode=mode)
    file = io.BytesIO()
    picture.save(file, form[0])
    copy = Image.open(io.BytesIO(check_photo(f"a{form[1]}", file.getvalue()).thumbnail.raw))
    assert (copy.mode, copy.size) == ("RGB", (40, 30))
    if mode == "I;16":
        assert min(copy.getpixel((5, 5))) > 250


def test_what_is_transparent_is_white_in_the_copies():
    file = io.BytesIO()
    Image.new("RGBA", (40, 30), (0, 0, 0, 0)).save(file, "PNG")
    copy = Image.open(io.BytesIO(check_photo("a.png", file.getvalue()).thumbnail.raw))
    assert min(copy.getpixel((20, 15))) > 250


def test_the_same_photo_has_the_same_copies():
    assert check_photo("a.jpg", jpeg()) == check_photo("a.jpg", jpeg())


def test_a_second_picture_behind_the_first_is_kept_and_not_shown():
    """Phones put a picture of the depth, or a brighter one, behind the first."""
    raw = jpeg(exif=WHOLE) + jpeg(shade=200)
    checked = check_photo("a.jpg", raw)
    assert checked.raw == raw
    assert checked.thumbnail == check_photo("a.jpg", jpeg(exif=WHOLE)).thumbnail


@pytest.mark.parametrize("raw", [jpeg(exif=WHOLE), png(exif=WHOLE), webp(exif=WHOLE)])
def test_the_moment_and_the_place_of_a_camera_are_read(raw):
    suffix = next(name for name, form in photo_guard._FORMS.items() if form.is_so(raw))
    camera = check_photo(f"a{suffix}", raw).camera
    assert camera.taken_at == datetime(2026, 11, 10, 13, 15, 30, tzinfo=UTC)
    assert camera.longitude_deg == pytest.approx(LONGITUDE_DEG, abs=1e-6)
    assert camera.latitude_deg == pytest.approx(LATITUDE_DEG, abs=1e-6)
    assert camera.error_m == 4.5


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ({"offset": None}, TAKEN_CLOCK),
        ({"offset": "-25:00"}, TAKEN_CLOCK),
        ({"offset": "+05:75"}, TAKEN_CLOCK),
        ({"offset": "local"}, TAKEN_CLOCK),
        ({"offset": "+05:30"}, datetime(2026, 11, 10, 2, 45, 30, tzinfo=UTC)),
        ({"taken": None}, None),
        ({"taken": datetime(1800, 1, 1, tzinfo=UTC)}, None),
    ],
)
def test_a_moment_without_its_offset_is_the_camera_s_clock(written, read):
    assert read_exif(exif(**written)).taken_at == read


@pytest.mark.parametrize("clock", ["0000:00:00 00:00:00", "2026:13:01 08:00:00", "2026-11-10 08:15:30", ""])
def test_a_moment_that_is_none_is_unknown(clock):
    written = Image.Exif()
    written.get_ifd(0x8769)[0x9003] = clock
    assert read_exif(written.tobytes()).taken_at is None


@pytest.mark.parametrize("place_deg", [None, (0.0, 0.0), (181.0, 38.0), (-78.0, 91.0)])
def test_a_place_that_is_none_is_unknown(place_deg):
    camera = read_exif(exif(place_deg=place_deg))
    assert (camera.longitude_deg, camera.latitude_deg, camera.error_m) == (None, None, None)


def test_a_place_keeps_its_side_of_the_globe():
    camera = read_exif(exif(place_deg=(151.25, -33.5), error_m=None))
    assert (camera.longitude_deg, camera.latitude_deg, camera.error_m) == (151.25, -33.5, None)


def test_a_part_that_points_at_itself_ends():
    raw = b"II*\x00\x08\x00\x00\x00" + struct.pack("<HHHII", 1, 0x8769, 4, 1, 8)
    assert read_exif(raw) == CameraWords()


@given(st.binary(max_size=300), st.floats(0, 1))
def test_damaged_words_of_a_camera_never_break_the_reader(noise, place):
    at = int(place * len(WHOLE))
    for raw in (noise, WHOLE[:at] + noise, WHOLE[:at] + noise + WHOLE[at + len(noise) :]):
        camera = read_exif(raw)
        assert camera.orientation in range(1, 9)
        assert camera.longitude_deg is None or -180 <= camera.longitude_deg <= 180
        assert (camera.longitude_deg is None) == (camera.latitude_deg is None)
