"""Who may send tickets in by file, what is no such file, and two people who store at one moment."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.contrib.auth.models import Permission
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from locates.desk.bring_tickets import MOST_BULK_ROWS, keep_rows, store_rows
from locates.exchange.vector_errors import RowsRefused
from locates.models import Ticket, VectorImport
from tests import factories
from tests.bulk_files import TICKET, bring, csv_of, tickets_csv


@pytest.fixture
def job():
    return factories.JobFactory()


@pytest.fixture
def coordinator(client):
    person = factories.person_in_role("Coordinator")
    client.force_login(person)
    return person


HEADER = b"number,kind,called at,work area\n"
HOSTILE = [
    ("office.csv", b"", "an empty file"),
    ("office.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "NUL characters"),
    ("office.csv", HEADER + b"A\x00,routine,,\n", "NUL characters"),
    ("office.csv", "number,kind\nA,routine\n".encode("utf-16"), "NUL characters"),
    ("office.csv", HEADER, "a header without rows"),
    ("office.csv", b"\n\n", "no header"),
    ("office.csv", b"number,number\nA,B\n", "two columns named number"),
    ("office.csv", HEADER + b"A,routine,,," + b"x" * 3000 + b"\n", "values in row 2"),
    ("office.csv", HEADER + b'A,"routine\n', "CSV that breaks off"),
    ("office.csv", HEADER + b"x" * 3000 + b",,,\n", "3000 characters in a cell of row 2"),
    ("office.csv", HEADER + b"A,routine,,\n" * (MOST_BULK_ROWS + 1), "1,001 rows"),
    ("office.csv", b"," * 300 + b"\nA\n", "no header"),
    ("office.csv", b"x" * (20 * 1024 * 1024 + 1), "20,971,521 bytes"),
    ("office.xlsx", HEADER + b"A,routine,,\n", "accepted: a CSV file"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("name", "content", "told"), HOSTILE)
def test_what_is_no_such_file_is_refused_beside_the_file(client, coordinator, job, name, content, told):
    sent = {"kind": "ticket", "file": SimpleUploadedFile(name, content)}
    response = client.post(reverse("locates:bulk", args=[job.pk]), sent)
    assert told in response.context["form"].errors["file"][0]
    assert not VectorImport.objects.exists()


@pytest.mark.django_db
def test_words_in_another_encoding_are_told_by_their_row(client, coordinator, job):
    raw = tickets_csv({"called by": "Pell"}).read().replace(b"Pell", b"P\x81\x8dll")
    columns = bring(client, job, "ticket", SimpleUploadedFile("office.csv", raw))
    sent = {field.html_name: field.value() or "" for field in client.get(columns).context["form"]}
    page = client.get(client.post(columns, sent).url)
    assert page.context["lines"] == [
        "row 2, column called by: found characters that cannot be read; "
        "accepted: text of a file that is saved as UTF-8"
    ]


@pytest.mark.django_db
def test_a_column_that_every_row_needs_is_asked_for(client, coordinator, job):
    upload = SimpleUploadedFile("office.csv", b"Reference,kind\nA,routine\n")
    columns = bring(client, job, "ticket", upload)
    sent = {field.html_name: field.value() or "" for field in client.get(columns).context["form"]}
    errors = client.post(columns, sent).context["form"].errors
    assert set(errors) == {"number-from", "called_at-from", "area-from"}
    assert errors["number-from"] == ["Every ticket needs it."]


@pytest.mark.django_db
def test_who_may_not_add_such_records_is_refused_everywhere(client, job):
    person = factories.person_in_role("Safety manager")
    brought = keep_rows(job, "ticket", "office.csv", tickets_csv().read(), by=person, at=timezone.now())
    client.force_login(person)
    step = [job.pk, brought.pk]
    for address in (
        reverse("locates:bulk-job"),
        reverse("locates:bulk-empty", args=["ticket"]),
        reverse("locates:bulk", args=[job.pk]),
        *(reverse(f"locates:bulk-{name}", args=step) for name in ("columns", "check", "result")),
    ):
        assert client.get(address).status_code == 403, address
    assert client.post(reverse("locates:bulk-check", args=step)).status_code == 403
    assert not Ticket.objects.exists()


@pytest.mark.django_db
def test_who_logs_answers_alone_sends_in_no_tickets(client, job):
    person = factories.PersonFactory()
    names = ("add_vectorimport", "add_response")
    person.user_permissions.set(Permission.objects.filter(codename__in=names))
    client.force_login(person)
    address = reverse("locates:bulk", args=[job.pk])
    response = client.post(address, {"kind": "ticket", "file": tickets_csv()})
    assert "kind" in response.context["form"].errors
    assert [kind.name for kind in response.context["kinds"]] == ["response"]
    mine = keep_rows(job, "ticket", "office.csv", tickets_csv().read(), by=person, at=timezone.now())
    check = reverse("locates:bulk-check", args=[job.pk, mine.pk])
    assert (client.get(check).status_code, client.post(check).status_code) == (403, 403)
    assert client.get(reverse("locates:bulk-empty", args=["ticket"])).status_code == 403
    assert client.get(reverse("locates:bulk-empty", args=["response"])).status_code == 200
    assert not Ticket.objects.exists()


@pytest.mark.django_db
def test_a_foreman_sends_in_neither(client, job):
    client.force_login(factories.person_in_role("Foreman"))
    assert client.get(reverse("locates:bulk", args=[job.pk])).status_code == 403
    assert (
        reverse("locates:bulk", args=[job.pk])
        not in client.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    )


@pytest.mark.django_db
def test_nobody_reads_the_file_of_another_person(client, coordinator, job):
    other = factories.person_in_role("Coordinator")
    brought = keep_rows(job, "ticket", "office.csv", tickets_csv().read(), by=other, at=timezone.now())
    assert client.get(reverse("locates:bulk-check", args=[job.pk, brought.pk])).status_code == 404
    # Nor do the pages of surveyed things open it.
    mine = keep_rows(job, "ticket", "office.csv", tickets_csv().read(), by=coordinator, at=timezone.now())
    assert client.get(reverse("locates:import-columns", args=[job.pk, mine.pk])).status_code == 403


@pytest.mark.django_db
def test_the_board_leads_to_a_job_and_the_job_to_its_file(client, coordinator, job):
    assert reverse("locates:bulk-job") in client.get(reverse("locates:board")).content.decode()
    led = client.get(reverse("locates:bulk-job"), {"job": str(job.pk)})
    assert led.url == reverse("locates:bulk", args=[job.pk])
    assert led.url in client.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    assert client.get(reverse("locates:bulk-job"), {"job": "none"}).context["form"].errors


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_two_who_store_the_same_rows_at_one_moment_store_them_once():
    job, at = factories.JobFactory(), timezone.now()
    raw = csv_of("ticket", *({**TICKET, "number": f"A-{row}"} for row in range(20))).read()
    people = [factories.person_in_role("Coordinator") for _ in range(2)]
    files = [keep_rows(job, "ticket", "office.csv", raw, by=person, at=at) for person in people]
    together = Barrier(2)

    def store(brought):
        together.wait()
        try:
            return store_rows(brought, by=brought.made_by, at=at).stored_count
        except RowsRefused as error:
            return error.lines()[0]
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        outcomes = list(pool.map(store, files))
    assert 20 in outcomes
    outcomes.remove(20)
    assert outcomes == [
        "row 2, column number: found A-0, which is logged already; accepted: a ticket that the job lacks"
    ]
    assert Ticket.objects.count() == 20
