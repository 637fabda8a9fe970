"""Many tickets from one CSV file: looked over, dated by the rule of today, stored all or none."""

import csv
import io
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from locates import changes
from locates.desk.settle_dates import rule_in_use, work_out
from locates.models import Follow, Response, Ticket
from locates.models.bounds import orders_of
from locates.one_call.clock import Call
from locates.ticket_dates import DATES, computed_at
from tests import factories
from tests.bulk_files import AREA, area_at, lines_of, tickets_csv, to_the_check

pytestmark = pytest.mark.django_db

FULL = {
    "number": "A-7",
    "kind": "re-mark",
    "called by": "R. Pell",
    "called at": "2026-11-02 8:00 am",
    "wanted start": "2026-11-09 07:00",
    "white lined": "yes",
    "boring declared": "no",
    "depth": "6 ft",
    "method": "horizontal directional drilling",
    "previous number": "A-1",
    "operators": "brindle  gas; Tallow Power",
    "work area": AREA,
}


@pytest.fixture
def job():
    job = factories.JobFactory()
    factories.FacilityOperatorFactory(job=job, name="Brindle Gas")
    factories.FacilityOperatorFactory(job=job, name="Tallow Power")
    return job


@pytest.fixture
def coordinator(client):
    person = factories.person_in_role("Coordinator")
    client.force_login(person)
    return person


def test_what_the_rows_say_is_what_the_tickets_say(client, coordinator, job):
    check = to_the_check(client, job, "ticket", tickets_csv({}, FULL))
    page = client.get(check).content.decode()
    assert "2 tickets would be stored" in page
    assert "Mon Nov 2, 2026, 8:00 am EST" in page
    assert not Ticket.objects.exists()
    result = client.post(check)
    assert "Stored: 2 tickets" in client.get(result.url).content.decode()

    ticket = Ticket.objects.get(number="A-7")
    assert (ticket.job, ticket.ticket_kind, ticket.called_by) == (job, "re_mark", "R. Pell")
    assert ticket.called_at == datetime(2026, 11, 2, 13, tzinfo=UTC)
    assert ticket.wanted_start_at == datetime(2026, 11, 9, 12, tzinfo=UTC)
    assert (ticket.white_lined, ticket.boring_declared) == (True, False)
    assert ticket.stated_depth_m == pytest.approx(6 * 0.3048, abs=1e-12)
    assert ticket.stated_method == "horizontal directional drilling"
    assert ticket.previous_number == "A-1"
    assert ticket.area.num_geom == 1
    assert ticket.area.coords[0][0][0] == (-78.5003, 38.0001)
    assert ticket.edited_by == coordinator
    answers = ticket.responses.order_by("sequence")
    assert [(one.operator.name, one.response) for one in answers] == [
        ("Brindle Gas", "awaiting"),
        ("Tallow Power", "awaiting"),
    ]
    plain = Ticket.objects.get(number="A-1")
    assert (plain.white_lined, plain.boring_declared, plain.stated_depth_m) == (None, None, None)
    assert set(Follow.objects.values_list("person", "ticket__number")) == {
        (coordinator.pk, "A-1"),
        (coordinator.pk, "A-7"),
    }


def test_the_dates_are_those_that_the_form_would_take(client, coordinator, job):
    client.post(to_the_check(client, job, "ticket", tickets_csv()))
    ticket = Ticket.objects.get()
    rule = rule_in_use(job)
    call = Call(kind="routine", called_at=ticket.called_at, time_zone=job.time_zone)
    worked = work_out(rule, call, own_days=())
    assert any(computed_at(worked, name) for name in DATES)
    assert (ticket.dates_rule, ticket.computed_dates) == (rule, worked)
    assert {name: getattr(ticket, name) for name in DATES} == {
        name: computed_at(worked, name) for name in DATES
    }


def test_the_preview_says_of_each_date_where_it_comes_from(client, coordinator, job):
    reason = {"legal start": "2026-11-09 07:00", "reason for other dates": "the centre said so"}
    page = client.get(to_the_check(client, job, "ticket", tickets_csv(reason))).content.decode()
    assert "Mon Nov 9, 2026, 7:00 am EST<small>from the file; worked out was Fri Nov 6, 2026" in page
    plain = client.get(to_the_check(client, job, "ticket", tickets_csv())).content.decode()
    assert "Fri Nov 6, 2026, 7:00 am EST<small>worked out</small>" in plain
    assert "How the dates of A-1 were worked out" in page


