"""The board: what is listed, in which order, with which step; its filters, pages, files and kept views."""

import csv
import io
from datetime import timedelta

import pyogrio
import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from locates.changes import job_changed
from locates.desk import board_sheet
from locates.desk.board_sheet import read_matters, read_tickets
from locates.exchange import board_export
from locates.models import Mark, SavedView, TicketMatter, TicketStanding
from locates.models.board_queries import MATTER_ORDERS, TICKET_ORDERS, BoardFilters, matters_of, standings_of
from locates.models.saved_view import MOST_VIEWS
from tests.factories import (
    JobFactory,
    MarkFactory,
    ResponseFactory,
    TicketFactory,
    person_in_role,
    seeded_rule,
)

HOUR = timedelta(hours=1)


@pytest.fixture
def now():
    return timezone.now()


@pytest.fixture
def viewer(db):
    return person_in_role("Coordinator")


@pytest.fixture
def coordinator(client, viewer):
    client.force_login(viewer)
    return client


@pytest.fixture
def job(db):
    return JobFactory(name="Alder Street")


def ticket_of(job, now, number, *, called=-100, start=-50, expires=400, is_answered=True, **values):
    """A ticket, its moments in hours from now; answered by one operator."""
    moments = {
        name: None if hours is None else now + hours * HOUR
        for name, hours in (("legal_start_at", start), ("expires_at", expires))
    }
    ticket = TicketFactory(job=job, number=number, called_at=now + called * HOUR, **moments, **values)
    if is_answered:
        ResponseFactory(ticket=ticket)
    return ticket


@pytest.fixture
def morning(job, now):
    """One ticket for each thing that a ticket can ask for; the job's tickets are reckoned."""
    late = ticket_of(job, now, "LATE", response_due_at=now - 60 * HOUR, is_answered=False)
    ResponseFactory(ticket=late, operator__name="Tallow Power", response="awaiting")
    ticket_of(job, now, "UNDATED", called=-90, start=None, expires=None)
    ticket_of(job, now, "NAMELESS", called=-80, is_answered=False)
    ticket_of(job, now, "NEAR", start=10)
    ticket_of(job, now, "RENEW", renew_by=now + 20 * HOUR, expires=60)
    ticket_of(job, now, "ENDS", expires=30)
    ticket_of(job, now, "OVER", expires=-5)
    faded = ticket_of(job, now, "FADED")
    mark = MarkFactory(job=job, ref="G-7", ticket=faded, is_intact=False)
    Mark.objects.filter(pk=mark.pk).update(edited_at=now - 2 * HOUR)
    ticket_of(job, now, "CALM")
    job_changed(job.pk)
    return job


def shown(response) -> list[tuple[str, str]]:
    return [(row.matter.ticket.number, row.matter.matter) for row in response.context["page"].rows]


def test_the_board_lists_what_is_to_be_done_the_first_due_first(coordinator, morning):
    response = coordinator.get(reverse("locates:board"))
    assert shown(response) == [
        ("UNDATED", "enter_dates"),
        ("NAMELESS", "name_operators"),
        ("LATE", "answer_overdue"),
        ("OVER", "expired"),
        ("FADED", "re_mark_asked"),
        ("NEAR", "starts_soon"),
        ("RENEW", "call_renewal"),
        ("ENDS", "expires_soon"),
    ]


@pytest.mark.parametrize(
    ("number", "words", "address", "step"),
    [
        ("LATE", "Tallow Power gave no final answer: call.", "response-add", "Log the answer"),
        ("UNDATED", "No known legal start and no expiry", "ticket-edit", "Enter the dates"),
        ("NAMELESS", "No operator is logged on it", "response-add", "Name the operators"),
        ("NEAR", "no answer is awaited", "ticket", "See the ticket"),
        ("RENEW", "Call the renewal in; the ticket expires", "ticket-renew", "Draft the renewal"),
        ("ENDS", "renew it while it is in force", "ticket-renew", "Draft the renewal"),
        ("OVER", "It has run out: nobody digs on it.", "ticket-renew", "Draft the renewal"),
        ("FADED", "G-7 reported gone: have it marked again.", "ticket-renew", "Draft the re-mark"),
    ],
)
def test_every_row_says_what_is_wrong_and_leads_to_the_one_step(
    coordinator, morning, number, words, address, step
):
    page = coordinator.get(reverse("locates:board"), {"q": number}).content.decode()
    assert words in page
    assert page.count('class="button" href=') == 1
    ticket = morning.tickets.get(number=number)
    link = page.split('class="button" href="')[1]
    assert link.startswith(reverse(f"locates:{address}", args=[ticket.pk]))
    assert link.split(">")[1].startswith(step)
    assert coordinator.get(link.split('"')[0]).status_code == 200


