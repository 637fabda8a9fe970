"""What a release keeps of its grounds for later readers: its lines, and the variances it rests on."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.audit.parts import BY_CODE
from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.models import Release, Variance, VarianceEnd, VarianceSignature
from conflicts.models.audit_filters import AuditFilters
from conflicts.release import sign_release
from locates.models import LedgerEntry, Mark, TestHole
from tests.factories import PersonFactory, person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A bore of today whose watch hole is closed: it may be released under a variance alone."""
    bore = bore_of_today()
    TestHole.objects.update(is_open=False)
    store_assessment(bore.pk)
    return bore


def excused(bore, check_code):
    asked = Variance(bore=bore, subject="check", check_code=check_code, reason="The road is flooded.")
    request_variance(asked, by=PersonFactory())
    until = timezone.now() + timedelta(days=2)
    sign_variance(VarianceSignature(variance=asked, valid_until=until), by=person_in_role("Safety manager"))
    return asked


def released(bore):
    now = timezone.now()
    shift = {"shift_from": now, "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=PersonFactory())
    return Release.objects.get()


def told(bore):
    """What the audit says of the one release under the heading of variances."""
    section = BY_CODE["releases"]
    [row] = section.rows(AuditFilters(bore.job.organisation_id), None, 9)
    [column] = [one for one in section.columns if one.name == "excused_by_variance"]
    return column.value(row)


def test_it_keeps_the_variance_but_for_which_a_check_would_hold_and_no_other_in_force(bore):
    used, idle = excused(bore, "watch_holes"), excused(bore, "profile")
    release = released(bore)
    assert release.excused_by == [str(used.pk)]
    manager = used.signature.signed_by_name
    assert told(bore) == f"check: watch holes ({manager})"
    assert idle.signature.signed_at < release.signed_at
    end_variance(VarianceEnd(variance=used, reason="The hole is open."), by=PersonFactory())
    assert told(bore) == f"check: watch holes ({manager})"


def test_one_that_rests_on_none_says_so_though_one_is_in_force(bore):
    idle = excused(bore, "profile")
    TestHole.objects.update(is_open=True)
    store_assessment(bore.pk)
    assert released(bore).excused_by == []
    assert told(bore) == ""
    assert idle.signature.valid_until > timezone.now()


def test_it_keeps_the_mark_of_each_crossing_and_both_stand_in_its_entry_of_the_ledger(bore):
    used = excused(bore, "watch_holes")
    release = released(bore)
    assert release.crossing_marks == [str(Mark.objects.get().pk)]
    content = LedgerEntry.objects.get(kind="release").content
    assert f'"crossing_marks":["{release.crossing_marks[0]}"]' in content
    assert f'"excused_by":["{used.pk}"]' in content


def test_one_that_was_signed_before_these_were_kept_has_the_entry_that_it_had(bore):
    content = Release(bore=bore).ledger_content()
    assert not {"crossing_marks", "excused_by", "damage_answered", "damage_settled"} & content.keys()
    assert "last_event_id" in content
