"""The strike page: who reaches it and how, and that it shows the numbers and nothing else of a job."""

import re
from datetime import timedelta

import pytest
from django.core import signing
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.strike.opened_jobs import COOKIE, LONGEST_S, MOST_JOBS, SALT
from locates.desk.retire import retire
from tests.factories import (
    BoreFactory,
    FacilityOperatorFactory,
    JobFactory,
    MarkFactory,
    OrganisationFactory,
    PersonFactory,
    person_in_role,
    small_job,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    made = small_job()
    made.operators.update(name="Millbrook Gas", emergency_phone="+1 555 010 0199")
    store_assessment(made.bores.get().pk)
    return made


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def address(job):
    return reverse("conflicts:strike", args=[job.pk])


def leads_to_login(response):
    return response.status_code == 302 and response.url.startswith(reverse("login"))


def test_a_phone_that_opened_the_job_needs_no_login(foreman, job):
    assert foreman.get(reverse("conflicts:job", args=[job.pk])).status_code == 200
    phone = Client()
    phone.cookies[COOKIE] = foreman.cookies[COOKIE].value
    response = phone.get(address(job))
    assert response.status_code == 200
    assert 'href="tel:+1%20555%20010%200199"' in response.content.decode()
    # It opens this page and no other.
    assert leads_to_login(phone.get(reverse("conflicts:job", args=[job.pk])))


def test_the_cookie_outlives_the_login_and_is_out_of_reach_of_scripts_and_other_sites(foreman, job, settings):
    settings.SESSION_COOKIE_SECURE = True
    foreman.get(reverse("conflicts:job", args=[job.pk]))
    kept = foreman.cookies[COOKIE]
    assert (kept["httponly"], kept["samesite"], kept["secure"]) == (True, "Lax", True)
    assert kept["max-age"] == LONGEST_S == 30 * 24 * 3600
    value = kept.value
    foreman.post(reverse("logout"))
    foreman.cookies[COOKIE] = value
    assert foreman.get(address(job)).status_code == 200


@pytest.mark.parametrize("method", ["get", "head", "post"])
def test_without_the_cookie_a_login_is_asked_for(job, method):
    assert leads_to_login(getattr(Client(), method)(address(job)))


def kept_by(*entries, salt=SALT):
    return signing.dumps(list(entries), salt=salt, compress=True)


def test_a_forged_cookie_opens_nothing(job):
    now_s = int(timezone.now().timestamp())
    signed = kept_by((str(job.pk), now_s))
    forged = {
        "nothing": "",
        "the id alone": str(job.pk),
        "another signature": signed[:-1] + ("A" if signed[-1] != "A" else "B"),
        "another salt": kept_by((str(job.pk), now_s), salt="something else"),
        "another job": kept_by((str(JobFactory().pk), now_s)),
        "too old": kept_by((str(job.pk), now_s - LONGEST_S - 5)),
    }
    opened = []
    for name, value in forged.items():
        phone = Client()
        phone.cookies[COOKIE] = value
        if not leads_to_login(phone.get(address(job))):
            opened.append(name)
    assert opened == []
    phone = Client()
    phone.cookies[COOKIE] = signed
    assert phone.get(address(job)).status_code == 200


def test_a_cookie_signed_long_ago_opens_nothing(foreman, job, monkeypatch):
    then = timezone.now() - timedelta(seconds=LONGEST_S + 60)
    with monkeypatch.context() as patched:
        patched.setattr("time.time", then.timestamp)
        value = kept_by((str(job.pk), int(timezone.now().timestamp())))
    phone = Client()
    phone.cookies[COOKIE] = value
    assert leads_to_login(phone.get(address(job)))


def test_the_phone_keeps_the_last_jobs_that_it_opened(foreman):
    jobs = [JobFactory() for _ in range(MOST_JOBS + 1)]
    for one in [*jobs, jobs[1]]:
        assert foreman.get(reverse("conflicts:job", args=[one.pk])).status_code == 200
    phone = Client()
    phone.cookies[COOKIE] = foreman.cookies[COOKIE].value
    assert len(phone.cookies[COOKIE].value) < 4000
    assert leads_to_login(phone.get(address(jobs[0])))
    assert all(phone.get(address(one)).status_code == 200 for one in jobs[1:])


def test_nobody_of_another_company_reaches_it_not_even_with_the_cookie(foreman, job):
    foreman.get(reverse("conflicts:job", args=[job.pk]))
    strangers = [
        person_in_role("Foreman", OrganisationFactory()),
        PersonFactory(membership=None, is_superuser=True),
    ]
    for stranger in strangers:
        phone = Client()
        phone.force_login(stranger)
        assert phone.get(address(job)).status_code == 404
        phone.cookies[COOKIE] = foreman.cookies[COOKIE].value
        assert phone.get(address(job)).status_code == 404


def test_opening_another_companys_job_leaves_no_cookie(client, job):
    client.force_login(person_in_role("Foreman", OrganisationFactory()))
    assert client.get(reverse("conflicts:job", args=[job.pk])).status_code == 404
    assert COOKIE not in client.cookies


def test_it_shows_nothing_of_the_job_but_numbers_names_and_types(foreman, job):
    job.operators.update(contact="Ida at the desk")
    foreman.get(reverse("conflicts:job", args=[job.pk]))
    phone = Client()
    phone.cookies[COOKIE] = foreman.cookies[COOKIE].value
    page = phone.get(address(job)).content.decode()
    assert "Millbrook Gas" in page
    for record in (job.marks.all(), job.bores.all(), job.tickets.all(), job.test_holes.all()):
        for one in record:
            words = getattr(one, "ref", None) or getattr(one, "number", None) or one.name
            assert not re.search(rf"\b{re.escape(words)}\b", re.sub(r"<[^>]*>", " ", page)), words
    for hidden in (job.name, job.organisation.name, "Ida at the desk"):
        assert hidden not in page


def test_each_operator_stands_with_the_types_of_its_own_marks_and_an_unknown_number_says_so(foreman, job):
    mute = FacilityOperatorFactory(job=job, name="Aldwater", emergency_phone="")
    MarkFactory(job=job, operator=mute, facility_type="potable_water")
    gone = MarkFactory(job=job, operator=mute, facility_type="electric")
    retire(gone, by=person_in_role("Coordinator"))
    sheet = foreman.get(address(job)).context["sheet"]
    assert [(one.name, types) for one, types in sheet.operators] == [
        ("Aldwater", ["potable_water"]),
        (
            "Millbrook Gas",
            sorted(set(job.marks.exclude(operator=mute).values_list("facility_type", flat=True))),
        ),
    ]
    page = foreman.get(address(job)).content.decode()
    assert "Number unknown" in page
    assert 'href="tel:"' not in page
    assert page.index('href="tel:911"') < page.index("555")


def test_the_numbers_of_a_retired_job_stay_in_reach(foreman, job):
    foreman.get(reverse("conflicts:job", args=[job.pk]))
    retire(job, by=person_in_role("Coordinator"))
    phone = Client()
    phone.cookies[COOKIE] = foreman.cookies[COOKIE].value
    assert phone.get(address(job)).status_code == 200


def test_it_is_only_looked_at_and_never_from_a_cache(foreman, job):
    assert foreman.post(address(job)).status_code == 405
    assert "no-store" in foreman.get(address(job)).headers["Cache-Control"]


def test_the_job_and_the_bore_lead_to_it(foreman, job):
    bore = BoreFactory(job=job, name="B-2")
    store_assessment(bore.pk)
    for page in (reverse("conflicts:job", args=[job.pk]), reverse("conflicts:bore", args=[bore.pk])):
        assert f'href="{address(job)}"' in foreman.get(page).content.decode()


def test_the_number_of_queries_does_not_grow_with_the_operators(foreman, job, django_assert_num_queries):
    foreman.get(reverse("conflicts:job", args=[job.pk]))
    phone = Client()
    phone.cookies[COOKIE] = foreman.cookies[COOKIE].value
    with django_assert_num_queries(3):
        phone.get(address(job))
    for _ in range(10):
        MarkFactory(job=job, operator=FacilityOperatorFactory(job=job))
    with django_assert_num_queries(3):
        phone.get(address(job))
