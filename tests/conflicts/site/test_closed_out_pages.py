"""Once a bore is closed out its pages say so first, and offer no more work on it."""

import re

import pytest
from django.urls import reverse

from conflicts.models import Release
from tests import factories
from tests.conflicts.audit.signed_stories import close_out, stood
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

CLOSED = "Drilled and closed out"
# What each page offers while the bore is drilled.
OFFERED = {
    "release-sign": ["What holds", "Sign the release"],
    "release": ["Take this release back", "May I drill"],
    "ahead": ["Log the next rod", "When to stop", "The crew sees and decides"],
    "rods": ["Log rod 2", "Pull back</a>", "Check it at a test hole", "Undo rod 1"],
    "passes": ["Log the reaming pass", "Log the pullback", "Entered wrongly"],
    "passes-pullback": ["Log the pullback</button>"],
    "watches": ["Watch the pilot pass", "No release is in force", "Close the bore out"],
}


@pytest.fixture
def bore():
    return bore_of_today()


def offered(client, bore, name):
    """Which of its offers a page makes, and its text."""
    of = Release.objects.get() if name == "release" else bore
    text = client.get(reverse(f"conflicts:{name}", args=[of.pk])).content.decode()
    return [words for words in OFFERED[name] if words in text], text


@pytest.mark.parametrize("name", OFFERED)
def test_a_page_of_a_closed_out_bore_says_so_and_offers_no_more_work(client, bore, name):
    client.force_login(person_in_role("Foreman"))
    stood(bore)
    factories.DrilledRodFactory(bore=bore)
    factories.HolePassFactory(bore=bore)
    before, text = offered(client, bore, name)
    assert before
    assert CLOSED not in text
    close_out(bore)
    after, text = offered(client, bore, name)
    assert after == []
    assert CLOSED in text


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("rods", {"depth": "a spade", "pitch": "3"}),
        ("passes", {"reamer": "a spade"}),
        ("passes-pullback", {"measured": "a spade"}),
    ],
)
def test_what_was_typed_as_the_bore_was_closed_out_stays(client, bore, name, typed):
    client.force_login(person_in_role("Foreman"))
    close_out(bore)
    text = client.post(reverse(f"conflicts:{name}", args=[bore.pk]), typed).content.decode()
    assert CLOSED in text
    assert 'value="a spade"' in text


def test_that_no_release_is_in_force_stands_before_what_to_watch_next(client, bore):
    client.force_login(person_in_role("Foreman"))
    _, text = offered(client, bore, "watches")
    headings = re.findall(r'<h2 id="([a-z-]+)"', text)
    assert headings.index("no-release") < headings.index("next")
