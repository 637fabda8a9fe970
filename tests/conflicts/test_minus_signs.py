"""Negative figures: with the minus sign on pages and pictures, with a hyphen in what programs read."""

import json
from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse

from conflicts.assess import store_assessment
from conflicts.drawing.scale import tick_label
from conflicts.models import Bore
from locates.minus import MINUS, format_decimal, plain_minus
from locates.units import format_worked, parse_length_m
from tests.factories import person_in_role, small_job


def test_a_number_that_rounds_to_zero_has_no_sign():
    assert [format_decimal(number, 2) for number in (-0.004, -0.006, 0.006)] == [
        "0.00",
        f"{MINUS}0.01",
        "0.01",
    ]


def test_sums_and_ticks_of_an_axis_have_the_minus_sign():
    assert format_worked(-0.1181, "feet") == f"{MINUS}4.65 in"
    assert tick_label(-3.048, 0.3048, 0.3048) == f"{MINUS}10"
    assert tick_label(-0.5, 0.5, 1.0) == f"{MINUS}0.5"


def test_a_form_reads_back_what_a_page_shows():
    assert parse_length_m(f"{MINUS}1.40 m") == -1.4
    assert plain_minus(f"{MINUS}1.40 m") == "-1.40 m"


@pytest.fixture
def steep_bore(db) -> Bore:
    """A bore that enters steeper than its rig can, so that a sentence holds negative figures."""
    bore = small_job().bores.get()
    Bore.objects.filter(pk=bore.pk).update(entry_pitch_ratio_min=-0.02, entry_pitch_ratio_max=-0.01)
    bore.refresh_from_db()
    store_assessment(bore.pk)
    return bore


def test_a_page_has_the_minus_sign_and_its_document_a_hyphen(client, steep_bore):
    client.force_login(person_in_role("Foreman"))
    page = client.get(reverse("conflicts:bore", args=[steep_bore.pk])).content.decode()
    assert f"the rig can do {MINUS}2.0 % to {MINUS}1.0 %" in page
    answer = client.get(reverse("conflicts:assessment", args=[steep_bore.pk])).json()
    [profile] = [check["sentence"] for check in answer["checks"] if check["code"] == "profile"]
    assert "the rig can do -2.0 % to -1.0 %" in profile
    assert MINUS not in json.dumps(answer, ensure_ascii=False)


@pytest.mark.parametrize("form", ["text", "json"])
def test_the_command_writes_hyphens(steep_bore, form):
    written = StringIO()
    with pytest.raises(SystemExit):
        call_command("assess", steep_bore.job.name, steep_bore.name, format=form, stdout=written)
    words = " ".join(written.getvalue().split())
    assert "the rig can do -2.0 % to -1.0 %" in words
    assert MINUS not in words
