"""A mail server, and a ticket that somebody follows."""

from datetime import timedelta

import pytest
from django.utils import timezone

from locates.desk.follow import follow_tickets
from tests.factories import ResponseFactory, TicketFactory, person_in_role
from tests.mail_server import mail_server_in


@pytest.fixture
def mail_server(tmp_path, settings):
    """A server that the site sends through."""
    with mail_server_in(tmp_path) as server:
        settings.MAIL_SERVER = server.settings
        settings.MAIL_FROM = "desk@crosswatch.example"
        settings.SITE_ADDRESS = "https://locates.example"
        yield server


@pytest.fixture
def ann(db):
    """A coordinator with a mail address."""
    return person_in_role("Coordinator", username="ann", email="ann@crosswatch.example")


@pytest.fixture
def expired(ann):
    """A ticket that Ann follows and that expired an hour ago, every operator having answered."""
    now = timezone.now()
    ticket = TicketFactory(
        called_at=now - timedelta(days=20),
        legal_start_at=now - timedelta(days=17),
        expires_at=now - timedelta(hours=1),
        number="T-77",
        job__name="Alder Street",
    )
    ResponseFactory(ticket=ticket)
    follow_tickets([ticket], by=ann, at=now - timedelta(days=2))
    return ticket
