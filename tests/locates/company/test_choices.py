"""No page of a company names another's record, and no form takes one, whoever knows its id."""

import re
from collections.abc import Iterator

from django.apps import apps
from django.db import transaction
from django.db.models import Model, UUIDField

from tests.companies import OURS, THEIRS, TwoCompanies, addresses, client_of, path_of, populated_company
from tests.page_forms import controls_of
from tests.role_requests import ASKS

AN_ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
SELECT = re.compile(r'<select[^>]*\bname="([^"]+)"[^>]*>(.*?)</select>', re.DOTALL)
WITH_IDS = [
    model
    for label in ("locates", "conflicts")
    for model in apps.get_app_config(label).get_models()
    if isinstance(model._meta.pk, UUIDField)
]


def kinds_by_id() -> dict[str, type[Model]]:
    """Every record's id, as pages write it, to its kind."""
    return {str(key): model for model in WITH_IDS for key in model._base_manager.values_list("pk", flat=True)}


def choices_on(page: str, kinds: dict[str, type[Model]]) -> Iterator[tuple[str, type[Model]]]:
    """Name and kind of every list of records on a page."""
    for name, options in SELECT.findall(page):
        found = {kinds[one] for one in AN_ID.findall(options) if one in kinds}
        if found:
            (kind,) = found
            yield name, kind


class TestChoices(TwoCompanies):
    @classmethod
    def setUpTestData(cls):
        """Ours first, so that what is there after it is theirs."""
        cls.ours = populated_company(OURS)
        cls.our_kinds = kinds_by_id()
        cls.theirs = populated_company(THEIRS)
        cls.their_kinds = {key: kind for key, kind in kinds_by_id().items() if key not in cls.our_kinds}

    def pages(self) -> Iterator[tuple[str, str, str]]:
        """Role, name and path of every address that is tied to a role's doing."""
        for role in self.ours.people:
            for address in addresses():
                if address.name in ASKS:
                    yield role, address.name, path_of(address, self.ours, role)

    def test_no_page_names_a_record_of_the_other_company(self):
        clients = {role: client_of(person) for role, person in self.ours.people.items()}
        named, ours = [], set()
        for role, name, path in self.pages():
            answer = clients[role].get(path)
            is_read = answer.headers["Content-Type"].startswith(("text/", "application/json"))
            if answer.status_code != 200 or not is_read:
                continue
            text = answer.content.decode(errors="replace")
            ids = set(AN_ID.findall(text))
            ours |= ids & set(self.our_kinds)
            if THEIRS in text or ids & set(self.their_kinds):
                named.append(f"{role} {name}")
        assert not named, "\n".join(named)
        assert len(ours) > 20

    def test_no_form_takes_a_record_of_the_other_company(self):
        keys = {kind: key for key, kind in self.their_kinds.items()}
        clients = {role: client_of(person) for role, person in self.ours.people.items()}
        taken, tried = [], set()
        for role, name, path in self.pages():
            if {ask.method for ask in ASKS[name]} != {"get", "post"}:
                continue
            shown = clients[role].get(path)
            if shown.status_code != 200:
                continue
            controls = controls_of(shown)
            for control, kind in choices_on(shown.content.decode(), self.our_kinds):
                if control not in controls or (name, control) in tried:
                    continue
                tried.add((name, control))
                with transaction.atomic():
                    answer = clients[role].post(path, controls | {control: keys[kind]})
                    transaction.set_rollback(True)
                refused = answer.status_code == 200 and control in answer.context["form"].errors
                if not refused or THEIRS in answer.content.decode():
                    taken.append(f"{role} {name} {control}: {answer.status_code}")
        assert not taken, "\n".join(taken)
        assert len(tried) > 20