def test_an_expired_ticket_goes_when_its_work_is_said_to_be_over(coordinator, morning):
    ticket = morning.tickets.get(number="OVER")
    page = coordinator.get(reverse("locates:board"), {"q": "OVER"}).content.decode()
    address = reverse("locates:ticket-finish", args=[ticket.pk])
    assert f'action="{address}"' in page
    coordinator.post(address)
    assert not TicketMatter.objects.filter(ticket=ticket).exists()


def test_an_expired_ticket_that_is_renewed_too_late_stays_and_leads_to_what_follows(
    coordinator, morning, now
):
    over = morning.tickets.get(number="OVER")
    later = ticket_of(morning, now, "OVER-2", called=-2, start=60, expires=500, previous_number="OVER")
    job_changed(morning.pk)
    page = coordinator.get(reverse("locates:board"), {"matter": "expired"})
    (row,) = page.context["page"].rows
    assert (row.matter.ticket_id, row.step_ticket) == (over.pk, later.pk)
    assert "nobody digs until then" in row.sentence
    assert not row.may_be_over


def test_a_foreman_sees_the_board_without_what_a_foreman_may_not_do(client, morning):
    client.force_login(person_in_role("Foreman"))
    page = client.get(reverse("locates:board")).content.decode()
    assert "LATE" in page
    assert "Draft the renewal" not in page
    assert "Work is over" not in page


def test_nobody_without_a_role_sees_it(client, db):
    client.force_login(get_user_model().objects.create(username="passer-by"))
    assert client.get(reverse("locates:board")).status_code == 403


class TestChoosing:
    @pytest.mark.parametrize(
        ("query", "numbers"),
        [
            ({"matter": "expired"}, {"OVER"}),
            ({"state": "not_started"}, {"NEAR"}),
            ({"q": "tallow"}, {"LATE"}),
            ({"q": "alder faded"}, {"FADED"}),
            ({"operator": "TALLOW"}, {"LATE"}),
            ({"jurisdiction": "TX"}, {"AWAY"}),
            ({"job": "quill"}, {"AWAY"}),
            ({"kind": "emergency"}, {"AWAY"}),
            ({"days": "0", "state": "in_force"}, {"LATE", "NAMELESS", "FADED"}),
            ({"q": "nothing of the kind"}, set()),
        ],
    )
    def test_the_rows_that_fit_are_shown_and_no_others(self, coordinator, morning, now, query, numbers):
        away = JobFactory(name="Quill Row", jurisdiction=seeded_rule("TX"))
        ticket_of(away, now, "AWAY", expires=-9, ticket_kind="emergency")
        job_changed(away.pk)
        if query == {"matter": "expired"}:
            numbers = numbers | {"AWAY"}
        response = coordinator.get(reverse("locates:board"), query)
        assert {number for number, _ in shown(response)} == numbers

    def test_all_tickets_are_listed_and_chosen_from_too(self, coordinator, morning):
        response = coordinator.get(reverse("locates:board-tickets"))
        assert len(response.context["page"].rows) == 9
        response = coordinator.get(reverse("locates:board-tickets"), {"matter": "expired", "days": "1"})
        (row,) = response.context["page"].rows
        assert (row.standing.ticket.number, row.standing.state) == ("OVER", "expired")

    def test_a_ticket_on_which_nobody_is_logged_is_not_said_to_wait_for_nobody(
        self, coordinator, morning, now
    ):
        ticket_of(morning, now, "NEAR-2", start=11, is_answered=False)
        job_changed(morning.pk)
        page = coordinator.get(reverse("locates:board-tickets"), {"q": "NEAR"})
        # Both were called at one moment, so either may stand first.
        answers = sorted(row.answers for row in page.context["page"].rows)
        assert answers == ["no operator logged", "none awaited"]
        page = coordinator.get(reverse("locates:board"), {"q": "NEAR-2", "matter": "starts_soon"})
        assert [row.sentence for row in page.context["page"].rows] == [
            "The legal start is near; no operator is logged on it."
        ]

    def test_what_cannot_be_read_is_said_shown_back_and_left_out(self, coordinator, morning):
        response = coordinator.get(reverse("locates:board"), {"days": "soon", "matter": "lost", "q": "LATE"})
        page = response.content.decode()
        assert "Accepted is a whole number of days, 0 to 3650." in page
        assert 'value="soon"' in page
        assert [number for number, _ in shown(response)] == ["LATE"]

    @pytest.mark.parametrize("after", ["x", "W10", "WyJhIiwgImIiXQ", "WzEsIDJd", "%00", "W" * 5000])
    def test_a_place_that_no_link_gives_is_refused_and_the_first_page_shown(
        self, coordinator, morning, after
    ):
        response = coordinator.get(reverse("locates:board"), {"after": after})
        assert response.status_code == 200
        assert "accepted is what" in response.content.decode()
        assert len(shown(response)) == 8

    def test_an_empty_board_says_what_will_stand_there(self, coordinator):
        assert "No ticket asks for anything now" in coordinator.get(reverse("locates:board")).content.decode()
        assert "No ticket is logged yet" in coordinator.get(reverse("locates:board-tickets")).content.decode()

    def test_lists_that_are_behind_the_clock_say_so(self, coordinator, morning, now):
        assert "behind the clock" not in coordinator.get(reverse("locates:board")).content.decode()
        TicketStanding.objects.filter(ticket__number="CALM").update(changes_at=now - HOUR)
        assert "behind the clock" in coordinator.get(reverse("locates:board")).content.decode()


