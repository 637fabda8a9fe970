"""What each of the three roles may do, on a fresh database."""

import pytest
from django.apps import apps
from django.contrib.auth.models import Group

from locates.roles import COORDINATOR, FOREMAN, ROLES, SAFETY_MANAGER
from tests import factories

pytestmark = pytest.mark.django_db

RECORDS = {
    "locates": [
        "organisation",
        "jurisdictionrule",
        "job",
        "facilityoperator",
        "clearancerequirement",
        "ticket",
        "response",
        "mark",
        "testhole",
        "surfacefeature",
        "groundpoint",
        "linework",
        "vectorimport",
    ],
    "conflicts": ["bore", "pit", "assessment", "crossing", "drilledalonecrossing"],
}
WRITTEN = {
    COORDINATOR: {
        "locates.job",
        "locates.facilityoperator",
        "locates.clearancerequirement",
        "locates.ticket",
        "locates.response",
        "locates.mark",
        "locates.testhole",
        "locates.surfacefeature",
        "locates.groundpoint",
        "locates.linework",
        "locates.vectorimport",
        "conflicts.bore",
        "conflicts.pit",
    },
    FOREMAN: {"locates.mark", "locates.testhole", "locates.surfacefeature", "locates.vectorimport"},
    SAFETY_MANAGER: {
        "locates.organisation",
        "locates.jurisdictionrule",
        "locates.facilityoperator",
        "locates.clearancerequirement",
    },
}


def permission(record, action):
    app_label, model = record.split(".")
    return f"{app_label}.{action}_{model}"


def test_the_records_named_here_are_there():
    for app_label, records in RECORDS.items():
        models = {model._meta.model_name for model in apps.get_app_config(app_label).get_models()}
        assert set(records) <= models


def test_there_are_three_roles():
    assert set(Group.objects.values_list("name", flat=True)) == set(ROLES)


@pytest.mark.parametrize("role", ROLES)
def test_a_role_sees_everything_and_writes_what_is_its_to_write(role):
    person = factories.person_in_role(role)
    for app_label, models in RECORDS.items():
        for record in (f"{app_label}.{model}" for model in models):
            assert person.has_perm(permission(record, "view"))
            for action in ("add", "change"):
                assert person.has_perm(permission(record, action)) is (record in WRITTEN[role]), (
                    record,
                    action,
                )


@pytest.mark.parametrize("role", ROLES)
def test_no_role_deletes_or_writes_people(role):
    permissions = factories.person_in_role(role).get_all_permissions()
    assert {name.split(".")[0] for name in permissions} == {"locates", "conflicts"}
    assert not {name for name in permissions if ".delete_" in name}


def test_a_person_in_no_role_may_do_nothing():
    assert factories.PersonFactory(is_staff=True).get_all_permissions() == set()
