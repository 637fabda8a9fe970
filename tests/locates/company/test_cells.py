"""Every cell of the table of roles by actions, tried by real requests to every address of the site."""

from collections.abc import Iterator

from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from locates.models import Retirement
from locates.role_actions import ACTIONS
from locates.roles import ROLES
from tests.companies import Address, Company, TwoCompanies, addresses, client_of, path_of
from tests.factories import PersonFactory
from tests.role_requests import (
    ASKS,
    IN_THE_ADMIN,
    LOOK,
    NOT_ASKED_FOR,
    OPEN_TO_ALL_LOGGED_IN,
    OPEN_TO_EVERYBODY,
    OWN,
    THE_BORE,
    THE_TICKET,
    Ask,
)
from tests.table_digests import digests_of_tables

WHO_MAY = {permission: set(action.roles) for action in ACTIONS for permission in action.permissions}
WHO_MAY |= {LOOK: set(ROLES), OWN: set(ROLES)}

# A file that somebody else brought in is not there, whoever asks; the coordinator alone brings these.
OF_WHO_BROUGHT_IT = {"locates:bulk-columns", "locates:bulk-check", "locates:bulk-result"}


def every_ask() -> Iterator[tuple[Address, Ask]]:
    """Each request of the table with its address."""
    for address in addresses():
        for ask in ASKS.get(address.name, ()):
            yield address, ask


def answer_to(client: Client, ask: Ask, path: str, company: Company) -> HttpResponse:
    """What one request is answered."""
    sent = dict(ask.sent)
    for name, value in ask.sent.items():
        if value in {THE_BORE, THE_TICKET}:
            records = company.job.bores if value == THE_BORE else company.job.tickets
            sent[name] = str(records.get().pk)
    return getattr(client, ask.method)(path, sent)


def outcome_of(answer: HttpResponse) -> str:
    """Whether a request got through, and how it was refused where not."""
    if answer.headers.get("Location", "").startswith(reverse("login")):
        return "login"
    # A form that is sent back with its faults was let through; 400 is a list that was asked something odd.
    return "through" if answer.status_code in {200, 302, 400} else str(answer.status_code)


def line(who: str, address: Address, ask: Ask, outcome: str) -> str:
    """One cell that is not as the table says."""
    return f"{who} {ask.method} {address.route} ({ask.does}): {outcome}"


def test_every_address_is_tied_to_what_is_done_there_and_nothing_is_tied_in_vain():
    names = {address.name for address in addresses()}
    lists = (set(ASKS), set(OPEN_TO_ALL_LOGGED_IN), set(OPEN_TO_EVERYBODY))
    assert names == set.union(*lists)
    assert sum(map(len, lists)) == len(names)


def test_every_permission_of_the_table_is_asked_for_somewhere():
    asked = {ask.does for asks in ASKS.values() for ask in asks} - {LOOK, OWN}
    assert not asked & {*IN_THE_ADMIN, *NOT_ASKED_FOR}
    assert asked | {*IN_THE_ADMIN, *NOT_ASKED_FOR} == set(WHO_MAY) - {LOOK, OWN}