class TestPages:
    @pytest.mark.parametrize("order", [*MATTER_ORDERS])
    def test_the_pages_of_matters_hold_every_row_once_in_order(
        self, viewer, morning, now, monkeypatch, order
    ):
        monkeypatch.setattr(board_sheet, "ROWS_A_PAGE", 3)
        columns = MATTER_ORDERS[order]
        self._turn(
            viewer,
            read_matters,
            order,
            now,
            list(matters_of(BoardFilters(viewer.pk)).order_by(*columns)),
            "matter",
        )

    @pytest.mark.parametrize("order", [*TICKET_ORDERS])
    def test_the_pages_of_tickets_hold_every_row_once_in_order(
        self, viewer, morning, now, monkeypatch, order
    ):
        monkeypatch.setattr(board_sheet, "ROWS_A_PAGE", 2)
        columns = TICKET_ORDERS[order]
        self._turn(
            viewer,
            read_tickets,
            order,
            now,
            list(standings_of(BoardFilters(viewer.pk)).order_by(*columns)),
            "standing",
        )

    def _turn(self, viewer, read, order, now, whole, name):
        seen, after = [], ""
        while True:
            page = read(BoardFilters(viewer.pk), order, after, now)
            seen += [getattr(row, name) for row in page.rows]
            if not page.next_place:
                break
            after = page.next_place
        assert seen == whole

    def test_a_page_costs_as_many_queries_with_many_rows_as_with_few(
        self, coordinator, morning, now, django_assert_max_num_queries
    ):
        with django_assert_max_num_queries(20) as few:
            coordinator.get(reverse("locates:board"))
        for number in range(30):
            late = ticket_of(morning, now, f"X{number}", is_answered=False)
            ResponseFactory(ticket=late, response="awaiting")
        job_changed(morning.pk)
        with django_assert_max_num_queries(20) as many:
            coordinator.get(reverse("locates:board"))
        assert len(many) == len(few)

    @pytest.mark.parametrize(
        ("choose", "filters", "order", "index"),
        [
            (matters_of, {}, MATTER_ORDERS["due"], "matter_due"),
            (matters_of, {"matter": "expired"}, MATTER_ORDERS["due"], "matter_kind_due"),
            (standings_of, {}, TICKET_ORDERS["called_last"], "standing_called"),
            (
                standings_of,
                {"state": "expired"},
                TICKET_ORDERS["called_last"],
                "standing_state_called",
            ),
        ],
    )
    def test_a_first_page_begins_at_an_index_and_sorts_nothing(
        self, viewer, morning, choose, filters, order, index
    ):
        chosen = choose(BoardFilters(viewer.pk, **filters))
        with connection.cursor() as cursor:
            # Of two indexes that both give the order a few rows favour either: only the asked one stays.
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            for other in {each.name for each in chosen.model._meta.indexes} - {index}:
                cursor.execute(f'DROP INDEX "{other}"')
            # A few rows are read and sorted faster whole; here is asked whether it can be done without.
            for way in ("seqscan", "bitmapscan", "hashjoin", "mergejoin", "sort"):
                cursor.execute(f"SET LOCAL enable_{way} = off")
        plan = chosen.order_by(*order)[:51].explain()
        assert f"using {index} on" in plan
        assert "Sort" not in plan


