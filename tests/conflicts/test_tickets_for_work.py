"""A ticket whose work is said to be over, or that only asks for a site meeting, covers no bore."""

import pytest

from conflicts.assess import assess, compute_bores
from conflicts.coverage_sheet import coverage_sheet
from locates.models import Ticket
from tests import factories

pytestmark = pytest.mark.django_db

AT = factories.PLANNED_START_AT
OVER_AT = factories.LEGAL_START_AT
NOT_FOR_WORK = [
    ({"ticket_kind": "site_meeting"}, "only asks for a site meeting: call a ticket for the boring in."),
    ({"work_finished_at": OVER_AT}, "call a new one in, or take that back on the ticket."),
]


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


def check_of(bore, code):
    return next(one for one in assess(bore, AT)["checks"] if one["code"] == code)


@pytest.mark.parametrize(("values", "words"), NOT_FOR_WORK)
def test_it_holds_with_its_number_and_what_to_do(bore, values, words):
    assert not check_of(bore, "tickets")["holds"]
    bore.job.tickets.update(**values)
    check = check_of(bore, "tickets")
    assert check["holds"]
    assert words in check["sentence"]
    assert bore.job.tickets.get().number in check["sentence"]
    # Nor does any operator's answer on it count.
    assert check_of(bore, "responses")["holds"]


@pytest.mark.parametrize(("values", "words"), NOT_FOR_WORK)
def test_the_sheet_of_the_cover_and_the_tickets_in_force_agree(bore, values, words):
    assert list(Ticket.objects.in_force(AT)) == [bore.job.tickets.get()]
    bore.job.tickets.update(**values)
    sheet = coverage_sheet(compute_bores([bore.pk])[bore.pk].at(AT).cover)
    assert not sheet.is_whole
    assert sheet.gaps_now_m == sheet.gaps_to_finish_m != []
    [span] = sheet.spans
    assert not span.is_in_force_now
    assert words in span.lapse
    assert not Ticket.objects.in_force(AT).exists()


@pytest.mark.parametrize(("values", "words"), NOT_FOR_WORK)
def test_another_ticket_in_force_covers_in_its_place(bore, values, words):
    bore.job.tickets.update(**values)
    other = factories.TicketFactory(job=bore.job, number="NEW-1")
    factories.ResponseFactory(ticket=other, operator=bore.job.operators.get())
    check = check_of(bore, "tickets")
    assert not check["holds"]
    assert check["sentence"].endswith("until the planned finish: NEW-1.")


def test_other_kinds_cover_as_before(bore):
    for kind in ("routine", "emergency", "renewal", "re_mark"):
        bore.job.tickets.update(ticket_kind=kind)
        assert not check_of(bore, "tickets")["holds"], kind
