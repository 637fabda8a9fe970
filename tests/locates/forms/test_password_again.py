"""The password once more: only that of the person who is logged in signs."""

import pytest
from django import forms
from django.contrib.auth.models import AnonymousUser
from django.contrib.auth.signals import user_login_failed

from locates.forms.password_again import PasswordAgainMixin
from tests.factories import PASSWORD, PersonFactory

pytestmark = pytest.mark.django_db


class Statement(PasswordAgainMixin, forms.Form):
    """What somebody signs, of one field."""

    reason = forms.CharField()


@pytest.fixture
def signer():
    return PersonFactory(username="pell")


def statement(rf, person, **typed):
    request = rf.post("/sign/", typed)
    request.user = person
    return Statement(request.POST, request=request)


def test_the_right_password_signs(rf, signer):
    form = statement(rf, signer, reason="All seen.", password=PASSWORD)
    assert form.is_valid()
    assert list(form.fields) == ["reason", "password"]


@pytest.mark.parametrize("typed", ["wrong", f" {PASSWORD}", f"{PASSWORD} ", PASSWORD.upper()])
def test_a_wrong_one_is_said_beside_the_field_and_the_rest_stays(rf, signer, typed):
    form = statement(rf, signer, reason="All seen.", password=typed)
    assert not form.is_valid()
    assert list(form.errors) == ["password"]
    assert "not the password of pell" in form.errors["password"][0]
    shown = form.as_p()
    assert 'value="All seen."' in shown
    assert 'autocomplete="current-password"' in shown
    assert typed not in shown.replace(form.errors["password"][0], "")


def test_none_at_all_is_asked_for(rf, signer):
    form = statement(rf, signer, reason="All seen.")
    assert form.errors["password"] == ["This field is required."]


def test_that_of_another_person_does_not_sign(rf, signer):
    other = PersonFactory(username="quill")
    others = "another invented password"
    other.set_password(others)
    other.save()
    assert not statement(rf, signer, reason="x", password=others).is_valid()


def test_somebody_who_left_does_not_sign(rf, signer):
    signer.is_active = False
    signer.save()
    assert not statement(rf, signer, reason="x", password=PASSWORD).is_valid()


def test_nobody_does_not_sign(rf):
    assert not statement(rf, AnonymousUser(), reason="x", password=PASSWORD).is_valid()


def test_a_wrong_one_counts_as_a_login_that_failed(rf, signer):
    """So that whatever throttles logins throttles this too."""
    failed = []

    def note(sender, credentials, request, **kwargs):
        failed.append((credentials["username"], request.path))

    user_login_failed.connect(note)
    try:
        for typed in (PASSWORD[:-1], PASSWORD):
            statement(rf, signer, reason="x", password=typed).is_valid()
    finally:
        user_login_failed.disconnect(note)
    assert failed == [("pell", "/sign/")]
