"""A form sent after the login has ended leads back to the form, with a word that nothing is saved."""

import pytest
from django.urls import reverse

from locates.models import Response
from tests.factories import TicketFactory, person_in_role

pytestmark = pytest.mark.django_db


def test_the_login_says_that_nothing_is_saved_and_leads_back_to_the_form(client):
    ticket = TicketFactory()
    page = reverse("locates:response-add", args=[ticket.pk])
    address = reverse("locates:response-quick", args=[ticket.pk])
    asked = client.post(address, {"response": "m"}, HTTP_REFERER=f"http://testserver{page}")
    assert "nothing of what you sent is saved" in client.get(asked.url).content.decode()
    person = person_in_role("Coordinator", username="ruth")
    person.set_password("cedar lantern 88")
    person.save()
    back = client.post(
        asked.url,
        {"username": "ruth", "password": "cedar lantern 88", "next": f"http://testserver{page}"},
        follow=True,
    )
    assert (back.status_code, back.request["PATH_INFO"]) == (200, page)
    assert not Response.objects.exists()


@pytest.mark.parametrize("referer", [None, "http://elsewhere.example/tickets/", "javascript:alert(1)"])
def test_a_page_that_is_not_of_this_site_is_never_led_to(client, referer):
    address = reverse("locates:response-quick", args=[TicketFactory().pk])
    headers = {} if referer is None else {"HTTP_REFERER": referer}
    asked = client.post(address, {"response": "m"}, **headers)
    assert asked.url == f"{reverse('login')}?next={address}"


def test_a_page_that_is_only_looked_at_says_nothing_of_saving(client):
    asked = client.get(reverse("locates:board"), HTTP_REFERER="http://testserver/")
    assert asked.url == f"{reverse('login')}?next={reverse('locates:board')}"
    assert "is saved" not in client.get(asked.url).content.decode()
