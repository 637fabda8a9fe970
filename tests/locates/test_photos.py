"""Photos: kept as they came and signed, shown as copies, and opened only by those who may."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from threading import Barrier
from uuid import uuid4

import pytest
from django.contrib.auth.models import Permission
from django.contrib.gis.geos import Point
from django.db import DatabaseError, connection, transaction
from django.test.client import Client
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from locates.desk import keep_photo as keeping
from locates.desk.keep_photo import MOST_PHOTOS, keep_photo
from locates.desk.prove_ledger import prove_ledger
from locates.errors import RetiredMeanwhileError
from locates.exchange.photo_guard import PhotoError
from locates.forms.files_field import MOST_AT_ONCE
from locates.forms.photos_field import PhoneFixField
from locates.models import LedgerEntry, Photo
from locates.models.photo import LARGEST_PHOTO_BYTES
from tests.factories import (
    JobFactory,
    MarkFactory,
    OrganisationFactory,
    PersonFactory,
    SurfaceFeatureFactory,
    TestHoleFactory,
    person_in_role,
    small_job,
    stand_aside,
)
from tests.photo_files import CAMERA, LATITUDE_DEG, LONGITUDE_DEG, exif, jpeg, photo_upload, png
from tests.rewriting import rewriting_allowed
from tests.signing import signing

ADDRESSES = ("photo-facts", "photo", "photo-thumbnail", "photo-copy")
FIX = "[-78.25, 38.5, 12.5, 1796000000000]"
FIX_AT = datetime.fromtimestamp(1796000000, UTC)


@pytest.fixture
def hole(db):
    return TestHoleFactory()


@pytest.fixture
def ruth(db):
    return person_in_role("Coordinator", username="ruth", first_name="Ruth", last_name="Ames")


@pytest.fixture
def coordinator(client, ruth):
    client.force_login(ruth)
    return client


def address(photo, name="photo-facts"):
    return reverse(f"locates:{name}", args=[photo.pk])


def page_of(record, kind="test-hole"):
    return reverse("locates:photo-add", args=[kind, record.pk])


def brought(client, hole, *uploads, **fields):
    return client.post(page_of(hole), {"photos": list(uploads), **fields})


def test_a_photo_is_kept_with_its_facts_and_its_entry(hole, ruth):
    raw = jpeg(exif=exif(orientation=6))
    with signing(ruth):
        photo = keep_photo(hole, photo_upload(raw), by=ruth)
    photo.refresh_from_db()
    assert (bytes(photo.content), photo.sha256, photo.size_bytes) == (raw, sha256(raw).hexdigest(), len(raw))
    assert (photo.job, photo.subject_model, photo.subject_id) == (hole.job, "locates.testhole", hole.pk)
    assert (photo.width_px, photo.height_px) == (480, 640)
    assert (photo.taken_at, photo.taken_from) == (datetime(2026, 11, 10, 13, 15, 30, tzinfo=UTC), "file")
    assert photo.position.coords == pytest.approx((LONGITUDE_DEG, LATITUDE_DEG), abs=1e-6)
    assert (photo.position_error_m, photo.position_from) == (4.5, "file")
    assert (photo.kept_by, photo.kept_by_name) == (ruth, "Ruth Ames")
    entry = LedgerEntry.objects.get()
    assert (entry.kind, entry.record_id, entry.entered_by) == ("photo", photo.pk, ruth)
    assert photo.sha256 in entry.content
    proof = prove_ledger()
    assert (proof.fault, proof.count) == (None, 1)


@pytest.mark.parametrize(
    "change",
    [
        "content = 'another', sha256 = encode(sha256('another'), 'hex'), size_bytes = 7",
        "thumbnail = 'another', thumbnail_sha256 = encode(sha256('another'), 'hex')",
        "print_copy = 'another', print_copy_sha256 = encode(sha256('another'), 'hex')",
        "taken_at = taken_at - interval '1 day'",
        "position = ST_SetSRID(ST_Point(-78, 38), 4326)",
        "subject_id = gen_random_uuid()",
    ],
)
def test_the_ledger_finds_a_photo_that_was_altered_behind_its_back(hole, ruth, change):
    with signing(ruth):
        keep_photo(hole, photo_upload(jpeg(exif=exif())), by=ruth)
    assert prove_ledger().is_proven
    with pytest.raises(DatabaseError, match="is refused on locates_photo"), transaction.atomic():
        Photo.objects.update(file_name="b.jpg")
    with rewriting_allowed(), connection.cursor() as cursor:
        cursor.execute(f"UPDATE locates_photo SET {change}")  # noqa: S608 - one of the above
    assert prove_ledger().fault is not None


def test_the_camera_s_clock_is_read_in_the_job_s_zone_and_told_as_such(hole, ruth):
    photo = keep_photo(hole, photo_upload(jpeg(exif=exif(offset=None))), by=ruth, taken_at=FIX_AT)
    assert (photo.taken_at, photo.taken_from) == (
        datetime(2026, 11, 10, 13, 15, 30, tzinfo=UTC),
        "camera_clock",
    )


@pytest.mark.parametrize("clock", [datetime(2026, 11, 1, 1, 30), datetime(2026, 3, 8, 2, 30)])
def test_a_clock_that_stood_so_twice_or_never_says_no_moment(hole, ruth, clock):
    photo = keep_photo(hole, photo_upload(jpeg(exif=exif(taken=clock, offset=None))), by=ruth)
    assert (photo.taken_at, photo.taken_from) == (None, "")


def test_what_the_device_told_fills_what_the_file_does_not_say(hole, ruth):
    told = {"taken_at": FIX_AT, "position": Point(-78.25, 38.5, srid=4326), "error_m": 12.5}
    photo = keep_photo(hole, photo_upload(), by=ruth, **told)
    assert (photo.taken_at, photo.taken_from) == (FIX_AT, "device")
    assert (photo.position.coords, photo.position_error_m, photo.position_from) == (
        (-78.25, 38.5),
        12.5,
        "device",
    )
    own = keep_photo(hole, photo_upload(jpeg(exif=exif())), by=ruth, **told)
    assert (own.taken_from, own.position_from, own.position_error_m) == ("file", "file", 4.5)


def test_a_photo_that_says_nothing_is_of_unknown_time_and_place(hole, ruth):
    photo = keep_photo(hole, photo_upload(), by=ruth)
    assert (photo.taken_at, photo.position, photo.position_error_m) == (None, None, None)


def test_the_same_photo_or_id_is_stored_once_on_a_record(hole, ruth):
    first_id = uuid4()
    first = keep_photo(hole, photo_upload(shade=1), by=ruth, photo_id=first_id)
    assert first.pk == first_id
    assert keep_photo(hole, photo_upload(shade=1, name="again.jpg"), by=ruth) == first
    assert keep_photo(hole, photo_upload(shade=2), by=ruth, photo_id=first_id) == first
    elsewhere = keep_photo(TestHoleFactory(job=hole.job), photo_upload(shade=1), by=ruth, photo_id=first_id)
    assert elsewhere.pk != first_id
    assert (Photo.objects.count(), LedgerEntry.objects.count()) == (2, 2)


def test_a_record_has_room_for_so_many_photos(hole, ruth, monkeypatch):
    monkeypatch.setattr(keeping, "MOST_PHOTOS", 2)
    for shade in range(2):
        keep_photo(hole, photo_upload(shade=shade), by=ruth)
    with pytest.raises(PhotoError, match="2 photos here already"):
        keep_photo(hole, photo_upload(shade=9), by=ruth)
    assert keep_photo(hole, photo_upload(shade=1), by=ruth).pk
    assert MOST_PHOTOS == 30


def test_a_retired_record_or_job_takes_no_photo(hole, ruth):
    stand_aside(hole)
    with pytest.raises(RetiredMeanwhileError, match=f"Test hole {hole.ref}"):
        keep_photo(hole, photo_upload(), by=ruth)
    other = MarkFactory()
    stand_aside(other.job)
    with pytest.raises(RetiredMeanwhileError, match="The job"):
        keep_photo(other, photo_upload(), by=ruth)
    assert not Photo.objects.exists()


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_photo_sent_twice_at_once_is_stored_once():
    hole, person = TestHoleFactory(), PersonFactory()
    raw, start = jpeg(), Barrier(6)

    def keep(_):
        try:
            start.wait(timeout=30)
            with signing(person):
                return keep_photo(hole, photo_upload(raw), by=person).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as senders:
        ids = set(senders.map(keep, range(6)))
    assert len(ids) == Photo.objects.count() == LedgerEntry.objects.count() == 1
    assert prove_ledger().fault is None


@pytest.mark.parametrize(
    ("factory", "kind"),
    [(TestHoleFactory, "test-hole"), (MarkFactory, "mark"), (SurfaceFeatureFactory, "surface-feature")],
)
@pytest.mark.parametrize("role", ["Coordinator", "Foreman", "Safety manager"])
def test_each_role_adds_photos_to_what_is_on_the_ground(client, db, factory, kind, role):
    record = factory()
    client.force_login(person_in_role(role))
    page = client.get(page_of(record, kind)).content.decode()
    assert "Keep these photos" in page
    assert 'enctype="multipart/form-data"' in page
    sent = client.post(page_of(record, kind), {"photos": [photo_upload(shade=1), photo_upload(shade=2)]})
    assert sent.status_code == 302
    assert Photo.objects.of(record).count() == 2
    assert client.get(page_of(record, kind)).content.decode().count('loading="lazy"') == 2
    section = client.get(reverse("conflicts:job", args=[record.job_id])).content.decode()
    assert f'href="{page_of(record, kind)}">2 photos' in section


def test_the_original_comes_back_byte_by_byte_to_be_saved_and_not_shown(coordinator, hole):
    raw = png(exif=exif())
    brought(coordinator, hole, photo_upload(raw, "../Hole \u00e4.png"))
    photo = Photo.objects.get()
    assert photo.file_name == "Hole \u00e4.png"
    answer = coordinator.get(address(photo, "photo"))
    assert sha256(answer.content).hexdigest() == sha256(raw).hexdigest() == photo.sha256
    assert answer["Content-Type"] == "image/png"
    assert answer["Content-Disposition"].startswith("attachment; filename")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]
    assert "script-src" not in answer["Content-Security-Policy"]
    assert "no-store" in answer["Cache-Control"]


@pytest.mark.parametrize("name", ["photo-thumbnail", "photo-copy"])
def test_copies_are_pictures_without_metadata_kept_privately_by_their_digest(coordinator, hole, ruth, name):
    photo = keep_photo(hole, photo_upload(jpeg(exif=exif())), by=ruth)
    answer = coordinator.get(address(photo, name))
    assert answer["Content-Type"] == "image/jpeg"
    assert answer.content.startswith(b"\xff\xd8\xff")
    assert b"Exif" not in answer.content
    assert CAMERA.encode() not in answer.content
    assert answer["Cache-Control"].startswith("private, max-age=")
    assert "Cookie" in answer["Vary"]
    assert answer["ETag"] == f'"{sha256(answer.content).hexdigest()}"'
    again = coordinator.get(address(photo, name), headers={"If-None-Match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_the_page_of_a_photo_tells_its_facts(coordinator, hole, ruth):
    photo = keep_photo(hole, photo_upload(jpeg(exif=exif())), by=ruth)
    page = coordinator.get(address(photo)).content.decode()
    for words in (
        "Tue Nov 10, 2026, 8:15 am EST",
        "38.0001000, -78.4995000",
        "by Ruth Ames",
        photo.sha256,
        f"entry {LedgerEntry.objects.get().sequence}",
        page_of(hole),
        address(photo, "photo"),
    ):
        assert words in page
    assert "retire" not in page.lower()


def test_a_clock_ahead_of_the_keeping_is_said_to_be_wrong(coordinator, hole, ruth):
    late = datetime(2190, 1, 1, 8, 0, tzinfo=UTC)
    photo = keep_photo(hole, photo_upload(jpeg(exif=exif(taken=late))), by=ruth)
    assert "that clock was wrong" in coordinator.get(address(photo)).content.decode()


def test_who_may_not_open_originals_sees_copies_and_no_place(client, hole, ruth):
    photo = keep_photo(hole, photo_upload(jpeg(exif=exif())), by=ruth)
    client.force_login(person_in_role("Foreman"))
    assert client.get(address(photo, "photo")).status_code == 403
    assert client.get(address(photo, "photo-thumbnail")).status_code == 200
    assert client.get(address(photo, "photo-copy")).status_code == 200
    page = client.get(address(photo)).content.decode()
    assert "Kept with the original" in page
    assert "38.0001" not in page
    assert "78.4995" not in page
    assert address(photo, "photo") not in page


def test_people_of_another_company_or_of_none_find_no_photo(client, hole, ruth):
    photo = keep_photo(hole, photo_upload(), by=ruth)
    outsider = person_in_role("Safety manager", organisation=OrganisationFactory())
    nobody_s = PersonFactory(is_superuser=True, membership=None)
    for person in (outsider, nobody_s):
        client.force_login(person)
        for name in ADDRESSES:
            assert client.get(address(photo, name)).status_code == 404
        assert client.get(page_of(hole)).status_code == 404
        assert brought(client, hole, photo_upload(shade=3)).status_code == 404
    assert Photo.objects.count() == 1


def test_who_has_no_role_sees_no_photo_and_nobody_without_a_login(client, hole, ruth):
    photo = keep_photo(hole, photo_upload(), by=ruth)
    for name in ADDRESSES:
        assert client.get(address(photo, name)).status_code == 302
    person = PersonFactory()
    client.force_login(person)
    for name in ADDRESSES:
        assert client.get(address(photo, name)).status_code == 403
    person.user_permissions.add(Permission.objects.get(codename="view_photo"))
    assert client.get(address(photo)).status_code == 200
    assert "Keep these photos" not in client.get(page_of(hole)).content.decode()
    assert brought(client, hole, photo_upload(shade=3)).status_code == 403


def test_addresses_of_no_photo_are_not_found(coordinator, hole):
    for name in ADDRESSES:
        assert coordinator.get(reverse(f"locates:{name}", args=[uuid4()])).status_code == 404
    assert coordinator.get(page_of(hole, "mark")).status_code == 404
    assert coordinator.get(page_of(hole, "job")).status_code == 404


def test_a_form_without_its_token_keeps_nothing(hole, ruth):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(ruth)
    assert brought(strict, hole, photo_upload()).status_code == 403
    assert not Photo.objects.exists()


def test_one_bad_file_of_several_keeps_none_and_each_fault_is_told(coordinator, hole):
    page = brought(
        coordinator,
        hole,
        photo_upload(shade=1),
        photo_upload(b"", "empty.jpg"),
        photo_upload(b"GIF89a", "moving.gif"),
    ).content.decode()
    assert "empty.jpg: found an empty file" in page
    assert "moving.gif: found a file that ends in" in page
    assert "Choose the files again" in page
    assert not Photo.objects.exists()
    assert not LedgerEntry.objects.exists()


def test_nothing_chosen_too_many_and_too_large_are_refused_in_words(coordinator, hole):
    assert "This field is required" in brought(coordinator, hole).content.decode()
    many = [photo_upload(shade=shade) for shade in range(MOST_AT_ONCE + 1)]
    assert (
        "Found 11 photos; accepted: at most 10 at once" in brought(coordinator, hole, *many).content.decode()
    )
    large = photo_upload(jpeg() + bytes(LARGEST_PHOTO_BYTES), "large.jpg")
    assert "accepted: at most 15,728,640 bytes" in brought(coordinator, hole, large).content.decode()
    assert not Photo.objects.exists()


def test_a_full_record_keeps_none_of_what_is_sent_together(coordinator, hole, monkeypatch):
    monkeypatch.setattr(keeping, "MOST_PHOTOS", 1)
    page = brought(coordinator, hole, photo_upload(shade=1), photo_upload(shade=2)).content.decode()
    assert "1 photos here already" in page
    assert not Photo.objects.exists()


def test_the_phone_s_place_goes_with_photos_that_say_none(coordinator, hole):
    brought(coordinator, hole, photo_upload(), photo_fix=FIX)
    photo = Photo.objects.get()
    assert (photo.position.coords, photo.position_error_m, photo.position_from) == (
        (-78.25, 38.5),
        12.5,
        "device",
    )
    assert (photo.taken_at, photo.taken_from) == (FIX_AT, "device")


@pytest.mark.parametrize(
    "text",
    [
        *("", "here", "[]", "{}", "[1,2,3]", "[" * 900, "[true,2,3,4]", '["1",2,3,4]'),
        *("[181,2,3,4]", "[1,-91,3,4]", "[NaN,2,3,4]"),
        *("[1,2,3,null]", "[1,2,3,1e14]", f"[1,2,3,{'9' * 400}]"),
    ],
)
def test_a_fix_that_no_page_wrote_tells_no_place(text):
    assert PhoneFixField().clean(text) is None


@given(st.one_of(st.text(max_size=60), st.lists(st.floats() | st.integers() | st.none()).map(repr)))
def test_any_text_is_a_fix_or_none(text):
    fix = PhoneFixField().clean(text[:1000].replace("\x00", ""))
    assert fix is None or fix.position.valid


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=timedelta(seconds=2))
@given(
    st.binary(max_size=300),
    st.booleans(),
    st.sampled_from(["a.jpg", "a.png", "a.webp", "a", "\u202e.jpg", "x" * 300 + ".jpg"]),
    st.text(max_size=30),
)
def test_whatever_is_sent_is_answered(coordinator, hole, raw, is_begun, name, fix):
    begun = jpeg(40, 30)[:200] if is_begun else b""
    answer = brought(coordinator, hole, photo_upload(begun + raw, name), photo_fix=fix)
    assert answer.status_code == 200
    assert not Photo.objects.exists()


def keep_many(record, person, count):
    for number in range(count):
        keep_photo(record, photo_upload(jpeg(40, 30, comment=str(number).encode())), by=person)


def test_pages_cost_as_many_queries_with_sixty_photos_as_with_one(coordinator, ruth):
    job = small_job()
    hole, mark = job.test_holes.get(), job.marks.get()
    pages = [reverse("conflicts:job", args=[job.pk]), page_of(hole)]

    def counts():
        found = []
        for page in pages:
            coordinator.get(page)
            with connection.execute_wrapper(counter := Counter()):
                assert coordinator.get(page).status_code == 200
            found.append(counter.count)
        return found

    keep_many(hole, ruth, 1)
    keep_many(mark, ruth, 1)
    few = counts()
    keep_many(hole, ruth, 30)
    keep_many(mark, ruth, 30)
    assert Photo.objects.count() == 60
    assert counts() == few


class Counter:
    """Counts statements, and refuses one that reads the bytes of photos for a list."""

    def __init__(self):
        self.count = 0

    def __call__(self, execute, sql, params, many, context):
        self.count += 1
        assert '"locates_photo"."content"' not in sql
        assert '"locates_photo"."thumbnail",' not in sql
        return execute(sql, params, many, context)


def test_jobs_of_others_give_no_photo_to_a_record(hole, ruth):
    keep_photo(hole, photo_upload(), by=ruth)
    assert list(Photo.objects.of(TestHoleFactory(job=JobFactory()))) == []
