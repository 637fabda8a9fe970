"""Every write in the admin says whose job has changed, whichever way it was made."""

import json

import pytest
from django.contrib import admin
from django.contrib.admin.helpers import ACTION_CHECKBOX_NAME
from django.urls import reverse

from locates import changes
from locates.admin_changes import JobChangesMixin
from locates.kept_records import TAKEN_AWAY
from locates.models import CentreDay, Mark, Membership, Organisation, Response
from tests import factories
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

SWAPPED = '{"type": "Point", "coordinates": [38, -178]}'


@pytest.fixture
def heard(monkeypatch):
    """Ids of the jobs of which the admin has told."""
    ids = []
    monkeypatch.setattr(changes, "_handlers", [ids.append])
    return ids


def address(record, page):
    name = f"admin:{record._meta.app_label}_{record._meta.model_name}_{page}"
    return reverse(name, args=[] if page in {"add", "changelist"} else [record.pk])


def saved(client, url, values):
    response = client.post(url, values)
    assert response.status_code == 302, response.context["errors"]
    return response


def test_adding_a_record_tells_of_its_job(admin_client, heard):
    job = factories.JobFactory()
    operator = factories.FacilityOperatorFactory(job=job)
    values = form_of(admin_client, reverse("admin:locates_mark_add")) | {
        "job": job.pk,
        "ref": "G-1",
        "operator": operator.pk,
        "facility_type": "gas_oil_steam",
        "marked_at_0": "2026-11-04",
        "marked_at_1": "15:00",
        "geometry": json.dumps({"type": "LineString", "coordinates": [[-78.5, 38.0], [-78.5, 38.001]]}),
    }
    saved(admin_client, reverse("admin:locates_mark_add"), values)
    assert Mark.objects.get().geometry.coords == ((-78.5, 38.0), (-78.5, 38.001))
    assert heard == [job.pk]


def test_changing_a_record_tells_of_its_job(admin_client, heard):
    hole = factories.TestHoleFactory()
    url = address(hole, "change")
    saved(admin_client, url, form_of(admin_client, url) | {"depth_to_top_m": "1.25"})
    hole.refresh_from_db()
    assert hole.depth_to_top_m == 1.25
    assert set(heard) == {hole.job_id}


@pytest.mark.parametrize(
    "make", [factories.GroundPointFactory, factories.MarkFactory, factories.TicketFactory]
)
def test_a_record_stays_in_its_job_whatever_the_form_says(admin_client, heard, make):
    record = make()
    job_id, other = record.job_id, factories.JobFactory()
    url = address(record, "change")
    saved(admin_client, url, form_of(admin_client, url) | {"job": other.pk})
    record.refresh_from_db()
    assert record.job_id == job_id
    assert set(heard) == {job_id}


def test_nobody_is_taken_out_of_a_company(admin_client):
    person = factories.person_in_role("Foreman")
    address_of_it = reverse("admin:locates_membership_delete", args=[person.membership.pk])
    assert admin_client.post(address_of_it, {"post": "yes"}).status_code == 403
    assert type(person.membership).objects.filter(user=person).exists()


def test_an_answer_added_beside_its_ticket_tells_of_the_job_and_takes_the_next_place(admin_client, heard):
    first = factories.ResponseFactory(response="awaiting")
    url = address(first.ticket, "change")
    values = form_of(admin_client, url) | {
        "responses-TOTAL_FORMS": "1",
        "responses-INITIAL_FORMS": "0",
        "responses-0-operator": first.operator_id,
        "responses-0-response": "marked",
    }
    saved(admin_client, url, values)
    answers = list(first.ticket.responses.values_list("sequence", "response"))
    assert answers == [(0, "awaiting"), (1, "marked")]
    assert set(heard) == {first.ticket.job_id}


def test_an_earlier_answer_cannot_be_rewritten(admin_client):
    answer = factories.ResponseFactory(response="awaiting")
    url = address(answer.ticket, "change")
    values = form_of(admin_client, url) | {
        "responses-TOTAL_FORMS": "1",
        "responses-INITIAL_FORMS": "1",
        "responses-0-id": answer.pk,
        "responses-0-ticket": answer.ticket_id,
        "responses-0-operator": answer.operator_id,
        "responses-0-response": "no_facilities",
    }
    admin_client.post(url, values)
    assert Response.objects.get().response == "awaiting"


def test_a_changed_rule_tells_of_every_job_under_it(admin_client, heard):
    jobs = [factories.JobFactory(), factories.JobFactory()]
    factories.JobFactory(jurisdiction=factories.seeded_rule("TX"))
    rule = jobs[0].jurisdiction
    url = address(rule, "change")
    saved(admin_client, url, form_of(admin_client, url) | {"tolerance_zone_m": "0.75"})
    assert set(heard) == {job.pk for job in jobs}


