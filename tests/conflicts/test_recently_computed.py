"""A bore is computed once for the same inputs, and anew for any others."""

from dataclasses import replace

import pytest

from conflicts import recently_computed
from conflicts.gather import gather
from conflicts.inputs import BoreInputs
from conflicts.recently_computed import computed
from locates.models import TestHole
from tests.factories import DailyWalkFactory, small_job

pytestmark = pytest.mark.django_db


def inputs_of(bore) -> BoreInputs:
    return gather([bore.pk])[bore.pk]


def test_the_same_inputs_are_computed_once():
    bore = small_job().bores.get()
    assert computed(inputs_of(bore)).crossings is computed(inputs_of(bore)).crossings


def test_a_bore_computed_before_knows_its_site_as_it_is_now():
    bore = small_job().bores.get()
    computed(inputs_of(bore))
    walk = DailyWalkFactory(bore=bore)
    assert [one.walked_at for one in computed(inputs_of(bore)).scene.inputs.site.walks] == [walk.walked_at]


def test_changed_records_are_computed_anew():
    bore = small_job().bores.get()
    before = computed(inputs_of(bore))
    TestHole.objects.update(depth_to_top_m=1.5)
    after = computed(inputs_of(bore))
    assert after.crossings[0].clearance.vertical_m != before.crossings[0].clearance.vertical_m


def test_a_job_loaded_anew_shows_its_own_marks_though_its_digest_is_the_same():
    first = inputs_of(small_job().bores.get())
    again = replace(first, marks=tuple(replace(mark, mark_id="another key") for mark in first.marks))
    assert again.digest() == first.digest()
    keys = [computed(inputs).crossings[0].mark.mark_id for inputs in (first, again)]
    assert keys == [first.marks[0].mark_id, "another key"]


def test_no_more_is_kept_than_asked(monkeypatch):
    monkeypatch.setattr(recently_computed, "MOST_KEPT", 1)
    first, second = (inputs_of(small_job().bores.get()) for _ in range(2))
    kept = computed(first)
    computed(second)
    assert computed(first).crossings is not kept.crossings