def test_another_date_than_worked_out_needs_its_reason(client, coordinator, job):
    # Virginia's rule gives Nov 6, 7:00 am (Va. Code 56-265.17), and no expiry that is sure.
    typed = {"legal start": "2026-11-09 07:00", "expiry": "2026-11-24 07:00"}
    check = to_the_check(client, job, "ticket", tickets_csv(typed))
    (line,) = lines_of(client, check)
    assert line.startswith("row 2, column legal start: found Mon Nov 9, 2026, 7:00 am EST; accepted: ")
    assert "Fri Nov 6, 2026, 7:00 am EST, which the rule gives, or nothing, or the reason" in line
    with_reason = {**typed, "reason for other dates": "the centre said so"}
    client.post(to_the_check(client, job, "ticket", tickets_csv(with_reason)))
    ticket = Ticket.objects.get()
    assert ticket.legal_start_at == datetime(2026, 11, 9, 12, tzinfo=UTC)
    assert ticket.expires_at == datetime(2026, 11, 24, 12, tzinfo=UTC)
    assert ticket.override_reason == "the centre said so"
    assert computed_at(ticket.computed_dates, "legal_start_at") == datetime(2026, 11, 6, 12, tzinfo=UTC)


def test_a_date_typed_as_the_rule_gives_it_needs_no_reason(client, coordinator, job):
    client.post(to_the_check(client, job, "ticket", tickets_csv({"legal start": "2026-11-06 7:00 am"})))
    assert Ticket.objects.get().legal_start_at == datetime(2026, 11, 6, 12, tzinfo=UTC)


def test_an_expiry_before_the_legal_start_is_told_with_both(client, coordinator, job):
    (line,) = lines_of(
        client, to_the_check(client, job, "ticket", tickets_csv({"expiry": "2026-11-05 07:00"}))
    )
    assert line == (
        "row 2, column expiry: found Thu Nov 5, 2026, 7:00 am EST; "
        "accepted: a time after the legal start, Fri Nov 6, 2026, 7:00 am EST"
    )


def test_a_call_that_is_still_to_come_is_refused_with_its_row_and_nothing_is_stored(client, coordinator, job):
    check = to_the_check(
        client, job, "ticket", tickets_csv({}, {"number": "A-2", "called at": "2099-03-02 08:00"})
    )
    (line,) = lines_of(client, check)
    assert line.startswith(
        "row 3, column called at: found Mon Mar 2, 2099, 8:00 am EST, which is to come; accepted: the time "
        "at which the ticket was called in, not later than now, "
    )
    client.post(check)
    assert not Ticket.objects.exists()


def test_the_page_of_the_file_names_the_version_of_the_rule_that_dates_the_tickets(client, coordinator):
    first = factories.JurisdictionRuleFactory()
    job = factories.JobFactory(jurisdiction=first)
    newer = factories.JurisdictionRuleFactory(code=first.code, version=first.version + 1)
    assert str(newer) != str(first)
    page = client.get(reverse("locates:bulk", args=[job.pk])).content.decode()
    assert f"by the rule of {newer} where" in page
    client.post(to_the_check(client, job, "ticket", tickets_csv()))
    assert Ticket.objects.get().dates_rule == newer


def test_dates_that_nobody_knows_are_told_and_stay_unknown(client, coordinator):
    job = factories.JobFactory(jurisdiction=factories.JurisdictionRuleFactory())
    check = to_the_check(client, job, "ticket", tickets_csv())
    page = client.get(check).content.decode()
    assert "1 of them would have no legal start or no expiry: it is not in force" in page
    client.post(check)
    ticket = Ticket.objects.get()
    assert (ticket.legal_start_at, ticket.expires_at) == (None, None)


