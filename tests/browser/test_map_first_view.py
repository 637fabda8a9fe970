"""What a map opens with in Chromium: all of the bores, and on a phone a stretch that can be read."""

import pytest

from conflicts.alignment import alignment_length_m
from conflicts.assess import store_assessment
from conflicts.models import Bore
from tests.factories import MarkFactory, line
from tests.map_visits import DESK, PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

SCALE_FEET = """() => Number(
    document.querySelector(".map-scale svg").getAttribute("aria-label").match(/(\\d+) feet/)[1])"""
SEEN = """() => {
    const view = document.querySelector(".map-view").getBoundingClientRect();
    return [...document.querySelectorAll(".map .symbol[data-crossing]")].filter(symbol => {
        const box = symbol.querySelector("circle").getBoundingClientRect();
        const isAcross = box.left >= view.left && box.right <= view.right;
        return isAcross && box.top >= view.top && box.bottom <= view.bottom;
    }).map(symbol => Number(symbol.dataset.crossing)).sort((one, other) => one - other);
}"""


def lengthen(map_site, length_m: float) -> Bore:
    """Give the bore of the site another length, and no pits, for they stand at its former end."""
    bore = Bore.objects.get(pk=map_site.bore.split("/")[2])
    alignment = line((0, 0), (length_m, 0))
    ground_m = alignment_length_m(alignment.coords, bore.job.mean_height_m)
    Bore.objects.filter(pk=bore.pk).update(
        alignment=alignment,
        alignment_length_m=ground_m,
        profile_stations_m=[0.0, 20.0, length_m - 20.0, ground_m],
    )
    bore.pits.all().delete()
    return bore


@pytest.fixture
def long_bore(map_site) -> None:
    """A bore of 300 m with 15 crossings, so that all of it on a phone could not be read."""
    bore = lengthen(map_site, 300.0)
    for number in range(13):
        at = 70 + 15 * number
        MarkFactory(job=bore.job, ref=f"Q-{number}", geometry=line((at, -9), (at, 9)))
    store_assessment(bore.pk)


def test_on_a_phone_the_next_crossings_of_a_long_bore_can_be_told_apart(map_site, map_visit, long_bore):
    page = map_visit(**PHONE).open(map_site.url + map_site.bore)
    first = page.evaluate(SEEN)
    assert first[:3] == [0, 1, 2]
    assert len(first) < 15
    close = page.evaluate(SCALE_FEET)
    page.get_by_role("button", name="Fit bore").tap()
    assert page.evaluate(SEEN) == list(range(15))
    assert page.evaluate(SCALE_FEET) > 2 * close
    page.get_by_role("button", name="Ahead").tap()
    assert page.evaluate(SEEN) == first


def test_at_a_desk_a_long_bore_is_shown_whole(map_site, map_visit, long_bore):
    page = map_visit(**DESK).open(map_site.url + map_site.bore)
    assert page.evaluate(SEEN) == list(range(15))


def test_a_short_bore_is_shown_whole_on_a_phone(map_site, map_visit):
    store_assessment(lengthen(map_site, 70.0).pk)
    page = map_visit(**PHONE).open(map_site.url + map_site.bore)
    before = page.locator(".map-position").inner_text()
    page.get_by_role("button", name="Fit bore").tap()
    assert page.locator(".map-position").inner_text() == before


def test_after_printing_a_phone_shows_again_what_it_opened_with(map_site, map_visit, long_bore):
    page = map_visit(**PHONE).open(map_site.url + map_site.bore)
    before = page.evaluate(SEEN)
    page.evaluate(
        "() => { dispatchEvent(new Event('beforeprint')); dispatchEvent(new Event('afterprint')); }"
    )
    assert page.evaluate(SEEN) == before
