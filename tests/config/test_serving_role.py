"""The role that the site asks as does all that the site does, and has no right to more."""

import io
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from config.owner import ask_as_owner
from config.serving_role import grant_after_migrating
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.models import Bore, DailyWalk, Release, ReleaseWithdrawal
from locates.exchange.moments import write_moment
from locates.kept_records import ITSELF, NOT_KEPT, RECORD, TAKEN_AWAY, kept_models, sealed_models
from locates.models import Mark, RecordEvent
from locates.past_moments import database_clock
from locates.roles import COORDINATOR, FOREMAN
from tests import factories
from tests.conflicts.audit import signed_stories
from tests.signing import signing
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

EVERY_RIGHT = ("SELECT", "INSERT", "UPDATE", "DELETE", "TRUNCATE", "REFERENCES", "TRIGGER")
# Those of PostGIS are not managed.
TABLES = [model._meta.db_table for model in apps.get_models(include_auto_created=True) if model._meta.managed]
RIGHTS = """
SELECT c.relname, array_agg(p ORDER BY p) FILTER (WHERE has_table_privilege(%s, c.oid, p))
FROM pg_class c, unnest(%s::text[]) AS p WHERE c.relname = ANY(%s) GROUP BY 1
"""
BEYOND = (
    "TRUNCATE {0} CASCADE",
    "ALTER TABLE {0} DISABLE TRIGGER ALL",
    "ALTER TABLE {0} OWNER TO CURRENT_USER",
    "DROP TABLE {0} CASCADE",
    "CREATE TRIGGER aaa BEFORE UPDATE ON {0} FOR EACH ROW EXECUTE FUNCTION"
    " suppress_redundant_updates_trigger()",
    "CREATE RULE nothing AS ON INSERT TO {0} DO INSTEAD NOTHING",
)


def run(*statements):
    with connection.cursor() as cursor:
        for one in statements:
            cursor.execute(one)


@pytest.fixture
def role(settings):
    """A role that is named for the site and was given its rights, as after a migration."""
    name = f"site_{uuid4().hex}"
    settings.SERVING_DATABASE = {"USER": name, "PASSWORD": "invented"}
    grant_after_migrating()
    return name


@pytest.fixture
def served(role):
    """The connection as that role, as if it had logged in, until the test is over."""
    run(f"SET SESSION AUTHORIZATION {role}")
    return role


def rights_of(role):
    with connection.cursor() as cursor:
        cursor.execute(RIGHTS, [role, list(EVERY_RIGHT), [*TABLES, "django_migrations"]])
        return {name: set(rights or ()) for name, rights in cursor.fetchall()}


def test_it_may_add_to_what_is_signed_and_only_read_the_record_of_changes(role):
    expected = {name: {"SELECT", "INSERT", "UPDATE"} for name in TABLES}
    expected |= {apps.get_model(label)._meta.db_table: set(EVERY_RIGHT[:4]) for label in TAKEN_AWAY}
    expected |= {model._meta.db_table: {"SELECT", "INSERT"} for model in sealed_models()}
    expected |= {"locates_recordevent": {"SELECT"}, "django_migrations": {"SELECT"}}
    assert rights_of(role) == expected


def test_a_table_that_a_migration_makes_later_is_given_to_it_too(role):
    run("CREATE TABLE made_later (id int)")
    with connection.cursor() as cursor:
        allowed = "SELECT has_table_privilege(%s, 'made_later', 'INSERT')"
        cursor.execute(allowed, [role])
        assert cursor.fetchone() == (False,)
        grant_after_migrating()
        cursor.execute(allowed, [role])
        assert cursor.fetchone() == (True,)


def test_it_empties_no_table_and_gets_past_no_guard(served):
    for statement in (one.format(table) for table in TABLES for one in BEYOND):
        with pytest.raises(DatabaseError, match=r"permission denied|must be owner"), transaction.atomic():
            run(statement)


def test_what_is_signed_and_recorded_it_neither_changes_nor_takes_away(served):
    ways = ("UPDATE {0} SET {1} = {1}", "DELETE FROM {0}", "SELECT 1 FROM {0} FOR UPDATE")
    for model, way in ((model, way) for model in sealed_models() for way in ways):
        with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
            run(way.format(model._meta.db_table, model._meta.pk.column))


def test_nothing_that_is_kept_of_a_job_is_among_what_the_site_takes_away():
    kept = {model._meta.label_lower for model in kept_models()}
    kept |= {label for label, why in NOT_KEPT.items() if why in (RECORD, ITSELF)}
    assert kept.isdisjoint(TAKEN_AWAY)
    ours = {label: why for label, why in TAKEN_AWAY.items() if label.startswith(("locates.", "conflicts."))}
    assert ours.items() <= NOT_KEPT.items()


@pytest.mark.parametrize(
    "statement",
    [
        "SET session_replication_role = replica",
        "SET ROLE {owner}",
        "CREATE TABLE public.own (id int)",
        "CREATE ROLE another",
        "INSERT INTO locates_recordevent (happened_at) VALUES (now())",
        "SELECT locates_keep_record_of('locates_mark', 'NULL::uuid')",
    ],
)
def test_no_setting_of_a_session_gives_it_more(served, statement):
    owner = connection.settings_dict["USER"]
    with pytest.raises(DatabaseError, match=r"permission denied|must be owner"), transaction.atomic():
        run(statement.format(owner=owner))