FAULTS = [
    ({"number": ""}, "number: found nothing"),
    ({"number": "N" * 201}, "number: found 201 characters; accepted: at most 200"),
    ({"number": '=HYPERLINK("x")'}, "which a spreadsheet takes for a formula"),
    ({"called by": "@SUM(A1)"}, "column called by: found"),
    ({"method": "bo\x07re"}, "characters that cannot be read"),
    (
        {"kind": "urgent"},
        'kind: found "urgent"; accepted: routine, emergency, renewal, re-mark, site meeting',
    ),
    ({"called at": ""}, "called at: found nothing; accepted: a day and a time"),
    ({"called at": "soon"}, 'found "soon"; accepted: a day and a time'),
    ({"called at": "2026-11-02"}, "a day without a time; accepted: a day and a time"),
    ({"called at": "2026-02-30 08:00"}, "a day that there is"),
    ({"called at": "2026-11-01 01:30"}, "do not pass twice"),
    ({"called at": "2026-03-08 02:30"}, "do not skip"),
    ({"white lined": "perhaps"}, 'white lined: found "perhaps"; accepted: yes or no'),
    ({"depth": "-1 m"}, "depth: found"),
    ({"depth": "deep"}, 'depth: found "deep"'),
    ({"previous number": "A-1"}, "previous number: found the ticket's own number"),
    ({"operators": "Brindle Gas; Nobody Water"}, 'found "Nobody Water"; accepted: an operator of the job'),
    ({"work area": ""}, "work area: found nothing"),
    ({"work area": "38.0 -78.5; 38.1 -78.5"}, "an area of 2 corners"),
    ({"work area": "-78.5 38.0; -78.4 38.0; -78.4 38.1"}, "which looks like a longitude"),
    ({"work area": "38 -78.5; 38.001 -78.499; 38.001 -78.5; 38 -78.499"}, "crosses itself"),
    ({"work area": "POINT (-78.5 38)"}, "found a Point"),
    ({"work area": "POLYGON EMPTY"}, "found an empty Polygon"),
    ({"work area": "POLYGON ((-78.5 38, -78.4"}, "well-known text such as POLYGON"),
    ({"work area": "POLYGON ((-78.5 nan, -78.4 38, -78.4 38.1, -78.5 nan))"}, "work area: found"),
    ({"wanted start": "2026-11-01 08:00"}, "wanted start: found Sun Nov 1, 2026"),
]


@pytest.mark.parametrize(("row", "told"), FAULTS)
def test_a_fault_is_told_by_row_column_found_and_accepted_and_nothing_is_stored(
    client, coordinator, job, row, told
):
    sound = {"number": "B-1"}
    check = to_the_check(client, job, "ticket", tickets_csv(sound, row))
    lines = lines_of(client, check)
    assert any(line.startswith("row 3, column ") and told in line for line in lines), lines
    assert "Store 2" not in client.get(check).content.decode()
    refused = client.post(check)
    assert (refused.status_code, refused.context["lines"]) == (200, lines)
    assert not Ticket.objects.exists()


def test_a_number_twice_in_the_file_names_the_first_row(client, coordinator, job):
    (line,) = lines_of(client, to_the_check(client, job, "ticket", tickets_csv({}, {"number": "B"}, {})))
    assert line == "row 4, column number: found A-1, as in row 2; accepted: each number once"


def test_the_first_faults_are_listed_and_the_rest_counted(client, coordinator, job):
    rows = [{"number": f"A-{row}", "kind": "urgent", "called at": "soon"} for row in range(30)]
    lines = lines_of(client, to_the_check(client, job, "ticket", tickets_csv(*rows)))
    assert (len(lines), lines[-1]) == (21, "and 40 more errors")
    assert lines[2].startswith("row 3, column kind")


def test_a_row_far_from_the_job_is_named(client, coordinator, job):
    factories.TicketFactory(job=job)
    away = {"number": "B", "work area": "41.0 -88.5; 41.0 -88.4; 41.1 -88.4"}
    (line,) = lines_of(client, to_the_check(client, job, "ticket", tickets_csv({}, away)))
    assert line.startswith("row 3, column work area: found an area far away")


def test_the_same_file_again_stores_nothing_twice_and_says_so(client, coordinator, job):
    client.post(to_the_check(client, job, "ticket", tickets_csv({}, FULL)))
    again = to_the_check(client, job, "ticket", tickets_csv({}, FULL))
    lines = lines_of(client, again)
    assert [line.split(";")[0] for line in lines] == [
        "row 2, column number: found A-1, which is logged already",
        "row 3, column number: found A-7, which is logged already",
    ]
    client.post(again)
    assert (Ticket.objects.count(), Response.objects.count()) == (2, 2)


