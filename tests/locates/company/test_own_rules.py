"""A company's own version of a rule, and its own days of a centre, count for its own jobs alone."""

import json
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from conflicts.exchange.whole_job import load_job
from conflicts.ground_changes import changes_since, last_event_id
from locates.desk.own_rule import keep_own_rule, return_to_shipped
from locates.desk.settle_dates import days_in_use, rule_in_use, work_out
from locates.models import CentreDay, DayReview, JurisdictionRule, RecordEvent, Ticket
from locates.one_call.clock import Call
from tests import factories
from tests.factories import person_in_role, seeded_rule
from tests.job_documents import job_bytes, job_document
from tests.one_call_clocks import SURE, clock_json, days, life
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

CALLED = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)
FIVE_DAYS = clock_json(notice=days(5, "calendar days"), life=life(10, "calendar days", "call"), renewal=SURE)
READ = {"citation": "Our Code 7", "checked_on": "2026-11-20", "certainty": "Read by two of us."}


@pytest.fixture
def ours():
    return factories.JobFactory(organisation=factories.OrganisationFactory(name="Quillmere Boring"))


@pytest.fixture
def theirs():
    return factories.JobFactory(organisation=factories.OrganisationFactory(name="Heronsfold Boring"))


def manager_of(client, job, role="Safety manager"):
    person = person_in_role(role, job.organisation)
    client.force_login(person)
    return person


def own_version(job, code="VA", **values):
    """An own version as a page would make it, with a counting that no shipped rule has."""
    shown = rule_in_use(job)
    made = factories.OwnRuleFactory.build(
        organisation=job.organisation, code=code, **{"clock": FIVE_DAYS, **values}
    )
    return keep_own_rule(made, by=factories.PersonFactory(), shown_id=shown.pk)


def make(client, code="VA", **typed):
    address = reverse("locates:rule-own", args=[code])
    return client.post(address, {**form_of(client, address), **READ, **typed}, follow=True)


def starts(job):
    call = Call(kind="routine", called_at=CALLED, time_zone=job.time_zone, start_at=None)
    return work_out(rule_in_use(job), call, own_days=days_in_use(job))["legal_start_at"]["at"]


def dated(job, number, rule=None):
    return factories.TicketFactory(
        job=job, number=number, dates_rule=rule or rule_in_use(job), expires_at=timezone.now() + timedelta(9)
    )


def to_review():
    return set(Ticket.objects.to_review(timezone.now()).values_list("number", flat=True))


def test_a_safety_manager_makes_an_own_version_and_nobody_else_s_dates_move(client, ours, theirs):
    before = starts(theirs)
    dated(ours, "OURS-1")
    dated(theirs, "THEIRS-1")
    manager_of(client, ours)
    page = make(client, tolerance_zone_m="30 in", clock=json.dumps(FIVE_DAYS))
    own = JurisdictionRule.objects.get(organisation=ours.organisation)
    assert (own.version, own.code, own.citation) == (1, "VA", "Our Code 7")
    assert own.tolerance_zone_m == pytest.approx(0.762)
    assert "the one that it goes by" in page.content.decode()
    assert (rule_in_use(ours), rule_in_use(theirs)) == (own, seeded_rule())
    assert starts(theirs) == before != starts(ours)
    assert to_review() == {"OURS-1"}
    assert seeded_rule().citation != "Our Code 7"


