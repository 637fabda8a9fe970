"""The shipped clocks go to the versions of a rule that say what they were read from, and to no other."""

from copy import deepcopy
from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection

from locates.models import JurisdictionRule
from tests.factories import seeded_rule

pytestmark = pytest.mark.django_db

MIGRATION = import_module("locates.migrations.0007_jurisdiction_clocks")


def version_two(**changes) -> JurisdictionRule:
    """A second version of Virginia's rule, with some columns read anew and no clock yet."""
    rule = seeded_rule("VA")
    rule.pk, rule.version, rule.clock = None, 2, {}
    rule._state.adding = True
    for column, value in changes.items():
        setattr(rule, column, value)
    rule.save()
    return rule


def seed() -> None:
    with connection.schema_editor() as editor:
        MIGRATION.seed(apps, editor)


def test_a_later_version_with_the_same_texts_on_dates_has_the_same_clock():
    rule = version_two(tolerance_basis="read once more")
    seed()
    rule.refresh_from_db()
    assert rule.clock == seeded_rule("VA").clock
    assert rule.clock != {}


@pytest.mark.parametrize("column", MIGRATION.READ_FROM)
def test_a_version_that_was_read_otherwise_keeps_an_empty_clock(column):
    rule = version_two(**{column: "read otherwise"})
    seed()
    rule.refresh_from_db()
    assert rule.clock == {}


def test_a_clock_that_is_there_is_not_written_over():
    own = {"working_days": {"note": "own"}}
    JurisdictionRule.objects.filter(code="VA").update(clock=own)
    seed()
    assert seeded_rule("VA").clock == own


def test_a_rule_stored_with_other_words_on_how_sure_it_is_gets_a_version_of_today():
    sureness = import_module("locates.migrations.0015_centre_days")
    before = JurisdictionRule.objects.count()
    with connection.schema_editor() as editor:
        sureness.renew_sureness(apps, editor)
        assert JurisdictionRule.objects.count() == before
        old = seeded_rule("IN")
        today = deepcopy(old.clock)
        old.clock["notice"]["is_sure"] = True
        del old.clock["notice"]["doubt"]
        JurisdictionRule.objects.filter(pk=old.pk).update(clock=old.clock)
        own = seeded_rule("VA").clock
        own["notice"]["term"]["count"] = 72
        JurisdictionRule.objects.filter(code="VA").update(clock=own)
        sureness.renew_sureness(apps, editor)
    newest = JurisdictionRule.objects.in_use_by(None)
    assert (newest.get(code="IN").version, newest.get(code="IN").clock) == (2, today)
    assert newest.get(code="VA").version == 1
