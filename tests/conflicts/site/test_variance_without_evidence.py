"""A variance that is signed on words alone says so wherever it counts, and its signer says why."""

import pytest
from django.utils import timezone

from conflicts.audit.record_sections import VARIANCES
from conflicts.bore_states import computed_states
from conflicts.checks import release_checks
from conflicts.desk.variance import WHY_NONE, request_variance
from conflicts.models import Bore, Variance, VarianceSignature
from conflicts.models.audit_filters import AuditFilters
from conflicts.record.read import read_kept_records
from locates.models import TestHole
from tests.conflicts.site.test_variance_evidence import SHOWN, add, page, sign_as_shown
from tests.factories import PersonFactory, person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

SIGNED_SO = "No evidence was attached when it was signed: it was signed on words alone."


@pytest.fixture
def asked():
    """A variance for test holes that nobody knows to be open, with nothing that shows it is safe."""
    bore = bore_of_today()
    TestHole.objects.update(is_open=None)
    wanted = Variance(
        bore=bore, subject="check", check_code="watch_holes", reason="Two people watch.", evidence="Seen."
    )
    return request_variance(wanted, by=PersonFactory())


@pytest.fixture
def manager(client, asked):
    client.force_login(person_in_role("Safety manager", asked.bore.job.organisation))
    return client


def signed(client, asked, remarks):
    return sign_as_shown(client, asked, dict(SHOWN.findall(page(client, "variance", asked.pk))), remarks)


def told(asked):
    """What the release's check, the clearance record and the audit say of it."""
    bore = Bore.objects.select_related("job__jurisdiction").get(pk=asked.bore_id)
    [state] = computed_states([bore], timezone.now())
    [check] = [one for one in release_checks(state.assessed) if one.code == "watch_holes"]
    [kept] = read_kept_records(asked.bore_id).signed.variances
    [row] = VARIANCES.rows(AuditFilters(asked.bore.job.organisation_id), None, 10)
    [column] = [one for one in VARIANCES.columns if one.name == "evidence"]
    return check.sentence, kept.evidence, column.value(row)


def test_who_signs_without_evidence_is_asked_once_and_says_why_there_is_none(manager, asked):
    assert "No evidence attached: no photo and no paper" in page(manager, "variance", asked.pk)
    for nothing in ("", "  \n"):
        assert WHY_NONE in signed(manager, asked, nothing)
    assert not VarianceSignature.objects.exists()
    assert SIGNED_SO in signed(manager, asked, "The hole is full of water.")
    assert VarianceSignature.objects.get().remarks == "The hole is full of water."


def test_the_remarks_are_optional_only_where_evidence_is_attached(manager, asked):
    label = 'Remarks <span class="soft">(optional)</span>'
    assert label not in page(manager, "variance", asked.pk)
    add(asked)
    assert label in page(manager, "variance", asked.pk)


def test_the_release_the_record_and_the_audit_say_that_none_is_attached(manager, asked):
    signed(manager, asked, "The hole is full of water.")
    sentence, recorded, audited = told(asked)
    assert "Two people watch. No evidence attached: words alone. What it excuses:" in sentence
    assert recorded == "Seen.; no evidence attached: The hole is full of water."
    assert audited == "no evidence attached; in words: Seen."


def test_evidence_that_comes_after_the_signature_is_none_that_was_attached(manager, asked):
    signed(manager, asked, "The photo is on its way.")
    add(asked)
    assert SIGNED_SO in page(manager, "variance", asked.pk)
    sentence, recorded, audited = told(asked)
    assert "No evidence attached: words alone." in sentence
    assert "no evidence attached: The photo is on its way." in recorded
    assert audited.startswith("no evidence attached; added after the signature")


def test_nobody_is_asked_where_a_paper_is_attached(manager, asked):
    add(asked)
    assert SIGNED_SO not in signed(manager, asked, "")
    assert VarianceSignature.objects.exists()
    assert not any("evidence attached" in words for words in told(asked))
