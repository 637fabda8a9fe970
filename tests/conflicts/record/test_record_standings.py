"""Each release on the cover has its own standing beside it, also where another one was signed ahead."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.desk.withdraw_release import withdraw_release
from conflicts.models import Release, ReleaseWithdrawal
from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.record.render import record_html
from conflicts.release import sign_release
from locates.local_time import format_moment
from tests import factories
from tests.signing import signing
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


def sign(bore, crew, from_minutes, until_minutes, at=None):
    now = timezone.now()
    shift_from, shift_until = (now + timedelta(minutes=one) for one in (from_minutes, until_minutes))
    release = Release(bore=bore, crew=crew, rig="Rig 7", shift_from=shift_from, shift_until=shift_until)
    person = factories.PersonFactory()
    with signing(person):
        return sign_release(release, by=person, at=at)


@pytest.fixture
def bore():
    """A bore that one crew may drill now, and another in an hour."""
    stored = bore_of_today()
    sign(stored, "Crew One", -1, 120)
    sign(stored, "Crew Two", 60, 240)
    return stored


def record_of(bore, at=None):
    return draw_record(read_kept_records(bore.pk, at))


def standings_of(record):
    return [(one.says[0].split(" with ")[0], one.standing) for one in record.signatures if one.shift_until]


def told_of(bore):
    begins = format_moment(Release.objects.get(crew="Crew Two").shift_from, bore.job.time_zone)
    return [
        ("For Crew One", "In force as of this record."),
        ("For Crew Two", f"Not yet as of this record. Its shift begins {begins}."),
    ]


def test_the_release_in_force_is_told_so_and_not_the_one_signed_ahead(bore):
    record = record_of(bore)
    assert record.verdict.headline == "Released"
    assert standings_of(record) == told_of(bore)


def test_of_a_given_moment_each_is_told_too(bore):
    record = record_of(bore, timezone.now())
    assert record.verdict.headline == "Released"
    assert standings_of(record) == told_of(bore)


def test_the_cover_has_each_standing_in_the_row_of_its_release(bore):
    rows = record_html(record_of(bore)).split("<tr>")
    [one] = [row for row in rows if "Crew One" in row]
    [two] = [row for row in rows if "Crew Two" in row]
    assert "In force as of this record." in one
    assert "Not yet as of this record." in two
    assert "In force" not in two


def test_one_that_was_taken_back_is_told_so_beside_the_one_ahead(bore):
    first = Release.objects.get(crew="Crew One")
    withdraw_release(ReleaseWithdrawal(release=first, reason="The crew left."), by=factories.PersonFactory())
    record = record_of(bore)
    assert record.verdict.headline == "Not released"
    (_, one), (_, two) = standings_of(record)
    assert one.startswith("Withdrawn as of this record. Withdrawn ")
    assert one.endswith(": The crew left.")
    assert two.startswith("Lapsed as of this record. A release of the bore was withdrawn ")


def test_a_release_whose_shift_is_over_has_none_unless_it_is_the_last():
    stored = bore_of_today()
    sign(stored, "Crew Past", -1, 0, at=stored.walks.get().walked_at)
    assert standings_of(record_of(stored))[0][1].startswith("Over as of this record. Its shift ended ")
    sign(stored, "Crew Next", 30, 60)
    (_, past), (_, ahead) = standings_of(record_of(stored))
    assert past == ""
    assert ahead.startswith("Not yet as of this record. ")
