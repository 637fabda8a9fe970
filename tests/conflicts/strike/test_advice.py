"""The data of the strike page: complete, each instruction with a source, and refused where it is not."""

import json

import pytest

from conflicts.strike.advice import ADVICE_FILE, AdviceError, read_advice
from locates.models import FacilityType

TYPES = FacilityType.values
TEXT = ADVICE_FILE.read_text(encoding="utf-8")


def words_for(kind):
    advice = read_advice(TEXT, TYPES)
    return " ".join(
        step.words for one in advice.facilities if one.facility_type == kind for step in one.steps
    ).lower()


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("gas_oil_steam", ["upwind", "no ignition source", "do not touch any switch", "911", "backfill"]),
        ("electric", ["stay there", "unless there is fire", "energized", "35 ft", "call"]),
        ("communication", ["stop", "do not look into the ends of a fibre", "call"]),
        ("potable_water", ["stop", "away from the edge", "call"]),
        ("reclaimed_water", ["stop", "away from the edge", "call"]),
        ("sewer_drain", ["stop", "nobody enters", "gas", "infection", "cross bore", "camera", "call"]),
        ("unknown", ["stay there", "upwind", "35 ft", "no ignition source", "energized", "911", "backfill"]),
    ],
)
def test_each_facility_type_says_what_its_danger_asks_for(kind, said):
    words = words_for(kind)
    assert [one for one in said if one not in words] == []


def test_the_number_of_the_place_counts_and_others_are_deferred_to():
    advice = read_advice(TEXT, TYPES)
    assert advice.emergency_number == "911"
    assert "emergency number of the place" in advice.emergency.words
    deferring = " ".join(one.words for one in advice.cautions)
    for who in ("operator", "emergency services", "law of the place"):
        assert who in deferring


def test_the_rules_are_named_and_every_source_is_used():
    advice = read_advice(TEXT, TYPES)
    citations = {one.citation for one in advice.sources}
    assert {"49 CFR 196.107", "49 CFR 196.109", "29 CFR 1926.651(b)", "29 CFR 1926.416(a)"} <= citations
    steps = [*advice.first, advice.emergency, *advice.cautions]
    steps += [step for one in advice.facilities for step in one.steps]
    assert {source for step in steps for source in step.sources} == set(advice.sources)


def broken(change):
    document = json.loads(TEXT)
    change(document)
    return json.dumps(document)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda one: one["facilities"].pop("electric"), "facilities: found"),
        (lambda one: one["facilities"].update(steam=one["facilities"]["electric"]), "facilities: found"),
        (lambda one: one["facilities"]["electric"].update(steps=[]), "electric.steps: found none"),
        (lambda one: one["first"][0].update(sources=[]), r"first\[0\].sources: found none"),
        (lambda one: one["first"][0].update(sources=["hearsay"]), "hearsay"),
        (lambda one: one["first"][0].update(words=" "), r"first\[0\].words"),
        (lambda one: one["cautions"][0].pop("sources"), "sources"),
        (lambda one: one.pop("emergency"), "emergency"),
    ],
)
def test_data_that_lacks_something_is_refused(change, words):
    with pytest.raises(AdviceError, match=words):
        read_advice(broken(change), TYPES)
