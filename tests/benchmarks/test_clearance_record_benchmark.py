"""The benchmark of the clearance record runs, small; how long it takes is its to print."""

import pytest

from tests.benchmarks.clearance_record import compare, phone_photo


@pytest.mark.django_db
def test_the_record_that_is_measured_holds_every_crossing_watch_and_photo():
    found = compare(crossings=3, photos=5, photo_px=(160, 120), rounds=1)
    assert (found.crossings, found.watches, found.photos) == (3, 9, 5)
    assert found.pages > 3
    assert found.size_bytes > 10_000
    assert found.ratio > 0.0


def test_invented_photos_weigh_what_a_phones_weigh_and_each_is_another():
    raw = phone_photo(1, (2000, 1500))
    # Phones keep about a byte for every four points or more; flat colours would be a hundredth of that.
    assert len(raw) > 2000 * 1500 / 4
    assert raw != phone_photo(2, (2000, 1500))
