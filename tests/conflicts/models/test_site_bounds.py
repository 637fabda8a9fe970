"""The database itself refuses signed records of a site that cannot be; such records are only ever added."""

import pytest
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from tests import factories

pytestmark = pytest.mark.django_db

FACTORIES = {"walk": factories.DailyWalkFactory}

# Constraint, record, with what it is added.
REFUSED = [
    ("daily_walk_walked_by_name_written", "walk", {"walked_by_name": " "}),
    ("daily_walk_checked_device_named", "walk", {"device": " "}),
]


@pytest.mark.parametrize(("constraint", "name", "values"), REFUSED)
def test_the_database_refuses(constraint, name, values):
    with pytest.raises(IntegrityError, match=f'"{constraint}"'), transaction.atomic():
        FACTORIES[name](**values)


def test_every_constraint_of_these_records_has_a_case_here():
    models = {factory._meta.model for factory in FACTORIES.values()}
    assert {one.name for model in models for one in model._meta.constraints} == {case[0] for case in REFUSED}


def test_a_device_that_was_not_checked_needs_no_name():
    walk = factories.DailyWalkFactory(device_checked=False, device="")
    walk.refresh_from_db()
    walk.full_clean()


def test_neither_the_bore_nor_the_person_of_a_walk_can_go():
    walk = factories.DailyWalkFactory()
    for kept in (walk.bore, walk.walked_by):
        with pytest.raises(ProtectedError):
            kept.delete()