def test_the_change_is_told_once_however_many_the_rows(client, coordinator, job, monkeypatch):
    heard = []
    check = to_the_check(client, job, "ticket", tickets_csv({}, FULL))
    monkeypatch.setattr(changes, "_handlers", [heard.append])
    client.post(check)
    assert heard == [job.pk]


def test_asked_twice_to_store_it_stores_once(client, coordinator, job):
    check = to_the_check(client, job, "ticket", tickets_csv())
    assert client.post(check).url == client.post(check).url
    assert Ticket.objects.count() == 1


def test_who_follows_the_ticket_before_follows_the_renewal(client, coordinator, job):
    before = factories.TicketFactory(job=job, number="OLD-1")
    follow = factories.FollowFactory(ticket=before)
    client.post(to_the_check(client, job, "ticket", tickets_csv({"previous number": "OLD-1"})))
    assert Follow.objects.filter(ticket__number="A-1", person=follow.person).exists()


def test_well_known_text_and_two_areas_in_one_cell(client, coordinator, job):
    rows = [
        {"work area": f"{area_at(0)};; {area_at(40)}"},
        {
            "number": "A-2",
            "work area": "MULTIPOLYGON (((-78.5 38, -78.499 38, -78.499 38.001, -78.5 38)))",
        },
    ]
    client.post(to_the_check(client, job, "ticket", tickets_csv(*rows)))
    assert {ticket.number: ticket.area.num_geom for ticket in Ticket.objects.all()} == {"A-1": 2, "A-2": 1}


def test_dates_written_with_slashes_are_asked_about_and_read_as_chosen(client, coordinator, job):
    upload = tickets_csv({"called at": "11/02/2026 8:00 AM"})
    address = reverse("locates:bulk", args=[job.pk])
    columns = client.post(address, {"kind": "ticket", "file": upload}).url
    page = client.get(columns)
    assert "Is 11/02/2026 8:00 AM month first or day first?" in page.content.decode()
    sent = {field.html_name: field.value() or "" for field in page.context["form"]}
    refused = client.post(columns, sent)
    assert "date_order" in refused.context["form"].errors
    check = client.post(columns, {**sent, "date_order": "mdy"}).url
    client.post(check)
    assert Ticket.objects.get().called_at == datetime(2026, 11, 2, 13, tzinfo=UTC)


def test_the_empty_file_has_the_headings_that_are_recognised(client, coordinator, job):
    response = client.get(reverse("locates:bulk-empty", args=["ticket"]))
    assert response["Content-Disposition"] == 'attachment; filename="tickets.csv"'
    (headings,) = csv.reader(io.StringIO(response.content.decode()))
    address = reverse("locates:bulk", args=[job.pk])
    columns = client.post(address, {"kind": "ticket", "file": tickets_csv()}).url
    form = client.get(columns).context["form"]
    guessed = [form[f"{one.name}-from"].value() for one in form.kind.fields]
    assert guessed == [f"column:{heading}" for heading in headings]


def test_more_rows_cost_no_more_questions(client, coordinator, job):
    def asked(first, count):
        rows = [{**FULL, "number": f"Q-{first + row}"} for row in range(count)]
        check = to_the_check(client, job, "ticket", tickets_csv(*rows))
        with CaptureQueriesContext(
            connection,
        ) as checked:
            client.get(check)
        with CaptureQueriesContext(connection) as stored:
            client.post(check)
        assert Ticket.objects.filter(number=f"Q-{first + count - 1}").exists()
        return len(checked), len(stored)

    asked(0, 1)
    assert asked(100, 3) == asked(200, 60)


def test_the_orders_that_rows_are_held_to_are_all_of_the_database(db):
    named = [
        one.name for one in Ticket._meta.constraints if "_not_after_" in one.name or "_before_" in one.name
    ]
    assert len(orders_of(Ticket)) == len(named) >= 10
    assert ("called_at", "expires_at", False) in orders_of(Ticket)
    assert ("called_at", "legal_start_at", True) in orders_of(Ticket)
