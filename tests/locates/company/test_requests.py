"""Looking changes nothing, every change is sent with its token, and nothing on a page stands inline."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from conflicts.models import Assessment, Reassessment
from tests.companies import Company, TwoCompanies, addresses, client_of, path_of
from tests.role_requests import ASKS, LOOK, OPEN_TO_ALL_LOGGED_IN, OPEN_TO_EVERYBODY
from tests.table_digests import digests_of_tables

INLINE = re.compile(
    r"<style\b|\sstyle\s*=|\son[a-z]+\s*=\s*[\"']|javascript:"
    r"|<script(?![^>]*\bsrc=)(?![^>]*type=\"application/json\")"
)

HANDED_OUT = {"locates:photo", "locates:response-paper", "conflicts:clearance-record-file"}
"""What was uploaded, or holds what was, and is to be saved."""

SHOWN_IN_PLACE = {
    "locates:photo-thumbnail": "made by the site itself from the points of a photo",
    "locates:photo-copy": "made by the site itself from the points of a photo",
    "locates:calendar-feed": "written by the site for calendar programs",
}
"""File that a browser may show to why it holds nothing of what was uploaded."""


def paths_of(company: Company, role: str = "Coordinator") -> list[tuple[str, str]]:
    """Name and path of every address."""
    return [(address.name, path_of(address, company, role)) for address in addresses()]


class TestRequests(TwoCompanies):
    @classmethod
    def setUpTestData(cls):
        """That a private address was read is noted, once in a quarter of an hour: here, now."""
        super().setUpTestData()
        Client().get(reverse("locates:calendar-feed", args=[cls.ours.token]))

    def test_looking_at_any_page_changes_no_row(self):
        paths = {role: paths_of(self.ours, role) for role in self.ours.people}
        before = digests_of_tables()
        assert before["locates_mark"][0] > 0
        assert before["conflicts_bore"][0] > 0
        for role, person in self.ours.people.items():
            client = client_of(person)
            for _, path in paths[role]:
                client.get(path)
            after = digests_of_tables()
            assert [table for table in before if after[table] != before[table]] == [], role

    def test_looking_at_bores_whose_figures_are_of_older_records_changes_no_row_either(self):
        client = client_of(self.ours.people["Safety manager"])
        paths = dict(paths_of(self.ours, "Safety manager"))
        Assessment.objects.update(inputs_digest="0" * 64)
        Reassessment.objects.all().delete()
        before = digests_of_tables()
        for name in (name for name, asks in ASKS.items() if asks[0].does == LOOK):
            client.get(paths[name])
        after = digests_of_tables()
        assert [table for table in before if after[table] != before[table]] == []
        assert "Being recalculated" in client.get(paths["conflicts:bore"]).content.decode()

    def test_asking_for_the_headers_alone_changes_no_row(self):
        client, paths = client_of(self.ours.people["Safety manager"]), paths_of(self.ours, "Safety manager")
        before = digests_of_tables()
        answers = {name: client.head(path).status_code for name, path in paths}
        assert digests_of_tables() == before
        assert {name for name, asks in ASKS.items() if asks[0].does == LOOK and answers[name] != 200} == set()

    def test_nothing_is_changed_by_a_request_without_its_token(self):
        for role, person in self.ours.people.items():
            client, paths = client_of(person, enforce_csrf_checks=True), paths_of(self.ours, role)
            before = digests_of_tables()
            taken = {name for name, path in paths if client.post(path).status_code != 403}
            # It takes nothing that is sent: it answers whether the site is up.
            assert taken <= {"healthz"}, role
            assert digests_of_tables() == before

    def test_a_request_with_its_token_is_taken(self):
        """So that what is refused above is refused for its token, and not for how it was asked."""
        client = client_of(self.ours.people["Coordinator"], enforce_csrf_checks=True)
        page = client.get(reverse("locates:notice-settings")).content.decode()
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[1]
        address = reverse("locates:job-follow", args=[self.ours.job.pk])
        assert client.post(address, {"csrfmiddlewaretoken": token}).status_code == 302
        assert client.post(address).status_code == 403

    def test_no_page_holds_anything_inline_and_each_says_so_to_the_browser(self):
        seen = set()
        for role, person in self.ours.people.items():
            client = client_of(person)
            for name, path in paths_of(self.ours, role):
                answer = client.get(path)
                policy = answer.headers.get("Content-Security-Policy", "")
                assert "default-src 'none'" in policy, name
                assert "unsafe" not in policy, name
                if answer.headers.get("Content-Type", "").startswith("text/html"):
                    assert INLINE.search(answer.content.decode()) is None, name
                    if answer.status_code == 200:
                        seen.add(name)
        forms = {name for name, asks in ASKS.items() if asks[0].method == "get"}
        # Not seen are what is a file or JSON, and steps of a file that come after the one that waits.
        assert len(seen) > 80
        assert seen <= forms | {*OPEN_TO_ALL_LOGGED_IN, *OPEN_TO_EVERYBODY}

    def test_files_are_saved_and_never_shown_in_the_site_s_name(self):
        client, sent = client_of(self.ours.people["Coordinator"]), set()
        for name, path in paths_of(self.ours):
            answer = client.get(path)
            if answer.status_code != 200 or answer["Content-Type"].startswith("text/html"):
                continue
            sent.add(name)
            disposition = answer.headers.get("Content-Disposition", "").partition(";")[0]
            if name in HANDED_OUT:
                assert disposition == "attachment", name
                assert "sandbox" in answer["Content-Security-Policy"], name
            assert answer["X-Content-Type-Options"] == "nosniff", name
            is_plain = answer["Content-Type"].partition(";")[0] in {"application/json", "text/plain"}
            assert disposition == "attachment" or is_plain or name in SHOWN_IN_PLACE, name
        assert sent >= {*HANDED_OUT, *SHOWN_IN_PLACE}


def test_no_template_holds_anything_inline():
    templates = sorted((Path(settings.BASE_DIR) / "templates").rglob("*.html"))
    assert len(templates) > 80
    assert [str(one) for one in templates if INLINE.search(one.read_text())] == []


@pytest.mark.parametrize("bad", ['<p style="x">', '<b onclick="x()">', "<script>x</script>", "<style>"])
def test_what_is_inline_would_be_found(bad):
    assert INLINE.search(bad)
