"""No list, search, feed, file, choice or notice holds a word of another company's records."""

import io
import zipfile
from collections.abc import Iterator

from django.contrib import admin
from django.test import Client
from django.urls import reverse

from conflicts.audit.parts import SECTIONS
from locates.desk.make_notices import make_notices
from locates.models import Follow, Notice, OutgoingMail
from tests.companies import OURS, THEIRS, Company, TwoCompanies, addresses, client_of, path_of
from tests.factories import PersonFactory, person_in_role
from tests.role_requests import OPEN_TO_EVERYBODY

ASKED = {
    "conflicts:home": ({}, {"needs": "all"}),
    "conflicts:search": ({"q": THEIRS}, {"q": OURS}),
    "conflicts:ledger": ({}, {"prove": "yes"}),
    "conflicts:audit": tuple({"section": one.code} for one in SECTIONS),
    "conflicts:audit-file": tuple({"section": one.code} for one in SECTIONS),
    "locates:calendar": ({}, {"view": "agenda"}),
    "locates:mails": ({}, {"whose": "everybody"}),
    "locates:board": ({}, {"job": THEIRS}, {"q": THEIRS}),
}
"""What is asked of a list besides its address."""

FEED = "locates:calendar-feed"


def content_of(response) -> bytes:
    """What came, unpacked where it is packed."""
    body = b"".join(response.streaming_content) if response.streaming else response.content
    if zipfile.is_zipfile(io.BytesIO(body)):
        book = zipfile.ZipFile(io.BytesIO(body))
        return b"".join(book.read(name) for name in book.namelist())
    return body


def lists_of(company: Company) -> Iterator[tuple[str, str, dict[str, str]]]:
    """Name, path and question of every address that names no company's record."""
    for address in addresses():
        if address.of_a_company or address.name in set(OPEN_TO_EVERYBODY) - {FEED}:
            continue
        formats = ("csv", "xlsx", "gpkg") if "format_name" in address.parts else ("csv",)
        for format_name in formats:
            path = path_of(address, company).replace(".csv", f".{format_name}")
            for question in ASKED.get(address.name, ({},)):
                yield address.name, path, question


def holding(word: str, client: Client, company: Company) -> set[str]:
    """Names of the lists that hold a word which was not asked for."""
    found = set()
    for name, path, question in lists_of(company):
        content = content_of(client.get(path, question))
        if word in question.values():
            # A question comes back in its box, in the words that name it, and in links that ask it again.
            content = content.replace(f'value="{word}"'.encode(), b"").replace(f"={word}".encode(), b"")
        if content.count(word.encode()) > (word in question.values()):
            found.add(name)
    return found


