"""The command that prints a ticket's dates, and the page that says how a rule counts them."""

import json
from datetime import datetime
from io import StringIO

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.urls import reverse

from locates.models import JurisdictionRule
from locates.one_call.dates_document import TITLES
from tests.factories import JurisdictionRuleFactory, person_in_role, seeded_rule
from tests.one_call_clocks import SURE, UNSURE, clock_json, life

pytestmark = pytest.mark.django_db


@pytest.fixture
def invented():
    clock = clock_json(life=life(28, "calendar days", "call"))
    return JurisdictionRuleFactory(code="ZZ", clock=clock)


def run(*words: str) -> str:
    out = StringIO()
    call_command("ticket_dates", *words, stdout=out)
    return out.getvalue()


def test_json_has_every_date_null_where_the_rule_does_not_say_and_the_working_of_each(invented):
    zone = "America/New_York"
    document = json.loads(
        run("ZZ", "--called", "2026-09-03 2:10 pm", "--time-zone", zone, "--format", "json")
    )
    assert document["legal_start_at"] == "2026-09-09T00:00:00-04:00"
    assert document["expires_at"] == "2026-10-01T23:59:00-04:00"
    assert [document[name] for name in ("response_due_at", "latest_start_at", "renew_by")] == [None] * 3
    assert list(document["working"]) == list(TITLES)
    assert all(document["working"].values())
    assert document["silence"]["policy"] == "wait"
    assert (document["rule"], document["version"], document["kind"]) == ("ZZ", 1, "routine")


# Tex. Util. Code 251.151(b), as it is seeded: Tuesday 11:59, Wednesday where Monday is a holiday (Labor Day).
@pytest.mark.parametrize(
    ("called", "start"),
    [
        ("2026-09-12T10:00:00-05:00", "2026-09-15T11:59:00-05:00"),
        ("2026-09-05T10:00:00-05:00", "2026-09-09T11:59:00-05:00"),
        ("2026-09-05 10:00", "2026-09-09T11:59:00-05:00"),
        ("2026-09-05T15:00:00Z", "2026-09-09T11:59:00-05:00"),
    ],
)
def test_the_seeded_saturday_rule(called, start):
    assert json.loads(run("tx", "--called", called, "--format", "json"))["legal_start_at"] == start


# Va. Code 56-265.17, as it is seeded: Thanksgiving and the day after it come before the period begins, at
# 07:00, and 15 working days from then end at 07:00 of Mon Dec 21; a renewal is called 3 of them before.
def test_the_seeded_rule_of_virginia_names_the_holidays_and_the_hour_of_the_end():
    shown = run("VA", "--called", "2026-11-25 2:10 pm")
    assert "Mon Nov 30 (Thu Nov 26 is Thanksgiving Day, Fri Nov 27 is Day After Thanksgiving)" in shown
    assert "as it was read, it would be Mon Dec 21, 2026, 7:00 am EST" in shown
    assert "as it was read, it would be Wed Dec 16, 2026, 7:00 am EST" in shown


def test_text_shows_each_date_with_its_sentence_and_that_it_is_no_legal_advice(invented):
    shown = run("ZZ", "--called", "2026-09-03T14:10", "--time-zone", "America/New_York")
    assert "Legal start:  Wed Sep 9, 2026, 12:00 am EDT\n    Called Thu Sep 3" in shown
    assert "Renew by:     not known\n    Not computed" in shown
    assert "Not legal advice" in shown
    assert "last checked 2026-11-01" in shown


def test_the_law_names_its_zone_and_the_option_that_of_the_job():
    zone = {"name": "America/Indiana/Indianapolis", **SURE}
    JurisdictionRuleFactory(code="ZZ", clock=clock_json(zone=zone))
    shown = run("ZZ", "--called", "2026-09-03T14:10", "--time-zone", "America/Chicago")
    assert "times of America/Chicago" in shown
    assert "the law counts in America/Indiana/Indianapolis time" in shown


def test_the_newest_version_is_taken_unless_another_is_named(invented):
    newer = clock_json(life=life(10, "calendar days", "call"))
    JurisdictionRuleFactory(code="ZZ", version=2, clock=newer)
    words = ("--called", "2026-09-03T14:10-04:00", "--time-zone", "America/New_York", "--format", "json")
    assert json.loads(run("ZZ", *words))["expires_at"][:10] == "2026-09-13"
    assert json.loads(run("ZZ:1", *words))["expires_at"][:10] == "2026-10-01"


