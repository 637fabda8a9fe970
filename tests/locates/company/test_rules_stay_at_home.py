"""A company's own rule is offered to it alone, and no job of another stands under it, whoever writes it."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from locates.changes import job_changed
from locates.desk.save_record import save_record
from locates.models import Job, JurisdictionRule
from tests import factories
from tests.factories import person_in_role, seeded_rule

pytestmark = pytest.mark.django_db

REFUSED = "accepted is a shipped rule or one of the job's own company"


@pytest.fixture
def ours():
    return factories.OrganisationFactory(name="Quillmere Boring")


@pytest.fixture
def theirs():
    return factories.OrganisationFactory(name="Heronsfold Boring")


def codes_on_the_board(client, company):
    client.force_login(person_in_role("Coordinator", company))
    form = client.get(reverse("locates:board")).context["form"]
    return [code for code, _ in form.fields["jurisdiction"].choices]


def test_the_board_offers_the_codes_of_own_rules_beside_the_shipped_each_once(client, ours, theirs):
    factories.OwnRuleFactory(organisation=ours, code="ZZ-QUILL")
    factories.OwnRuleFactory(organisation=ours, code="VA", version=7)
    codes = codes_on_the_board(client, ours)
    assert "ZZ-QUILL" in codes
    assert codes.count("VA") == 1
    assert "ZZ-QUILL" not in codes_on_the_board(client, theirs)


def test_the_board_is_narrowed_to_the_code_of_an_own_rule(client, ours):
    own = factories.OwnRuleFactory(organisation=ours, code="ZZ-QUILL")
    inside = factories.TicketFactory(job=factories.JobFactory(organisation=ours, jurisdiction=own))
    outside = factories.TicketFactory(job=factories.JobFactory(organisation=ours))
    for one in (inside, outside):
        job_changed(one.job_id)
    client.force_login(person_in_role("Coordinator", ours))
    listed = client.get(reverse("locates:board-tickets"), {"jurisdiction": "ZZ-QUILL"}).content.decode()
    assert inside.number in listed
    assert outside.number not in listed


def test_the_database_refuses_a_new_job_under_the_rule_of_another_company(ours, theirs):
    own = factories.OwnRuleFactory(organisation=theirs)
    with pytest.raises(IntegrityError, match=REFUSED) as refused, transaction.atomic():
        factories.JobFactory(organisation=ours, jurisdiction=own)
    assert refused.value.__cause__.diag.constraint_name == "job_rule_is_shipped_or_own"
    assert factories.JobFactory(organisation=theirs, jurisdiction=own).pk


@pytest.mark.parametrize("column", ["jurisdiction_id", "organisation_id"])
def test_the_database_refuses_to_move_a_job_under_it_or_away_from_it(ours, theirs, column):
    own = factories.OwnRuleFactory(organisation=theirs)
    mine, far = factories.JobFactory(organisation=ours), factories.JobFactory(organisation=theirs)
    Job.objects.filter(pk=far.pk).update(jurisdiction=own)
    moved, value = (mine, own.pk) if column == "jurisdiction_id" else (far, ours.pk)
    with pytest.raises(IntegrityError, match=REFUSED), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"UPDATE locates_job SET {column} = %s WHERE id = %s", [value, moved.pk])  # noqa: S608
    Job.objects.filter(pk=mine.pk).update(jurisdiction=seeded_rule("MD"))


def test_whose_a_rule_is_never_changes(ours, theirs):
    own = factories.OwnRuleFactory(organisation=theirs)
    for other in (ours.pk, None):
        with pytest.raises(IntegrityError, match="whose a rule is stays"), transaction.atomic():
            JurisdictionRule.objects.filter(pk=own.pk).update(organisation=other)
    JurisdictionRule.objects.filter(pk=own.pk).update(certainty="Read again.")


def test_a_job_that_is_saved_under_it_is_refused_in_words(ours, theirs):
    own = factories.OwnRuleFactory(organisation=theirs)
    job = factories.JobFactory(organisation=ours)
    job.jurisdiction = own
    with pytest.raises(ValidationError, match=REFUSED):
        save_record(job, by=factories.PersonFactory(), opened_version=job.version)
    job.refresh_from_db()
    assert job.jurisdiction == seeded_rule()
