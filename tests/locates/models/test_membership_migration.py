"""The step that made memberships puts people of the only company into it, and guesses nobody's."""

import pytest
from django.contrib.auth import get_user_model
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor

from locates.models import Membership, Organisation
from tests.factories import PersonFactory

pytestmark = pytest.mark.django_db

BEFORE, AFTER = ("locates", "0017_photos"), ("locates", "0018_membership")


def migrate(target: tuple[str, str]) -> None:
    """Go to a migration, back or forth; its tables must have no check that still waits for the end."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    MigrationExecutor(connection).migrate([target])


@pytest.fixture
def people():
    """Four accounts of before: two in use, one that keeps the accounts, one that is closed."""
    return [
        PersonFactory(membership=None),
        PersonFactory(membership=None),
        PersonFactory(membership=None, is_superuser=True),
        PersonFactory(membership=None, is_active=False),
    ]


@pytest.fixture
def before(people):
    """The database as it was; all of it is undone with the test's transaction."""
    migrate(BEFORE)
    tables = connection.introspection.table_names()
    assert Membership._meta.db_table not in tables
    assert Organisation._meta.db_table in tables


def made_forward(*companies: str) -> dict[str, str]:
    """Company of each person that has one, as the step leaves it where there were these companies."""
    with transaction.atomic():
        Organisation.objects.all().delete()
        for name in companies:
            Organisation.objects.create(name=name)
        migrate(AFTER)
        placed = dict(Membership.objects.values_list("user__username", "organisation__name"))
        transaction.set_rollback(True)
    return placed


def test_who_had_an_account_is_put_into_the_only_company_and_into_none_where_nobody_can_tell(before, people):
    everybody = {person.username for person in people}
    assert everybody == set(get_user_model().objects.values_list("username", flat=True))
    assert made_forward("Larkfield Boring") == dict.fromkeys(everybody, "Larkfield Boring")
    assert made_forward("Larkfield Boring", "Heronsfold Boring") == {}
    assert made_forward() == {}