def test_a_start_stated_goes_into_the_dates(invented):
    words = (
        "--called",
        "2026-09-03T14:10",
        "--start",
        "2026-09-21 7:00 am",
        "--time-zone",
        "America/New_York",
    )
    assert "Legal start:  Mon Sep 21, 2026, 7:00 am EDT" in run("ZZ", *words)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("QQ", "--called", "2026-09-03T14:10"), "RULE: found 'QQ'; accepted is one of AL, AZ, CA"),
        (("VA:7", "--called", "2026-09-03T14:10"), "RULE: found 'VA:7'"),
        (("VA:x", "--called", "2026-09-03T14:10"), "RULE: found 'VA:x'"),
        (("VA", "--called", "yesterday"), "--called: found 'yesterday'"),
        (
            ("VA", "--called", "2026-09-03"),
            "accepted is a moment with its offset, such as 2026-11-25T14:10:00-05:00",
        ),
        (("VA", "--called", "2026-03-08 02:30"), "the clocks go forward"),
        (("VA", "--called", "2026-11-01 01:30"), "comes twice"),
        (("VA", "--called", "9999-12-31T23:59:59Z"), "of the years 1900 to 2200"),
        (("VA", "--called", "2026-09-03T14:10", "--start", "soon"), "--start: found 'soon'"),
        (("VA", "--called", "2026-09-03T14:10", "--start", "2026-09-03T14:09"), "not before --called"),
        (("VA", "--called", "2026-09-03T14:10", "--time-zone", "Mars/Phobos"), "an IANA name"),
        (("VA", "--called", "2026-09-03T14:10", "--kind", "odd"), "invalid choice: 'odd'"),
        (("VA",), "--called"),
    ],
)
def test_bad_input_names_what_is_accepted(words, says):
    with pytest.raises(CommandError) as caught:
        run(*words)
    assert says in str(caught.value)


def test_a_jurisdiction_without_a_known_zone_asks_for_it(invented):
    with pytest.raises(CommandError, match="--time-zone: found nothing"):
        run("ZZ", "--called", "2026-09-03T14:10")


def test_a_version_without_a_clock_gives_no_date_and_says_so():
    JurisdictionRuleFactory(code="VA", version=2)
    document = json.loads(run("VA", "--called", "2026-09-03T14:10", "--format", "json"))
    assert {document[name] for name in TITLES} == {None}
    assert "was not read for version 2" in document["working"]["legal_start_at"]


def test_every_seeded_rule_has_the_clock_that_the_program_ships_and_passes_its_own_validation():
    seeded = list(JurisdictionRule.objects.all())
    assert len(seeded) == 32
    for rule in seeded:
        assert rule.clock["working_days"]
        rule.full_clean()


def test_a_clock_that_cannot_be_read_is_no_rule():
    rule = seeded_rule()
    rule.clock["notice"]["term"]["unit"] = "fortnights"
    with pytest.raises(ValidationError) as caught:
        rule.full_clean()
    assert "notice.term.unit: found 'fortnights'" in caught.value.message_dict["clock"][0]


def test_the_rules_page_says_how_it_counts_with_citation_and_how_sure(client):
    client.force_login(person_in_role("Foreman"))
    clock = clock_json(life=life(28, "calendar days", "call") | UNSURE)
    shown = client.get(
        reverse("locates:rule", args=[JurisdictionRuleFactory(clock=clock).id])
    ).content.decode()
    assert "How the dates of a ticket are counted" in shown
    assert "2 full business days after the day of the call, to 12:00 am of the day after the last." in shown
    assert "Invented Code 1" in shown
    assert "Not certain: two readings differ" in shown
    assert "Not read: the desk asks for the date." in shown
    assert "Not legal advice" in shown


def test_the_page_of_a_version_without_a_clock_says_that_the_desk_asks(client):
    client.force_login(person_in_role("Foreman"))
    shown = client.get(reverse("locates:rule", args=[JurisdictionRuleFactory().id])).content.decode()
    assert "Not read for this version" in shown


def test_every_seeded_rules_page_is_shown(client):
    client.force_login(person_in_role("Foreman"))
    for rule in JurisdictionRule.objects.all():
        response = client.get(reverse("locates:rule", args=[rule.id]))
        assert response.status_code == 200
        assert "As read" in response.content.decode()


def test_moments_are_printed_with_the_offset_of_the_zone(invented):
    words = ("--called", "2026-10-30T14:10", "--time-zone", "America/New_York", "--format", "json")
    start = datetime.fromisoformat(json.loads(run("ZZ", *words))["legal_start_at"])
    assert start.isoformat() == "2026-11-04T00:00:00-05:00"
