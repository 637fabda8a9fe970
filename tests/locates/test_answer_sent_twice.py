"""One answer that two requests bring at the same moment."""

from concurrent.futures import ThreadPoolExecutor
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from locates.models import Response
from tests.database_sessions import locked_row, waiting_sessions
from tests.factories import FacilityOperatorFactory, TicketFactory, person_in_role
from tests.polling import wait_until


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_the_same_answer_at_the_same_moment_is_stored_once_and_nobody_is_refused():
    ticket = TicketFactory()
    FacilityOperatorFactory(job=ticket.job, name="Tallow Power")
    ruth = person_in_role("Coordinator")
    sent = {"operator": "tal", "response": "m", "new_id": str(uuid4()), "page": "responses"}

    def send(_):
        client = Client()
        client.force_login(ruth)
        try:
            return client.post(reverse("locates:response-quick", args=[ticket.pk]), sent).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as hands:
        with locked_row("locates_job", ticket.job_id):
            codes = hands.map(send, range(2))
            wait_until(lambda: waiting_sessions() == 2, "both requests wait for the job", 30)
        assert list(codes) == [302, 302]
    assert Response.objects.get().response == "marked"