class TestFiles:
    def columns(self, response) -> list[dict]:
        assert response.status_code == 200, response.content.decode()
        return list(csv.DictReader(io.StringIO(response.content.decode())))

    def test_a_csv_file_holds_what_is_chosen_in_its_order(self, coordinator, morning):
        address = reverse("locates:board-export", args=["matters", "csv"])
        rows = self.columns(coordinator.get(address, {"state": "in_force", "order": "number"}))
        numbers = [(row["number"], row["matter"]) for row in rows]
        assert numbers == [
            ("ENDS", "expires_soon"),
            ("FADED", "re_mark_asked"),
            ("LATE", "answer_overdue"),
            ("NAMELESS", "name_operators"),
            ("RENEW", "call_renewal"),
        ]
        late = morning.tickets.get(number="LATE")
        assert rows[2]["due_at"] == late.response_due_at.isoformat()
        assert (rows[2]["awaited_count"], rows[2]["overdue_count"], rows[2]["jurisdiction"]) == (
            "1",
            "1",
            "VA",
        )

    def test_a_geopackage_holds_the_work_areas_of_what_is_chosen(self, coordinator, morning, tmp_path):
        address = reverse("locates:board-export", args=["tickets", "gpkg"])
        response = coordinator.get(address, {"q": "NEAR"})
        assert response["Content-Disposition"] == 'attachment; filename="tickets_tickets.gpkg"'
        path = tmp_path / "tickets.gpkg"
        path.write_bytes(response.content)
        meta, _, shapes, values = pyogrio.raw.read(path)
        read = dict(zip(meta["fields"], (column.tolist() for column in values), strict=True))
        assert (read["number"], read["state"], read["awaited_count"]) == (["NEAR"], ["not_started"], [0.0])
        ticket = morning.tickets.get(number="NEAR")
        assert meta["crs"] == "EPSG:4326"
        assert shapes.tolist() == [bytes(ticket.area.wkb)]

    def test_too_many_rows_are_refused_and_none_is_left_out_without_a_word(
        self, coordinator, morning, monkeypatch
    ):
        monkeypatch.setattr(board_export, "MOST_ROWS", 7)
        response = coordinator.get(reverse("locates:board-export", args=["matters", "csv"]))
        assert response.status_code == 400
        assert "found more than 7 rows" in response.content.decode()

    def test_what_no_row_fits_makes_no_file(self, coordinator, morning):
        response = coordinator.get(reverse("locates:board-export", args=["matters", "csv"]), {"q": "nowhere"})
        assert response.status_code == 400
        assert "nothing fits" in response.content.decode()

    def test_what_cannot_be_read_makes_no_file(self, coordinator, morning):
        response = coordinator.get(reverse("locates:board-export", args=["matters", "csv"]), {"days": "x"})
        assert response.status_code == 400

    @pytest.mark.parametrize("name", ["matters.exe", "crews.csv"])
    def test_there_are_no_other_files(self, coordinator, name):
        assert coordinator.get(f"/tickets/files/{name}").status_code == 404


class TestKeptViews:
    def keep(self, client, name="Late in Texas", query="matter=expired&jurisdiction=TX"):
        return client.post(reverse("locates:board-keep", args=["matters"]), {"name": name, "query": query})

    def test_a_view_is_kept_opened_and_let_go_of(self, coordinator, morning):
        response = self.keep(coordinator)
        address = f"{reverse('locates:board')}?matter=expired&jurisdiction=TX"
        assert response.url == address
        assert f'href="{address.replace("&", "&amp;")}"' in coordinator.get("/tickets/").content.decode()
        view = SavedView.objects.get()
        coordinator.post(reverse("locates:board-forget", args=[view.pk]))
        assert not SavedView.objects.exists()

    def test_only_what_the_board_knows_is_kept_of_an_address(self, coordinator, db):
        self.keep(coordinator, query="matter=expired&after=abc&csrf=1&q=")
        assert SavedView.objects.get().query == "matter=expired"

    def test_a_name_that_is_taken_is_refused_and_what_was_typed_stays(self, coordinator, db):
        self.keep(coordinator)
        response = self.keep(coordinator, query="matter=enter_dates")
        page = response.content.decode()
        assert response.status_code == 400
        assert "accepted is a name that none of your views has" in page
        assert 'value="Late in Texas"' in page
        assert response.context["query"] == "matter=enter_dates"
        assert SavedView.objects.get().query == "matter=expired&jurisdiction=TX"

    def test_no_more_are_kept_than_are_found_at_a_glance(self, coordinator, db):
        person = get_user_model().objects.get()
        SavedView.objects.bulk_create(
            SavedView(user=person, name=f"View {number}", board_list="matters")
            for number in range(MOST_VIEWS)
        )
        assert "Let go of one" in self.keep(coordinator).content.decode()
        assert SavedView.objects.count() == MOST_VIEWS

    def test_nobody_sees_or_lets_go_of_the_views_of_others(self, coordinator, client, db):
        self.keep(coordinator)
        view = SavedView.objects.get()
        client.force_login(person_in_role("Coordinator"))
        assert ">Late in Texas</a>" not in client.get("/tickets/").content.decode()
        assert client.post(reverse("locates:board-forget", args=[view.pk])).status_code == 404
        assert SavedView.objects.exists()