def test_what_the_form_shows_is_kept_to_the_last_digit_where_nobody_changes_it(client, ours):
    manager_of(client, ours)
    make(client)
    shipped, own = seeded_rule(), rule_in_use(ours)
    same = (
        "tolerance_zone_m", "tolerance_is_sure", "clock", "boring_must_be_declared", "renewal_rule",
        "every_line_must_be_exposed", "checks_never_waived", "never_waived_because", "notice_count_rule",
    )  # fmt: skip
    assert [getattr(own, name) for name in same] == [getattr(shipped, name) for name in same]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"citation": " "}, "This field is required"),
        ({"certainty": ""}, "This field is required"),
        ({"checked_on": ""}, "This field is required"),
        ({"tolerance_zone_m": "wide"}, "wide"),
        ({"tolerance_zone_m": "-2 ft"}, "tolerance_zone_m"),
        ({"clock": "{"}, "valid JSON"),
        ({"clock": '{"notice": 3}'}, "notice"),
        ({"readings_agree": "no", "tolerance_is_sure": "yes"}, "two readings agree"),
    ],
)
def test_an_own_version_that_cannot_be_is_refused_and_nothing_typed_is_lost(client, ours, typed, words):
    manager_of(client, ours)
    text = make(client, trenchless_rule="As the yard reads it.", **typed).content.decode()
    assert "Nothing is saved yet" in text
    assert words in text
    assert "As the yard reads it." in text
    assert not JurisdictionRule.objects.exclude(organisation=None).exists()


def test_who_signs_variances_does_not_say_what_nobody_may_waive(client, ours):
    manager_of(client, ours)
    make(client, checks_never_waived="", never_waived_because="Nobody minds.")
    shipped, own = seeded_rule(), rule_in_use(ours)
    assert own.organisation == ours.organisation
    assert own.checks_never_waived == shipped.checks_never_waived != []
    assert own.never_waived_because == shipped.never_waived_because


def test_one_sent_twice_is_stored_once_and_a_second_is_the_next_version(client, ours):
    manager_of(client, ours)
    address = reverse("locates:rule-own", args=["VA"])
    sent = {**form_of(client, address), **READ}
    for _ in range(2):
        assert client.post(address, sent).status_code == 302
    assert rule_in_use(ours).version == 1
    make(client)
    assert rule_in_use(ours).version == 2
    assert JurisdictionRule.objects.filter(organisation=ours.organisation).count() == 2


@pytest.mark.parametrize("shown", [None, "", "x", str(uuid4())])
def test_a_form_that_shows_what_no_longer_counts_saves_nothing(client, ours, shown):
    manager_of(client, ours)
    address = reverse("locates:rule-own", args=["VA"])
    sent = {**form_of(client, address), **READ, "shown": shown}
    text = client.post(
        address, {key: value for key, value in sent.items() if value is not None}
    ).content.decode()
    assert "The page does not show what counts now" in text
    assert "Our Code 7" in text
    assert not JurisdictionRule.objects.exclude(organisation=None).exists()


def test_two_who_write_at_once_do_not_write_over_each_other_unseen(client, ours):
    manager_of(client, ours)
    address = reverse("locates:rule-own", args=["VA"])
    first, second = form_of(client, address), form_of(client, address)
    client.post(address, {**first, **READ})
    text = client.post(address, {**second, **READ, "citation": "Our Code 8"}).content.decode()
    assert "VA own version 1: look at that first" in text
    assert rule_in_use(ours).citation == "Our Code 7"


def test_a_company_goes_back_to_the_shipped_rule_and_its_own_stay_to_be_read(client, ours, theirs):
    own, other = own_version(ours), own_version(theirs)
    ticket = dated(ours, "OURS-1")
    manager_of(client, ours)
    address = reverse("locates:rule-shipped", args=["VA"])
    assert (
        "look at that first" in client.post(address, {"shown": str(other.pk)}, follow=True).content.decode()
    )
    assert rule_in_use(ours) == own
    for _ in range(2):
        page = client.post(address, {"shown": str(own.pk)}, follow=True).content.decode()
        assert "goes by the shipped rule again: VA version" in page
    assert rule_in_use(ours).organisation is None
    assert rule_in_use(theirs) == other
    assert to_review() == {ticket.number}
    assert "given up" in client.get(reverse("locates:rule", args=[own.pk])).content.decode()
    assert own_version(ours).version == 2


