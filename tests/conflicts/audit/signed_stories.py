"""Signed records for the tests of the audit, as the database keeps them."""

from datetime import UTC, datetime, timedelta

from django.contrib.auth import get_user_model

from conflicts.ground_changes import last_event_id
from conflicts.models import (
    CloseOut,
    CrossingWatch,
    DamageReport,
    DrilledRod,
    Release,
    ReleaseWithdrawal,
    RodWithdrawal,
    Variance,
    VarianceEnd,
    VarianceSignature,
)
from tests.factories import DIGEST, BoreFactory, JobFactory, MarkFactory, PersonFactory

AT = datetime(2026, 11, 10, 13, 0, tzinfo=UTC)


def signer(name="Ada Fenwick"):
    first, _, last = name.partition(" ")
    there = get_user_model().objects.filter(first_name=first, last_name=last).first()
    return there or PersonFactory(first_name=first, last_name=last)


def crossing(ref, *, kind="crossing", station_m=50.0, worst_m=0.5, required_m=0.3, verdict="clear"):
    return {
        "mark_ref": ref,
        "operator": "Brindle Utilities",
        "facility_type": "gas_oil_steam",
        "kind": kind,
        "from_m": station_m - 1.0,
        "to_m": station_m + 1.0,
        "station_m": station_m,
        "worst_case_m": worst_m,
        "required_m": required_m,
        "verdict": verdict,
    }


def release(bore, crossings, *, at=AT, by="Ada Fenwick", checks=(), marks=None, excused_by=None, **values):
    """A release; ``marks`` and ``excused_by`` are nothing where it was signed before these were kept."""
    held = [{"code": code, "holds": True, "sentence": "Held."} for code in checks]
    document = {
        "checks": [*held, {"code": "profile", "holds": False, "sentence": "Passed."}],
        "crossings": crossings,
    }
    return Release.objects.create(
        bore=bore,
        document=document,
        crossing_marks=None if marks is None else [str(one.pk) for one in marks],
        excused_by=None if excused_by is None else [str(one.pk) for one in excused_by],
        last_event_id=last_event_id(),
        grounds_digest=DIGEST[::-1],
        shift_until=at + timedelta(hours=10),
        crew="Crew 2",
        rig="Rig 40",
        signed_by=signer(by),
        signed_by_name=by,
        signed_at=at,
        **{"inputs_digest": DIGEST, "shift_from": at, **values},
    )


def stood(bore, *, at=AT):
    """A release that stood for a bore, and named no crossing."""
    return release(bore, [], at=at)


def watch(
    bore,
    mark,
    *,
    passed="pilot",
    gap_m=0.4,
    required_m=0.3,
    at=AT + timedelta(hours=2),
    station_m=50.0,
    **values,
):
    by = values.pop("by", "Bram Orley")
    return CrossingWatch.objects.create(
        bore=bore,
        mark=mark,
        pass_made=passed,
        required_m=required_m,
        gap_m=gap_m,
        station_m=station_m,
        watched_at=at,
        watched_by=signer(by),
        watched_by_name=by,
        **{"kind": "crossing", "seen": True, **values},
    )


def close_out(bore, *, at=AT + timedelta(hours=9)):
    return CloseOut.objects.create(
        bore=bore, closed_at=at, closed_by=signer(), closed_by_name="Ada Fenwick", grounds=[]
    )


def variance(bore, mark, *, at=AT, reason="The main cannot be moved.", **values):
    return Variance.objects.create(
        bore=bore,
        mark=mark,
        reason=reason,
        requested_by=signer(),
        requested_by_name="Ada Fenwick",
        requested_at=at,
        **{"subject": "crossing", "kind": "crossing", "station_m": 50.0, **values},
    )


def sign_variance(asked, *, at=AT + timedelta(hours=1), by="Cora Tims", **facts):
    return VarianceSignature.objects.create(
        variance=asked,
        signed_by=signer(by),
        signed_by_name=by,
        signed_at=at,
        valid_from=at,
        valid_until=at + timedelta(days=2),
        **facts,
    )


def end_variance(ended, *, at=AT + timedelta(hours=5)):
    return VarianceEnd.objects.create(
        variance=ended, ended_by=signer(), ended_by_name="Cora Tims", ended_at=at, reason="No longer needed."
    )


def withdraw(withdrawn, *, at=AT + timedelta(hours=4)):
    return ReleaseWithdrawal.objects.create(
        release=withdrawn,
        withdrawn_at=at,
        withdrawn_by=signer(),
        withdrawn_by_name="Cora Tims",
        reason="Rain.",
    )


def rod(bore, *, after=None, at=AT + timedelta(hours=2), by="Bram Orley"):
    return DrilledRod.objects.create(
        bore=bore,
        after=after,
        number=1 if after is None else after.number + 1,
        length_m=3.0,
        pitch_ratio=-0.1,
        logged_by=signer(by),
        logged_by_name=by,
        logged_at=at,
    )


def take_out(drilled, *, kind="undo", at=AT + timedelta(hours=3)):
    return RodWithdrawal.objects.create(
        rod=drilled,
        kind=kind,
        reason="It hit a stone.",
        withdrawn_by=signer(),
        withdrawn_by_name="Ada Fenwick",
        withdrawn_at=at,
    )


def damage(bore, mark, *, at=AT + timedelta(hours=3), what="The reel nicked the pipe.", kind="damage"):
    return DamageReport.objects.create(
        job=bore.job,
        bore=bore,
        mark=mark,
        kind=kind,
        happened_at=at,
        facility_type=mark.facility_type,
        operator="Brindle Utilities",
        what_happened=what,
        reported_by=signer(),
        reported_by_name="Ada Fenwick",
    )


def bore_with_mark(ref="G-1", *, organisation=None, job_name=None, **values):
    """A bore of a job with one mark."""
    named = {"name": job_name} if job_name else {}
    job = JobFactory(**named, **({"organisation": organisation} if organisation else {}))
    bore = BoreFactory(job=job, **values)
    return bore, MarkFactory(job=job, ref=ref)