class TestLists(TwoCompanies):
    def test_lists_hold_their_own_company_s_records_and_no_others(self):
        own, other = set(), {}
        for role, person in self.ours.people.items():
            client = client_of(person)
            own |= holding(OURS, client, self.ours)
            if found := holding(THEIRS, client, self.ours):
                other[role] = found
        assert other == {}
        # So that the lists are known to hold something where they may.
        assert {
            "conflicts:audit",
            "conflicts:audit-book",
            "conflicts:audit-file",
            "conflicts:coverage",
            "conflicts:home",
            "conflicts:jobs",
            "conflicts:ledger",
            "conflicts:search",
            "locates:board",
            "locates:board-export",
            "locates:board-tickets",
            "locates:bulk-job",
            "locates:calendar",
            "locates:calendar-feed",
            "locates:mails",
            "locates:notice-settings",
            "locates:notices",
            "locates:notices-told",
            "locates:notices-told-file",
            "locates:retired-jobs",
            "locates:text-readers",
            "locates:tickets-to-review",
        } <= own

    def test_who_belongs_to_no_company_finds_nothing_on_any_list(self):
        for is_superuser in (False, True):
            nobody = person_in_role("Coordinator", membership=None, is_superuser=is_superuser)
            # The feed alone opens to whoever has its secret.
            assert holding(THEIRS, client_of(nobody), self.theirs) == {FEED}

    def test_the_feed_of_a_person_ends_with_the_person_s_place_in_the_company(self):
        address = reverse(FEED, args=[self.theirs.token])
        assert THEIRS.encode() in Client().get(address).content
        self.theirs.people["Coordinator"].membership.delete()
        assert THEIRS.encode() not in Client().get(address).content

    def test_a_job_of_another_company_is_no_choice_even_where_its_key_is_known(self):
        client = client_of(self.ours.people["Safety manager"])
        for name in ("locates:calendar", "conflicts:ledger", "conflicts:audit"):
            answer = client.get(reverse(name), {"job": str(self.theirs.job.pk)})
            assert answer.status_code in {200, 400}, name
            assert THEIRS not in answer.content.decode()
        coordinator = client_of(self.ours.people["Coordinator"])
        answer = coordinator.get(reverse("locates:bulk-job"), {"job": str(self.theirs.job.pk)})
        assert answer.status_code == 200
        assert THEIRS not in answer.content.decode()

    def test_records_of_another_company_that_a_form_names_are_not_there(self):
        client, ticket = client_of(self.ours.people["Coordinator"]), self.theirs.job.tickets.get()
        dates = reverse("locates:ticket-dates", args=[self.ours.job.pk])
        assert client.post(dates, {"stored_ticket": str(ticket.pk)}).status_code == 404
        area = reverse("conflicts:ticket-area", args=[self.ours.job.pk])
        corridor = {"corridor_bore": str(self.theirs.job.bores.get().pk), "corridor_width": "5 m"}
        assert client.post(area, corridor).status_code == 404
        add = reverse("locates:ticket-add", args=[self.ours.job.pk])
        answer = client.post(add, {"drafted_from": str(ticket.pk), "number": "N"})
        assert THEIRS not in answer.content.decode()

    def test_what_somebody_followed_in_another_company_is_told_of_no_more(self):
        stranger = person_in_role("Coordinator")
        Follow.objects.create(person=stranger, job=self.theirs.job)
        Follow.objects.create(person=stranger, ticket=self.theirs.job.tickets.get())
        told = Notice.objects.filter(person=self.theirs.people["Coordinator"])
        before = told.count()
        make_notices()
        assert not Notice.objects.filter(person=stranger).exists()
        assert told.count() > before

    def test_a_mail_to_a_stranger_is_not_read_by_the_safety_manager(self):
        client = client_of(self.ours.people["Safety manager"])
        for subject, status in ((f"{THEIRS} digest", 404), (f"{OURS} letter", 200)):
            mail = OutgoingMail.objects.get(subject=subject)
            assert client.get(reverse("locates:mail", args=[mail.pk])).status_code == status


class TestAdmin(TwoCompanies):
    def test_its_lists_pages_and_choices_hold_no_other_company_s(self):
        held, shown = [], 0
        for person in self.ours.people.values():
            client = client_of(person)
            for model in admin.site._registry:
                if model._meta.app_label not in {"locates", "conflicts"}:
                    continue
                begin = f"admin:{model._meta.app_label}_{model._meta.model_name}"
                paths = [reverse(f"{begin}_changelist")]
                paths += [
                    reverse(f"{begin}_change", args=[key])
                    for key in model._base_manager.values_list("pk", flat=True)[:10]
                ]
                for path in paths:
                    page = client.get(path)
                    shown += page.status_code == 200
                    if page.status_code == 200 and THEIRS in page.content.decode():
                        held.append((person.username, path))
        assert held == []
        assert shown > 80

    def test_its_lists_hold_their_own(self):
        client = client_of(self.ours.people["Safety manager"])
        for name in ("job", "ticket", "mark", "testhole", "facilityoperator", "membership", "organisation"):
            page = client.get(reverse(f"admin:locates_{name}_changelist"))
            assert OURS in page.content.decode(), name

    def test_choices_that_are_searched_hold_no_other_company_s(self):
        client = client_of(self.ours.people["Coordinator"])
        asked = {"app_label": "locates", "model_name": "mark", "term": ""}
        for field_name in ("operator", "job", "ticket"):
            found = client.get(reverse("admin:autocomplete"), asked | {"field_name": field_name}).json()
            assert found["results"]
            assert THEIRS not in str(found["results"])

    def test_a_record_cannot_be_given_to_another_company_s_job(self):
        client, mark = client_of(self.ours.people["Coordinator"]), self.ours.job.marks.get()
        theirs = {"job": str(self.theirs.job.pk)}
        answer = client.post(reverse("admin:locates_mark_add"), theirs)
        assert "job" in answer.context["adminform"].form.errors
        # One that is there stays in its job, whatever the form says.
        client.post(reverse("admin:locates_mark_change", args=[mark.pk]), theirs)
        mark.refresh_from_db()
        assert mark.job_id == self.ours.job.pk

    def test_whoever_keeps_the_accounts_sees_every_company_there_and_no_job_on_the_pages(self):
        keeper = client_of(PersonFactory(is_superuser=True, is_staff=True, membership=None))
        for name in ("organisation", "membership"):
            page = keeper.get(reverse(f"admin:locates_{name}_changelist")).content.decode()
            assert THEIRS in page
            assert OURS in page
        assert THEIRS not in keeper.get(reverse("conflicts:jobs")).content.decode()
