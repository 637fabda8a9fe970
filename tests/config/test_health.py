"""The health check: open to all, and honest about the database."""

import pytest
from django.test import Client

from tests.config.clean_shell import KEY, NOWHERE, run

ASK = """
import django
django.setup()
from django.test import Client
answer = Client(headers={"host": "localhost"}).get("/healthz")
print(answer.status_code, answer.content.decode())
"""


@pytest.mark.django_db
def test_a_reachable_database_is_healthy_without_a_login(client: Client) -> None:
    answer = client.get("/healthz")
    assert (answer.status_code, answer.content) == (200, b"ok\n")
    assert "no-cache" in answer["Cache-Control"]


def test_an_unreachable_database_is_a_503_without_detail() -> None:
    done = run("-c", ASK, DJANGO_SETTINGS_MODULE="config.testing", SECRET_KEY=KEY, DATABASE_URL=NOWHERE)
    assert done.stdout.split("\n")[0] == "503 database unreachable", done.stderr


@pytest.mark.django_db
def test_every_answer_carries_the_content_policy(client: Client) -> None:
    policy = client.get("/healthz")["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


@pytest.mark.django_db
def test_a_page_sends_a_visitor_without_login_to_the_login(client: Client) -> None:
    answer = client.get("/admin/locates/job/")
    assert answer.status_code == 302
    assert "/login/" in answer["Location"]
