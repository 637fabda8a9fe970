"""A fresh database knows the one-call rules that the program ships."""

from dataclasses import asdict
from pathlib import Path

import pytest

from locates.models import JurisdictionRule, ReadingsAgree
from locates.one_call import rules

pytestmark = pytest.mark.django_db

TABLE = Path(rules.__file__).with_name("rules.csv")


def test_every_shipped_rule_is_there_as_version_one_with_all_its_values():
    with TABLE.open(newline="", encoding="utf-8") as table:
        shipped = {rule.code: asdict(rule) for rule in rules.read_rules(table)}
    seeded = {
        rule.code: {field: getattr(rule, field) for field in shipped[rule.code]}
        for rule in JurisdictionRule.objects.filter(version=1)
    }
    assert len(seeded) == 32
    assert seeded == shipped


def test_seeded_rules_pass_their_own_validation():
    for rule in JurisdictionRule.objects.all():
        rule.full_clean()


def test_the_reader_and_the_record_know_the_same_answers():
    assert set(rules.READINGS_AGREE) == set(ReadingsAgree.values)
