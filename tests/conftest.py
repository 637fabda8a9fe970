"""What tests of every room share: the browser, and its event loop's peace with Django."""

import json
import os
import shutil
from collections.abc import Iterator

import pytest
from django.db import connection
from django.db.backends.postgresql.operations import DatabaseOperations
from hypothesis import settings
from playwright.sync_api import Browser, expect, sync_playwright

from conflicts.engine.warm import warm_up
from tests.rewriting import rewriting_allowed

# Playwright's synchronous interface leaves an event loop in the thread, where Django would refuse to query.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

# A run passes or fails by what is tested, not by the draw: the same examples each time. Who looks for faults
# draws others with HYPOTHESIS_PROFILE=search. A draw is not held to a time: that would be the machine's.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("search", print_blob=True, deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
CHROMIUM_FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# A state of a page is waited for as long as anything that is clicked: a machine with other work is slow, not
# wrong.
STATE_WITHIN_MS = 30_000


@pytest.fixture(scope="session")
def browser(django_db_setup: None) -> Iterator[Browser]:
    """One Chromium for the whole run; a test opens its own context in it."""
    found = [os.environ.get("CHROMIUM"), *map(shutil.which, CHROMIUM_NAMES)]
    path = next(filter(None, found), None)
    if path is None:
        pytest.fail("No Chromium here: `python3 manage.py test` installs it, or CHROMIUM names one.")
    # Beside the event loop Django hands out another connection, which would not know what the migrations put
    # into the test database and a test with serialized_rollback puts back.
    seeds = getattr(connection, "_test_serialized_contents", None)
    expect.set_options(timeout=STATE_WITHIN_MS)
    with sync_playwright() as playwright:
        if seeds is not None:
            connection._test_serialized_contents = seeds
        chromium = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session", autouse=True)
def compiled_kernels() -> None:
    """As the site's server does before its first request: nobody at a page waits for a compiler."""
    warm_up()


@pytest.fixture(scope="session", autouse=True)
def tests_empty_their_tables() -> Iterator[None]:
    """A test with real transactions ends by emptying all tables, which the database refuses anybody else."""
    empty = DatabaseOperations.execute_sql_flush

    def with_leave(operations: DatabaseOperations, sql_list: list[str]) -> None:
        with rewriting_allowed():
            empty(operations, sql_list)

    DatabaseOperations.execute_sql_flush = with_leave
    yield
    DatabaseOperations.execute_sql_flush = empty


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None) -> None:
    """Of what the migrations seeded, a test gets the records back, and not their events: those come anew."""
    seeds = getattr(connection, "_test_serialized_contents", None)
    if seeds is not None:
        kept = [one for one in json.loads(seeds) if one["model"] != "locates.recordevent"]
        connection._test_serialized_contents = json.dumps(kept)
