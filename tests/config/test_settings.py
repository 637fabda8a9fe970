"""The settings as a whole: safe where nothing is said, and refused where something dangerous is."""

import pytest

from tests.config.clean_shell import KEY, NOWHERE, run


def settings(expression: str, **variables: str) -> str:
    """Give what an expression of the settings comes to."""
    code = f"from django.conf import settings; print(({expression}))"
    done = run("-c", code, SECRET_KEY=KEY, DATABASE_URL=NOWHERE, **variables)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_without_a_debug_flag_the_deployment_check_has_nothing_to_say() -> None:
    done = run(
        "manage.py", "check", "--deploy", "--fail-level", "DEBUG", SECRET_KEY=KEY, DATABASE_URL=NOWHERE
    )
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout
    assert done.stderr == ""


def test_a_set_up_without_a_key_fails_and_says_what_to_do() -> None:
    done = run("manage.py", "check", DATABASE_URL=NOWHERE)
    assert done.returncode != 0
    assert "SECRET_KEY is not set, and it has no default" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_set_up_without_a_database_fails_and_says_what_to_do() -> None:
    done = run("-c", "import config.settings", SECRET_KEY=KEY)
    assert "DATABASE_URL is not set" in done.stderr


@pytest.mark.parametrize("flag", ["DEBUG", "PLAIN_HTTP"])
def test_plain_http_under_a_public_name_is_refused(flag: str) -> None:
    variables = {
        flag: "1",
        "ALLOWED_HOSTS": "locates.example.com",
        "SECRET_KEY": KEY,
        "DATABASE_URL": NOWHERE,
    }
    done = run("-c", "import config.settings", **variables)
    assert done.returncode != 0
    assert "is for this machine alone" in done.stderr


def test_a_mail_server_without_an_address_to_send_from_is_refused() -> None:
    variables = {"SECRET_KEY": KEY, "DATABASE_URL": NOWHERE, "EMAIL_URL": "smtps://mail.example.com"}
    done = run("-c", "import config.settings", **variables)
    assert done.returncode != 0
    assert "say in MAIL_FROM" in done.stderr


def test_links_in_mails_begin_with_the_first_of_the_named_hosts_unless_another_address_is_said() -> None:
    assert settings("settings.SITE_ADDRESS", ALLOWED_HOSTS="a.example,b.example") == "https://a.example"
    assert settings("settings.SITE_ADDRESS", SITE_ADDRESS="https://c.example") == "https://c.example"
    assert settings("settings.SITE_ADDRESS, settings.MAIL_SERVER") == "('', None)"


def test_plain_http_on_this_machine_sends_nobody_to_https() -> None:
    assert (
        settings("settings.SECURE_SSL_REDIRECT, settings.SESSION_COOKIE_SECURE", PLAIN_HTTP="1")
        == "(False, False)"
    )
    assert settings("settings.SECURE_SSL_REDIRECT, settings.SESSION_COOKIE_SECURE") == "(True, True)"


def test_a_proxy_is_believed_only_when_there_is_one() -> None:
    assert settings("settings.SECURE_PROXY_SSL_HEADER") == "None"
    assert settings("settings.SECURE_PROXY_SSL_HEADER[0]", BEHIND_PROXY="1") == "HTTP_X_FORWARDED_PROTO"


def test_a_named_redis_is_used_instead_of_the_broker_of_files() -> None:
    expression = "settings.CELERY_BROKER_URL, settings.CELERY_BROKER_TRANSPORT_OPTIONS.get('data_folder_in')"
    assert settings(expression, BROKER_URL="redis://h:6379/0") == "('redis://h:6379/0', None)"
    url, folder = settings(expression).split(", ")
    assert url == "('filesystem://localhost'"
    assert ".run/broker" in folder


def test_the_broker_of_files_sends_to_the_folder_that_it_reads() -> None:
    options = "settings.CELERY_BROKER_TRANSPORT_OPTIONS"
    assert settings(f"{options}['data_folder_in'] == {options}['data_folder_out']") == "True"


def test_shared_tasks_belong_to_the_projects_celery_app() -> None:
    code = "import django; django.setup(); import celery; print(celery.current_app.main)"
    done = run("-c", code, SECRET_KEY=KEY, DATABASE_URL=NOWHERE)
    assert done.stdout.strip() == "crosswatch", done.stderr


TILES = {
    "MAP_TILE_URL": "https://tiles.example.com/{z}/{x}/{y}.png",
    "MAP_TILE_ATTRIBUTION": "Example Survey",
    "MAP_TILE_MAX_ZOOM": "17",
}
PICTURES = "settings.CONTENT_SECURITY_POLICY['DIRECTIVES']['img-src']"


def test_without_an_address_of_map_pictures_none_may_be_loaded_from_elsewhere() -> None:
    assert settings(f"{PICTURES}, settings.LEAFLET_CONFIG['TILES']") == "([\"'self'\", 'data:'], [])"


def test_the_origin_of_the_map_pictures_is_the_only_one_that_the_policy_names() -> None:
    assert settings(PICTURES, **TILES) == "[\"'self'\", 'data:', 'https://tiles.example.com']"
    assert settings("settings.LEAFLET_CONFIG['TILES'][0][2]", **TILES) == "{'maxNativeZoom': 17}"


def test_map_pictures_of_nobody_are_refused() -> None:
    done = run(
        "-c",
        "import config.settings",
        SECRET_KEY=KEY,
        DATABASE_URL=NOWHERE,
        MAP_TILE_URL=TILES["MAP_TILE_URL"],
    )
    assert done.returncode != 0
    assert "say in MAP_TILE_ATTRIBUTION whose pictures they are" in done.stderr