@pytest.mark.parametrize("role", ["Coordinator", "Foreman"])
def test_no_other_role_makes_one_or_gives_one_up(client, ours, role):
    own = own_version(ours)
    manager_of(client, ours, role)
    assert client.get(reverse("locates:rule-own", args=["VA"])).status_code == 403
    assert client.post(reverse("locates:rule-own", args=["VA"]), READ).status_code == 403
    answer = client.post(reverse("locates:rule-shipped", args=["VA"]), {"shown": str(own.pk)})
    assert answer.status_code == 403
    assert rule_in_use(ours) == own
    page = client.get(reverse("locates:rule", args=[own.pk])).content.decode()
    assert "Go back to the shipped rule" not in page


def test_the_own_rule_of_another_company_is_nowhere(client, ours, theirs):
    own = own_version(theirs, citation="Heronsfold Code 3")
    manager_of(client, ours)
    assert client.get(reverse("locates:rule", args=[own.pk])).status_code == 404
    for page in (reverse("locates:rules"), reverse("locates:rule", args=[seeded_rule().pk])):
        text = client.get(page).content.decode()
        assert "Heronsfold" not in text
        assert str(own.pk) not in text
    address = reverse("locates:job-edit", args=[ours.pk])
    manager_of(client, ours, "Coordinator")
    sent = {**form_of(client, address), "jurisdiction": str(own.pk)}
    assert "jurisdiction" in client.post(address, sent).context["form"].errors
    ours.jurisdiction = own
    with pytest.raises(ValidationError, match="own company"):
        ours.full_clean()


def test_a_person_of_no_company_makes_none(client):
    client.force_login(person_in_role("Safety manager", membership=None))
    assert client.get(reverse("locates:rule-own", args=["VA"])).status_code == 403
    assert client.post(reverse("locates:centre-days", args=["VA"]), {}).status_code == 403


def test_the_own_version_is_offered_to_new_jobs_and_told_apart(client, ours, theirs):
    own = own_version(ours)
    manager_of(client, ours, "Coordinator")
    text = client.get(reverse("locates:job-add")).content.decode()
    assert f'value="{own.pk}"' in text
    assert "VA, own version: tolerance zone" in text
    assert f'value="{seeded_rule().pk}"' not in text
    assert "own version" in client.get(reverse("locates:rules")).content.decode()
    manager_of(client, theirs, "Coordinator")
    assert "own version:" not in client.get(reverse("locates:job-add")).content.decode()


def test_a_release_rests_on_its_own_rule_and_on_no_other_company_s(ours, theirs):
    bore = factories.BoreFactory(job=ours)
    known = last_event_id()
    own_version(theirs)
    return_to_shipped(
        "VA", theirs.organisation_id, by=factories.PersonFactory(), shown_id=rule_in_use(theirs).pk
    )
    assert changes_since(bore, known) == []
    own = own_version(ours)
    assert changes_since(bore, known) == []
    ours.jurisdiction = own
    ours.save()
    assert "the job" in {one.what for one in changes_since(bore, known)}
    known = last_event_id()
    bore.refresh_from_db()
    JurisdictionRule.objects.filter(pk=own.pk).update(sewer_camera_required=True)
    assert [one.what for one in changes_since(bore, known)] == ["the rule"]


def test_a_job_file_takes_the_company_s_own_version_first(ours):
    own = own_version(ours)
    document = job_document()
    document["job"] |= {"organisation": ours.organisation.name, "name": "Third Street", "jurisdiction": "VA"}
    assert load_job(job_bytes(document)).jurisdiction == own
    document["job"] |= {"organisation": "Heronsfold Boring", "name": "Third Street"}
    assert load_job(job_bytes(document)).jurisdiction == seeded_rule()