def test_a_walk_is_signed_on_its_page_and_proven(served, client):
    client.force_login(factories.person_in_role(FOREMAN))
    bore = factories.small_job().bores.get()
    yes = {"marks_intact": "yes", "device_checked": "yes", "device": "receiver 7", "holes_open": "yes"}
    sent = client.post(reverse("conflicts:walk", args=[bore.pk]), yes | {"new_id": str(uuid4())})
    assert sent.status_code == 302
    event = RecordEvent.objects.get(record_id=DailyWalk.objects.get().pk)
    assert event.database_role == served
    out = io.StringIO()
    call_command("verify_ledger", stdout=out)
    assert out.getvalue().startswith("Proven: 1 entry.")


def test_a_release_is_taken_back_also_where_its_bore_is_retired(served):
    bore, person = bore_of_today(), factories.PersonFactory()
    with signing(person):
        released = signed_stories.release(bore, [])
        Bore.objects.filter(pk=bore.pk).update(retired_at=timezone.now())
        withdrawal = ReleaseWithdrawal(release=released, reason="Rain.")
        assert withdraw_release(withdrawal, by=person).withdrawn_by == person
        again = ReleaseWithdrawal(release=Release.objects.get(), reason="Snow.")
        assert withdraw_release(again, by=person).reason == "Rain."


def test_the_past_is_read_through_temporary_views(served, client):
    client.force_login(factories.person_in_role(COORDINATOR))
    job = factories.small_job()
    for name, key in (("job", job.pk), ("bore", job.bores.get().pk)):
        at = write_moment(database_clock())
        page = client.get(reverse(f"conflicts:{name}-as-of", args=[key], query={"at": at}))
        assert page.status_code == 200
        assert job.name in page.content.decode()


def test_records_are_changed_retired_and_restored(served, client):
    client.force_login(factories.person_in_role(COORDINATOR))
    mark = factories.MarkFactory()
    assert client.post(reverse("locates:mark-retire", args=[mark.pk])).status_code == 302
    assert not Mark.objects.exists()
    retirement = Mark.with_retired.get().retirement_id
    assert client.post(reverse("locates:restore", args=[retirement])).status_code == 302
    assert Mark.objects.exists()


def test_the_invented_jobs_are_loaded_and_proven(served, tmp_path):
    logins = tmp_path / "logins.json"
    logins.write_text('{"foreman": "invented-long-1"}')
    call_command("demo_data", logins=logins, stdout=io.StringIO())
    call_command("verify_ledger", stdout=io.StringIO())


def test_a_role_that_could_do_more_is_refused_before_anything_is_given_to_it(settings):
    name = f"site_{uuid4().hex}"
    settings.SERVING_DATABASE = {"USER": name, "PASSWORD": ""}
    for power in ("SUPERUSER", "CREATEROLE", "BYPASSRLS", f"IN ROLE {connection.settings_dict['USER']}"):
        run(f"CREATE ROLE {name} LOGIN {power}")
        with pytest.raises(ImproperlyConfigured, match=f"DATABASE_URL names {name}, which may do more"):
            grant_after_migrating()
        run(f"DROP ROLE {name}")


def test_the_owner_itself_is_no_role_to_serve_as(settings):
    settings.SERVING_DATABASE = {"USER": connection.settings_dict["USER"], "PASSWORD": ""}
    with pytest.raises(
        ImproperlyConfigured, match="accepted is another role than that of OWNER_DATABASE_URL"
    ):
        grant_after_migrating()


def test_an_owner_that_may_make_no_role_says_what_to_type(settings, role):
    settings.SERVING_DATABASE = {"USER": "nobody_yet", "PASSWORD": ""}
    run(f"SET SESSION AUTHORIZATION {role}")
    with pytest.raises(ImproperlyConfigured, match="CREATE ROLE nobody_yet LOGIN"):
        grant_after_migrating()


def test_where_no_other_role_is_named_nothing_is_given():
    grant_after_migrating()
    with connection.cursor() as cursor:
        cursor.execute("SELECT relacl FROM pg_class WHERE relname = 'locates_recordevent'")
        assert cursor.fetchone() == (None,)


SITE, OWNER = "postgres://site@/x", "postgres://owner@/x"


@pytest.mark.parametrize(
    ("command", "asks_as", "serves"),
    [
        ("migrate", OWNER, SITE),
        ("showmigrations", OWNER, SITE),
        ("shell", SITE, None),
        ("load_job", SITE, None),
    ],
)
def test_only_what_changes_tables_asks_as_their_owner_and_nothing_else_knows_the_owner(
    command, asks_as, serves
):
    environment = {"DATABASE_URL": SITE, "OWNER_DATABASE_URL": OWNER}
    ask_as_owner(command, environment)
    assert environment.pop("SERVING_DATABASE_URL", None) == serves
    assert environment == {"DATABASE_URL": asks_as}


def test_one_role_alone_does_both():
    environment = {"DATABASE_URL": SITE, "OWNER_DATABASE_URL": " "}
    ask_as_owner("migrate", environment)
    assert environment == {"DATABASE_URL": SITE}
