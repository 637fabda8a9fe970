"""Every page of a job that is shown renews the phone's right to the strike page, and nothing else does."""

import pytest
from django.test import Client
from django.urls import reverse

from conflicts.strike.opened_jobs import COOKIE
from tests.companies import Company, addresses, path_of, populated_company

pytestmark = pytest.mark.django_db

# What a foreman opens at the rig; the rest is found in the list of addresses.
AT_THE_RIG = {
    "conflicts:job",
    "conflicts:bore",
    "conflicts:crossing",
    "conflicts:watches",
    "conflicts:watch",
    "conflicts:walk",
    "conflicts:release-sign",
    "conflicts:release",
    "conflicts:variances",
    "conflicts:variance-ask",
    "conflicts:variance",
    "conflicts:camera",
    "conflicts:close-out",
    "conflicts:clearance-record",
    "conflicts:strike",
    "locates:photo-add",
    "locates:photo-facts",
    "locates:test-hole-edit",
}
# Of a company or a person, and of no job.
OF_NO_JOB = {"locates:text-reader-edit", "locates:mail", "locates:rule"}


@pytest.fixture
def company() -> Company:
    return populated_company()


def shown_by(company, role, address) -> tuple[bool, str | None]:
    """Whether the address shows a page to the person in a role, and the cookie that is left."""
    client = Client()
    client.force_login(company.people[role])
    answer = client.get(path_of(address, company))
    is_page = answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html")
    return is_page, client.cookies[COOKIE].value if COOKIE in client.cookies else None


def test_every_page_of_a_job_lets_the_phone_open_its_strike_page(company):
    pages, without = set(), set()
    for address in addresses():
        if not address.of_a_company or address.name in OF_NO_JOB:
            continue
        for role in ("Foreman", "Coordinator"):
            is_page, kept = shown_by(company, role, address)
            if not is_page:
                assert kept is None, address.name
                continue
            pages.add(address.name)
            phone = Client()
            phone.cookies[COOKIE] = kept or ""
            if phone.get(reverse("conflicts:strike", args=[company.job.pk])).status_code != 200:
                without.add(address.name)
    assert pages >= AT_THE_RIG
    assert without == set()


def test_the_strike_page_alone_prolongs_no_right_of_a_phone_without_a_login(company):
    client = Client()
    client.force_login(company.people["Foreman"])
    client.get(reverse("conflicts:watches", args=[company.job.bores.get().pk]))
    phone = Client()
    phone.cookies[COOKIE] = client.cookies[COOKIE].value
    answer = phone.get(reverse("conflicts:strike", args=[company.job.pk]))
    assert answer.status_code == 200
    assert COOKIE not in answer.cookies


def test_lists_and_pages_of_no_job_leave_nothing_on_the_phone(company):
    client = Client()
    client.force_login(company.people["Coordinator"])
    for name in ("conflicts:home", "conflicts:jobs", "locates:board", "locates:text-readers"):
        assert client.get(reverse(name)).status_code == 200
    assert COOKIE not in client.cookies
