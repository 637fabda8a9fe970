"""The database itself refuses releases and variances that cannot be."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from conflicts.models import (
    Release,
    ReleaseWithdrawal,
    Variance,
    VarianceEnd,
    VariancePaper,
    VarianceSignature,
)
from tests import factories
from tests.factories import DIGEST, PLANNED_START_AT

pytestmark = pytest.mark.django_db

LATER = PLANNED_START_AT + timedelta(hours=8)


def release(**values):
    person = factories.PersonFactory()
    sound = {
        "bore": factories.BoreFactory(),
        "document": {},
        "inputs_digest": DIGEST,
        "grounds_digest": DIGEST,
        "last_event_id": 0,
        "shift_from": PLANNED_START_AT,
        "shift_until": LATER,
        "crew": "Crew 2",
        "rig": "Rig 7",
        "signed_by": person,
        "signed_by_name": "R. Pell",
        "signed_at": PLANNED_START_AT,
    }
    return Release.objects.create(**{**sound, **values})


def withdrawal(**values):
    sound = {
        "withdrawn_by": factories.PersonFactory(),
        "withdrawn_by_name": "R. Pell",
        "withdrawn_at": LATER,
        "reason": "Rain.",
    }
    return ReleaseWithdrawal.objects.create(release=release(), **{**sound, **values})


def variance(**values):
    sound = {
        "bore": factories.BoreFactory(),
        "subject": "check",
        "check_code": "surface",
        "reason": "A spotter stands by.",
        "requested_by": factories.PersonFactory(),
        "requested_by_name": "R. Pell",
        "requested_at": PLANNED_START_AT,
    }
    return Variance.objects.create(**{**sound, **values})


def crossing_variance(**values):
    sound = {"subject": "crossing", "check_code": "", "kind": "crossing", "station_m": 50.0}
    return variance(mark=factories.MarkFactory(), **{**sound, **values})


def signature(**values):
    sound = {
        "signed_by": factories.PersonFactory(),
        "signed_by_name": "R. Pell",
        "signed_at": PLANNED_START_AT,
        "valid_from": PLANNED_START_AT,
        "valid_until": LATER,
    }
    return VarianceSignature.objects.create(variance=variance(), **{**sound, **values})


paper = factories.VariancePaperFactory


def end(**values):
    sound = {
        "ended_by": factories.PersonFactory(),
        "ended_by_name": "R. Pell",
        "ended_at": LATER,
        "reason": "Over.",
    }
    return VarianceEnd.objects.create(variance=variance(), **{**sound, **values})


# Constraint, record, with what it is added.
REFUSED = [
    ("release_inputs_digest_sound", release, {"inputs_digest": "f00"}),
    ("release_grounds_digest_sound", release, {"grounds_digest": "F" * 64}),
    ("release_crew_written", release, {"crew": " "}),
    ("release_rig_written", release, {"rig": ""}),
    ("release_damage_settled_in_words", release, {"damage_answered": ["a"], "damage_settled": " "}),
    ("release_signed_by_name_written", release, {"signed_by_name": " "}),
    ("release_shift_from_before_shift_until", release, {"shift_from": LATER}),
    ("release_signed_at_before_shift_until", release, {"signed_at": LATER}),
    ("release_withdrawal_withdrawn_by_name_written", withdrawal, {"withdrawn_by_name": ""}),
    ("release_withdrawal_reason_written", withdrawal, {"reason": "\n"}),
    ("variance_subject_known", crossing_variance, {"subject": "job"}),
    ("variance_check_code_known", variance, {"check_code": "weather"}),
    ("variance_kind_known", variance, {"kind": "above"}),
    ("variance_station_m_not_negative", crossing_variance, {"station_m": -1.0}),
    ("variance_reason_written", variance, {"reason": " "}),
    ("variance_requested_by_name_written", variance, {"requested_by_name": ""}),
    ("variance_pass_made_known", crossing_variance, {"subject": "watch", "pass_made": "casing"}),
    ("variance_pass_is_of_a_watch", crossing_variance, {"pass_made": "pilot"}),
    ("variance_signature_verdict_known", signature, {"verdict": "doubtful"}),
    ("variance_signature_worst_case_m_finite", signature, {"worst_case_m": float("nan")}),
    ("variance_signature_required_m_not_negative", signature, {"required_m": -0.1}),
    ("variance_names_one_thing", variance, {"check_code": ""}),
    ("variance_names_one_thing", variance, {"subject": "crossing"}),
    ("variance_names_one_thing", variance, {"station_m": 3.0}),
    ("variance_signature_signed_by_name_written", signature, {"signed_by_name": ""}),
    ("variance_signature_valid_from_before_valid_until", signature, {"valid_from": LATER}),
    (
        "variance_signature_signed_at_not_after_valid_from",
        signature,
        {"signed_at": PLANNED_START_AT + timedelta(microseconds=1)},
    ),
    ("variance_paper_file_name_written", paper, {"file_name": " "}),
    ("variance_paper_added_by_name_written", paper, {"added_by_name": ""}),
    ("variance_paper_media_type_known", paper, {"media_type": "text/html"}),
    ("variance_paper_size_bytes_counted", paper, {"size_bytes": 3}),
    ("variance_paper_sha256_of_content", paper, {"sha256": "0" * 64}),
    ("variance_end_ended_by_name_written", end, {"ended_by_name": " "}),
    ("variance_end_reason_written", end, {"reason": ""}),
]


@pytest.mark.parametrize(("constraint", "make", "values"), REFUSED)
def test_the_database_refuses(constraint, make, values):
    make()
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        make(**values)
    assert refusal.value.__cause__.diag.constraint_name == constraint


def test_a_variance_has_a_paper_once():
    there = paper()
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        paper(variance=there.variance, file_name="another name.txt")
    assert refusal.value.__cause__.diag.constraint_name == "variance_paper_once"


def test_every_constraint_of_these_records_has_a_case_here():
    models = (Release, ReleaseWithdrawal, Variance, VariancePaper, VarianceSignature, VarianceEnd)
    named = {one.name for model in models for one in model._meta.constraints}
    assert named == {case[0] for case in REFUSED} | {"variance_paper_once"}