def test_the_command_works_out_by_a_company_s_own_version_and_days(capsys, ours, theirs):
    own_version(ours)
    factories.CentreDayFactory(organisation=theirs.organisation, code="VA", day="2026-11-25")

    def told(*more):
        call_command("ticket_dates", "VA", "--called", CALLED.isoformat(), "--format", "json", *more)
        return capsys.readouterr().out

    shipped = told()
    assert '"organisation": null' in shipped
    own = told("--organisation", "Quillmere Boring")
    assert '"organisation": "Quillmere Boring"' in own
    assert len({shipped, own, told("--organisation", "Heronsfold Boring")}) == 3
    with pytest.raises(CommandError, match="--organisation: found 'Nobody'"):
        told("--organisation", "Nobody")


def day_of(job, **values):
    sent = {"day": "2026-11-25", "counts": "no", "words": "told on the telephone", **values}
    return sent | {"organisation": str(job.organisation_id)}


def test_a_company_s_own_day_dates_its_own_tickets_alone(client, ours, theirs):
    before = starts(theirs)
    for job in (ours, theirs):
        call = Call(kind="routine", called_at=CALLED, time_zone=job.time_zone, start_at=None)
        worked = work_out(seeded_rule(), call, own_days=())
        factories.TicketFactory(
            job=job, called_at=CALLED, dates_rule=seeded_rule(), computed_dates=worked, legal_start_at=CALLED,
            expires_at=datetime(2099, 1, 1, tzinfo=UTC),
        )  # fmt: skip
    manager_of(client, ours, "Coordinator")
    address = reverse("locates:centre-days", args=["VA"])
    assert client.post(address, day_of(theirs)).status_code == 302
    assert CentreDay.objects.get().organisation == ours.organisation
    assert starts(theirs) == before != starts(ours)
    assert [one.ticket.job for one in DayReview.objects.all()] == [ours]
    manager_of(client, theirs, "Coordinator")
    assert "told on the telephone" not in client.get(address).content.decode()
    retire = reverse("locates:centre-day-retire", args=[CentreDay.objects.get().pk])
    assert client.post(retire).status_code == 404
    # They may say something else of the same day.
    assert client.post(address, day_of(theirs, counts="yes")).status_code == 302
    assert CentreDay.objects.count() == 2


def test_a_day_that_all_count_by_is_no_company_s_to_retire_and_gives_way_to_its_own(client, ours):
    shared = factories.CentreDayFactory(code="VA", day="2026-11-25", is_working=False)
    assert [one.is_working for one in days_in_use(ours)] == [False]
    manager_of(client, ours, "Coordinator")
    page = client.post(reverse("locates:centre-day-retire", args=[shared.pk]), follow=True).content.decode()
    assert "Nothing is retired: all companies count by that day" in page
    shared.refresh_from_db()
    assert shared.retired_at is None
    address = reverse("locates:centre-days", args=["VA"])
    assert client.post(address, day_of(ours, counts="yes")).status_code == 302
    assert [(one.day, one.is_working) for one in days_in_use(ours)] == [(date(2026, 11, 25), True)]


def test_a_shipped_rule_is_changed_by_no_role_in_the_admin(client, ours):
    for role in ("Safety manager", "Coordinator", "Foreman"):
        manager_of(client, ours, role)
        address = reverse("admin:locates_jurisdictionrule_change", args=[seeded_rule().pk])
        assert client.get(address).status_code == 200
        assert client.post(address, {"tolerance_zone_m": "9"}).status_code == 403
        assert client.get(reverse("admin:locates_jurisdictionrule_add")).status_code == 403
    assert seeded_rule().tolerance_zone_m != 9


def test_an_own_version_is_in_the_record_of_changes_with_who_made_it(client, ours):
    person = manager_of(client, ours)
    make(client)
    own = rule_in_use(ours)
    [event] = RecordEvent.objects.filter(record_id=own.pk)
    assert (event.action, event.person_id) == ("insert", person.pk)
    assert event.after["organisation_id"] == str(ours.organisation_id)


def test_a_shipped_rule_checked_after_the_own_one_is_told(client, ours):
    own = own_version(ours, checked_on="2020-01-01")
    manager_of(client, ours)
    address = reverse("locates:rule", args=[own.pk])
    assert "was checked after your own" in client.get(address).content.decode()
