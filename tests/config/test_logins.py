"""Logins are throttled by name and address, say when to try again, and end after a working day."""

from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django import forms
from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from config.client_address import client_address
from locates.forms.password_again import PasswordAgainMixin
from tests.factories import PASSWORD, PersonFactory, person_in_role

pytestmark = pytest.mark.django_db

LOGIN = reverse("login")
HERE, ELSEWHERE = {"REMOTE_ADDR": "192.0.2.7"}, {"REMOTE_ADDR": "192.0.2.8"}


@pytest.fixture
def ruth():
    return person_in_role("Foreman", username="ruth")


def try_password(client, password, username="ruth", **where):
    return client.post(LOGIN, {"username": username, "password": password}, **(where or HERE))


def lock(client):
    for _ in range(settings.AXES_FAILURE_LIMIT):
        answer = try_password(client, "wrong")
    return answer


def test_the_page_says_when_to_try_again_and_the_right_password_waits_too(client, ruth):
    answers = [try_password(client, "wrong").status_code for _ in range(settings.AXES_FAILURE_LIMIT)]
    assert answers == [200] * (settings.AXES_FAILURE_LIMIT - 1) + [429]
    answer = try_password(client, PASSWORD)
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= settings.AXES_COOLOFF_TIME.total_seconds()
    words = " ".join(answer.content.decode().split())
    minutes = int(settings.AXES_COOLOFF_TIME.total_seconds() // 60)
    assert f"Try again in <strong>{minutes} minutes</strong>" in words
    assert "UTC" in words
    assert "_auth_user_id" not in client.session


def test_after_the_time_that_the_page_named_the_right_password_opens(client, ruth):
    lock(client)
    AccessAttempt.objects.update(attempt_time=timezone.now() - settings.AXES_COOLOFF_TIME)
    assert try_password(client, PASSWORD).status_code == 302
    assert not AccessAttempt.objects.exists()


def test_trying_while_locked_out_writes_nothing_and_lengthens_nothing(client, ruth):
    lock(client)
    before = AccessAttempt.objects.get()
    for _ in range(3):
        try_password(client, "wrong")
    after = AccessAttempt.objects.get()
    assert (after.failures_since_start, after.attempt_time, after.post_data) == (
        before.failures_since_start,
        before.attempt_time,
        before.post_data,
    )


def test_nobody_is_locked_out_from_another_address_or_for_another_name(client, ruth):
    PersonFactory(username="pell")
    lock(client)
    assert try_password(Client(), PASSWORD, **ELSEWHERE).status_code == 302
    assert try_password(Client(), PASSWORD, username="pell").status_code == 302


def test_another_browser_at_the_same_address_is_counted_with_the_first(client, ruth):
    for number in range(settings.AXES_FAILURE_LIMIT):
        answer = try_password(client, "wrong", HTTP_USER_AGENT=f"browser {number}", **HERE)
    assert answer.status_code == 429


def test_the_right_password_in_between_begins_the_count_anew(client, ruth):
    for _ in range(2):
        for _ in range(settings.AXES_FAILURE_LIMIT - 1):
            assert try_password(client, "wrong").status_code == 200
        assert try_password(client, PASSWORD).status_code == 302


def test_no_password_is_kept_of_what_failed(client, ruth):
    try_password(client, "what she meant to type elsewhere")
    attempt = AccessAttempt.objects.get()
    assert "elsewhere" not in f"{attempt.post_data}{attempt.get_data}"


def test_the_admin_s_login_is_the_site_s(client):
    answer = client.get("/admin/login/?next=/admin/")
    assert answer.url == f"{LOGIN}?next=/admin/"
    assert client.post("/admin/login/", {"username": "ruth", "password": "x"}).url == LOGIN


def test_a_login_costs_few_queries_of_the_throttle(client, ruth):
    with CaptureQueriesContext(connection) as asked:
        try_password(client, PASSWORD)
    assert len([one for one in asked if "axes_" in one["sql"]]) <= 4


class Statement(PasswordAgainMixin, forms.Form):
    """What somebody signs."""


def statement(rf, person, password):
    request = rf.post("/sign/", {"password": password}, **HERE)
    request.user = person
    return Statement(request.POST, request=request)


def test_signing_is_throttled_with_the_logins_and_says_so(rf, client, ruth):
    lock(client)
    form = statement(rf, ruth, PASSWORD)
    assert not form.is_valid()
    assert "Too many wrong passwords" in form.errors["password"][0]
    assert "all else that you wrote is still here: try again in" in form.errors["password"][0]


def test_a_login_ends_after_its_hours_however_busy_somebody_is(client, ruth):
    try_password(client, PASSWORD)
    life = timedelta(hours=settings.SESSION_HOURS)
    (session,) = Session.objects.all()
    assert abs(session.expire_date - timezone.now() - life) < timedelta(minutes=1)
    begun_at = session.expire_date
    changed = client.session
    changed["anything"] = "a page that keeps something"
    changed.save()
    assert abs(Session.objects.get().expire_date - begun_at) < timedelta(seconds=2)
    Session.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
    assert client.get(reverse("conflicts:jobs")).url.startswith(LOGIN)


@pytest.mark.parametrize(
    ("proxies", "header", "found"),
    [
        (0, "198.51.100.9", "192.0.2.7"),  # nobody in front: what is written there is not believed
        (1, "198.51.100.9", "198.51.100.9"),
        (1, "10.0.0.1, 198.51.100.9", "198.51.100.9"),  # the first was written by whoever asks
        (2, "10.0.0.1, 198.51.100.9, 192.0.2.1", "198.51.100.9"),
        (2, "198.51.100.9", "192.0.2.7"),
        (1, "2001:DB8::1", "2001:db8::1"),
        (1, "nonsense", "192.0.2.7"),
        (1, "", "192.0.2.7"),
    ],
)
def test_behind_a_proxy_the_address_is_the_one_that_spoke_to_it(rf, settings, proxies, header, found):
    settings.PROXY_COUNT = proxies
    assert client_address(rf.get("/", HTTP_X_FORWARDED_FOR=header, **HERE)) == found


def test_on_a_socket_without_addresses_there_is_none(rf, settings):
    settings.PROXY_COUNT = 0
    assert client_address(rf.get("/", REMOTE_ADDR="")) is None