class TestCells(TwoCompanies):
    def paths(self, company: Company, role: str) -> list[tuple[Address, Ask, str]]:
        return [(address, ask, path_of(address, company, role)) for address, ask in every_ask()]

    def test_who_may_gets_through_and_whom_the_table_refuses_is_refused_and_changes_nothing(self):
        wrong, refused = [], 0
        paths = {role: self.paths(self.ours, role) for role in ROLES}
        before = digests_of_tables()
        for role in ROLES:
            client = client_of(self.ours.people[role])
            for address, ask, path in paths[role]:
                if role in WHO_MAY[ask.does]:
                    continue
                refused += 1
                outcome = outcome_of(answer_to(client, ask, path, self.ours))
                if outcome != "403" and not (address.name in OF_WHO_BROUGHT_IT and outcome == "404"):
                    wrong.append(line(role, address, ask, outcome))
        assert not wrong, "\n".join(wrong)
        assert refused > 100
        assert digests_of_tables() == before
        for role in ROLES:
            client = client_of(self.ours.people[role])
            for address, ask, path in paths[role]:
                if role not in WHO_MAY[ask.does]:
                    continue
                with transaction.atomic():
                    outcome = outcome_of(answer_to(client, ask, path, self.ours))
                    transaction.set_rollback(True)
                if outcome != "through":
                    wrong.append(line(role, address, ask, outcome))
        assert not wrong, "\n".join(wrong)

    def test_whoever_is_not_logged_in_is_led_to_the_login_and_changes_nothing(self):
        paths = self.paths(self.ours, "Coordinator")
        before = digests_of_tables()
        wrong = []
        for address, ask, path in paths:
            outcome = outcome_of(answer_to(Client(), ask, path, self.ours))
            if outcome != "login":
                wrong.append(line("nobody", address, ask, outcome))
        assert not wrong, "\n".join(wrong)
        assert digests_of_tables() == before

    def test_the_same_role_in_another_company_finds_none_of_it_there_and_changes_nothing(self):
        wrong, tried = [], 0
        paths = {role: self.paths(self.theirs, role) for role in ROLES}
        before = digests_of_tables()
        for role in ROLES:
            client = client_of(self.ours.people[role])
            for address, ask, path in paths[role]:
                if not address.of_a_company:
                    continue
                tried += 1
                outcome = outcome_of(answer_to(client, ask, path, self.theirs))
                if outcome != "404":
                    wrong.append(line(f"{role} of another company", address, ask, outcome))
        assert not wrong, "\n".join(wrong)
        assert tried > 300
        assert digests_of_tables() == before

    def test_an_address_takes_no_request_that_it_is_not_tied_to(self):
        """So that no way of asking escapes the table: what it does not name is 405, or refused before."""
        tied = {(address.name, ask.method) for address, ask in every_ask()}
        wrong, before = [], digests_of_tables()
        for role in ROLES:
            client = client_of(self.ours.people[role])
            for address in addresses():
                path = path_of(address, self.ours, role)
                for method in {"get", "post", "put", "patch", "delete"} if address.name in ASKS else ():
                    if (address.name, method) in tied:
                        continue
                    outcome = outcome_of(getattr(client, method)(path))
                    if outcome not in {"403", "405"}:
                        wrong.append(line(role, address, Ask("nothing", method), outcome))
        assert not wrong, "\n".join(wrong)
        assert digests_of_tables() == before

    def test_the_few_other_addresses_ask_for_no_role_or_for_no_login(self):
        nobody = client_of(PersonFactory(membership=None))
        for address in addresses():
            path = path_of(address, self.ours)
            if address.name in OPEN_TO_ALL_LOGGED_IN:
                assert nobody.get(path).status_code == 200, address.name
                assert outcome_of(Client().get(path)) == "login", address.name
            if address.name in OPEN_TO_EVERYBODY:
                answer = Client().post(path) if address.name == "logout" else Client().get(path)
                assert answer.status_code in {200, 301, 302}, address.name

    def test_a_person_s_own_view_is_there_for_nobody_else(self):
        (address,) = (one for one in addresses() if one.name == "locates:board-forget")
        for owner in ROLES:
            path = path_of(address, self.ours, owner)
            for role in ROLES:
                with transaction.atomic():
                    status = client_of(self.ours.people[role]).post(path).status_code
                    transaction.set_rollback(True)
                assert status == (302 if role == owner else 404), (role, owner)

    def test_what_was_retired_is_brought_back_by_whoever_may_change_its_kind(self):
        kinds = {"locates.job": "locates.change_job", "locates.mark": "locates.change_mark"}
        ours = Retirement.objects.filter(job__organisation=self.ours.organisation)
        assert set(ours.values_list("model", flat=True)) == set(kinds)
        for retirement in ours:
            for role in ROLES:
                client = client_of(self.ours.people[role])
                with transaction.atomic():
                    status = client.post(reverse("locates:restore", args=[retirement.pk])).status_code
                    transaction.set_rollback(True)
                may = role in WHO_MAY[kinds[retirement.model]]
                assert status == (302 if may else 403), (role, retirement.model)