def test_who_signs_variances_changes_no_rule_here(client):
    rule = factories.seeded_rule()
    client.force_login(factories.person_in_role("Safety manager"))
    answer = client.post(address(rule, "change"), {"checks_never_waived": "", "certainty": "Read again."})
    assert answer.status_code == 403
    assert "tickets" in factories.seeded_rule().checks_never_waived
    assert factories.seeded_rule().certainty == rule.certainty


def test_a_requirement_added_on_the_page_of_its_job_tells_of_the_job(admin_client, heard):
    job = factories.JobFactory(mean_height_m=1600.0)
    url = address(job, "change")
    values = form_of(admin_client, url) | {
        "requirements-TOTAL_FORMS": "1",
        "requirements-0-crossing_m": "0.5",
        "requirements-0-alongside_m": "1.0",
    }
    saved(admin_client, url, values | {"mean_height_m": "0"})
    assert job.requirements.get().crossing_m == 0.5
    assert set(heard) == {job.pk}
    job.refresh_from_db()
    assert job.mean_height_m == 1600.0  # its bores were measured at that height


def test_nobody_deletes_a_record_of_a_job(admin_client, heard):
    job = factories.small_job()
    records = [job, job.operators.get(), job.tickets.first(), *job.marks.all(), job.bores.get()]
    for record in (*records, job.organisation, job.jurisdiction):
        assert "Delete" not in admin_client.get(address(record, "change")).content.decode()
        assert admin_client.post(address(record, "delete"), {"post": "yes"}).status_code == 403
        chosen = {"action": "delete_selected", ACTION_CHECKBOX_NAME: [record.pk], "post": "yes"}
        listed = reverse(f"admin:{record._meta.app_label}_{record._meta.model_name}_changelist")
        admin_client.post(listed, chosen)
        assert type(record).objects.filter(pk=record.pk).exists()
    assert heard == []


def test_every_screen_that_writes_but_the_companies_tells_of_changes(rf, admin_user):
    records = {
        model: screen
        for model, screen in admin.site._registry.items()
        if model._meta.app_label in {"locates", "conflicts"}
    }
    silent = {model for model, screen in records.items() if not isinstance(screen, JobChangesMixin)}
    assert silent == {Organisation, Membership, CentreDay}
    request = rf.get("/")
    request.user = admin_user
    screen = records[CentreDay]
    assert not screen.has_add_permission(request)
    assert not screen.has_change_permission(request)
    assert not screen.has_delete_permission(request)


def test_nobody_is_offered_to_delete_what_the_site_never_takes_away(rf, admin_user):
    request = rf.get("/")
    request.user = admin_user
    offered = {
        model._meta.label_lower
        for model, screen in admin.site._registry.items()
        if screen.has_delete_permission(request)
    }
    assert offered <= set(TAKEN_AWAY)


@pytest.mark.parametrize(
    ("factory", "field", "value", "words"),
    [
        (factories.MarkFactory, "stated_width_m", "-1", "accepted is a number above 0"),
        (factories.MarkFactory, "stated_width_m", "nan", "Enter a number"),
        (factories.TestHoleFactory, "depth_to_top_m", "", "wherever the hole found a line"),
        (factories.TicketFactory, "expires_at_0", "2020-01-01", "accepted is a value before expires_at"),
        (factories.JobFactory, "default_outside_m", '{"electric": -1}', "accepted are facility types"),
        (factories.JobFactory, "time_zone", "Virginia", "accepted is an IANA name"),
        (
            factories.SurfaceFeatureFactory,
            "position",
            '{"type": "Point", "coordinates": [38, -178]}',
            "swapped",
        ),
    ],
)
def test_what_the_database_would_refuse_is_said_on_the_form(
    admin_client, heard, factory, field, value, words
):
    record = factory()
    url = address(record, "change")
    response = admin_client.post(url, form_of(admin_client, url) | {field: value})
    assert response.status_code == 200
    assert words in response.content.decode()
    assert heard == []


def test_every_screen_opens_with_records_on_it(admin_client):
    job = factories.small_job()
    crossing = factories.CrossingFactory(assessment__bore=job.bores.get())
    factories.DrilledAloneCrossingFactory(assessment=crossing.assessment)
    factories.CentreDayFactory()
    factories.MembershipFactory()
    changes.job_changed(job.pk)  # so that a bore waits for its figures
    for model, screen in admin.site._registry.items():
        if model._meta.app_label not in {"locates", "conflicts"}:
            continue
        record = model._default_manager.first()
        assert admin_client.get(address(record, "changelist") + "?q=alder").status_code == 200
        assert admin_client.get(address(record, "change")).status_code == 200
        assert screen.search_fields
