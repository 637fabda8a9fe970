"""The admin opens to each role what the table of roles says, and nothing of another company."""

from django.contrib import admin
from django.db import transaction
from django.urls import get_resolver, reverse

from locates.admin_changes import SHARED_TOO
from locates.role_actions import ACTIONS
from locates.roles import ROLES
from tests.companies import TwoCompanies, client_of
from tests.role_requests import IN_THE_ADMIN
from tests.table_digests import digests_of_tables

WHO_MAY = {permission: set(action.roles) for action in ACTIONS for permission in action.permissions}

ONLY_LOOKED_AT = {
    "locates.centreday": "kept on its own page, which asks for reviews",
    "locates.jurisdictionrule": "made by a company on the rule's page; shipped ones are for all",
    "locates.membership": "whoever keeps the accounts says who belongs where",
    "conflicts.assessment": "computed",
    "conflicts.crossing": "computed",
    "conflicts.drilledalonecrossing": "computed",
    "conflicts.reassessment": "computed",
}
"""Kind of record to why nobody in a role writes it in the admin, whatever may be written elsewhere."""

NOT_OF_A_RECORD = {
    "index": "the list of screens",
    "login": "leads to the login of the site",
    "logout": "",
    "password_change": "one's own",
    "password_change_done": "",
    "autocomplete": "choices that are searched, narrowed to the company",
    "jsi18n": "words for the admin's scripts",
    "view_on_site": "leads to a page of the site, which asks anew",
    "app_list": "the list of screens of an app",
    None: "the answer to what is no address of the admin",
}
"""Name of an address of the admin that is no screen's to what it does."""

SCREEN_WAYS = {"changelist", "add", "history", "delete", "change"}


def screens():
    """Kind of record as the permissions name it, the start of its addresses, and its model."""
    for model in admin.site._registry:
        label = f"{model._meta.app_label}.{model._meta.model_name}"
        if model._meta.app_label in {"locates", "conflicts"}:
            yield label, f"admin:{label.replace('.', '_')}", model


def test_every_address_of_the_admin_is_a_screen_s_or_named_here():
    (site,) = (one for one in get_resolver().url_patterns if getattr(one, "namespace", "") == "admin")
    names = {inner.name for one in site.url_patterns for inner in getattr(one, "url_patterns", [one])}
    starts = {
        f"{model._meta.app_label}_{model._meta.model_name}_{way}"
        for model in admin.site._registry
        for way in SCREEN_WAYS
    }
    assert names - starts - {"auth_user_password_change"} == set(NOT_OF_A_RECORD)


def test_what_counts_in_the_admin_alone_has_a_screen_there():
    opened = {f"{start}_{way}" for _, start, _ in screens() for way in ("add", "change")}
    assert set(IN_THE_ADMIN.values()) <= opened


class TestAdminCells(TwoCompanies):
    def test_each_role_writes_what_the_table_says_and_deletes_nothing(self):
        wrong = []
        for role in ROLES:
            client = client_of(self.ours.people[role])
            for label, start, model in screens():
                own = self._own(model)
                for way, allowed in self._cells(role, label):
                    address = reverse(f"{start}_{way}", args=[] if way == "add" else [own.pk])
                    with transaction.atomic():
                        status = client.post(address).status_code
                        transaction.set_rollback(True)
                    if status != (200 if allowed else 403):
                        wrong.append(f"{role} {way} {label}: {status}")
                for way, keys in (("changelist", []), ("change", [own.pk]), ("history", [own.pk])):
                    status = client.get(reverse(f"{start}_{way}", args=keys)).status_code
                    if status != 200:
                        wrong.append(f"{role} looks at {way} of {label}: {status}")
        assert not wrong, "\n".join(wrong)

    def test_records_of_another_company_are_not_there(self):
        wrong = []
        before = digests_of_tables()
        for role in ROLES:
            client = client_of(self.theirs.people[role])
            for label, start, model in screens():
                for way in ("change", "history", "delete"):
                    address = reverse(f"{start}_{way}", args=[self._own(model).pk])
                    for method in ("get", "post"):
                        answer = getattr(client, method)(address)
                        # The admin leads whoever asks for what is not there to its first page.
                        is_away = answer.status_code == 302 and answer.url == reverse("admin:index")
                        if not is_away and answer.status_code not in {403, 404}:
                            wrong.append(f"{role} {method} {way} {label}: {answer.status_code}")
        assert not wrong, "\n".join(wrong)
        assert digests_of_tables() == before

    def _cells(self, role, label):
        app_label, _, name = label.partition(".")
        for way in ("add", "change"):
            permission = f"{app_label}.{way}_{name}"
            is_written = label not in ONLY_LOOKED_AT and permission != "locates.add_organisation"
            yield way, is_written and role in WHO_MAY.get(permission, ())
        yield "delete", False

    def _own(self, model):
        """A record of our company: the first that its own coordinator finds on the screen."""
        screen = admin.site._registry[model]
        records = screen.get_queryset(_Asking(self.ours.people["Coordinator"])).order_by("pk")
        return (records.exclude(organisation=None) if model in SHARED_TOO else records).first()


class _Asking:
    """As much of a request as a screen asks for its records."""

    def __init__(self, user):
        self.user = user
