"""A search and the board give whoever is of no company, or of another, nothing but the question back."""

import re

import pytest
from django.urls import reverse

from tests.companies import THEIRS, populated_company
from tests.factories import OrganisationFactory, person_in_role

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("is_member", [True, False])
@pytest.mark.parametrize(
    ("name", "asked"), [("conflicts:search", {"q": THEIRS}), ("locates:board", {"q": THEIRS})]
)
def test_the_word_that_was_asked_for_comes_back_in_the_box_alone(client, is_member, name, asked):
    populated_company()
    stranger = (
        person_in_role("Coordinator", OrganisationFactory())
        if is_member
        else person_in_role("Coordinator", membership=None)
    )
    client.force_login(stranger)
    page = client.get(reverse(name), asked).content.decode()
    main = page[page.index("<main") : page.index("</main>")]
    answered = re.sub(r'<input[^>]*>|<a [^>]*href="\?[^"]*"[^>]*>', "", main)
    assert answered.count(THEIRS) <= 1  # the words that name the question
    assert not re.search(rf"{THEIRS}[- ](1|M|H|S|B|Street|Gas|Lane|curb|duct|Boring)", answered)
    assert not re.search(r'href="/(jobs|tickets|bores)/[0-9a-f-]{36}', answered)
