"""One record of every kind that is signed, of one bore, each with its entry in the ledger."""

from collections.abc import Iterator
from datetime import timedelta

from django.contrib.auth.models import AbstractUser
from django.db import transaction
from django.utils import timezone

from conflicts.ground_changes import last_event_id
from conflicts.models import (
    Bore,
    CameraInspection,
    CloseOut,
    CrossingWatch,
    DamageReport,
    DrilledRod,
    HolePass,
    HolePassWithdrawal,
    LocatorCheck,
    Release,
    ReleaseWithdrawal,
    RodWithdrawal,
    Variance,
    VarianceEnd,
    VarianceSignature,
)
from conflicts.models.crossing_watch import PassMade
from conflicts.models.signed import SignedRecord
from conflicts.release import grounds_of
from locates.desk.ledger import enter
from locates.models import TestHole
from tests.factories import DailyWalkFactory, PhotoFactory, VariancePaperFactory

SHIFT = timedelta(hours=8)


def sign_everything(bore: Bore, hole: TestHole, people: dict[str, AbstractUser], word: str) -> None:
    """Sign one of each about a bore and the mark of a hole, now; every text begins with the word."""
    walk = DailyWalkFactory(
        bore=bore,
        walked_by=people["Foreman"],
        walked_by_name=f"{word} Pell",
        walked_at=timezone.now(),
    )
    photo = PhotoFactory(
        job=bore.job, subject_model="locates.testhole", subject_id=hole.pk, file_name=f"{word}.jpg"
    )
    with transaction.atomic():
        for record in (walk, photo, *_seen(bore, hole, people, word), *_excused(bore, people, word)):
            enter(record, by=people["Foreman"])
        for record in _released(bore, people, word):
            enter(record, by=people["Foreman"])


def _seen(bore: Bore, hole: TestHole, people: dict[str, AbstractUser], word: str) -> Iterator[SignedRecord]:
    now, foreman, name = timezone.now(), people["Foreman"], f"{word} Pell"
    yield CrossingWatch.objects.create(
        bore=bore,
        mark=hole.mark,
        kind="crossing",
        station_m=50.0,
        pass_made=PassMade.PILOT,
        seen=True,
        gap_m=0.9,
        required_m=0.3,
        watched_by=foreman,
        watched_by_name=name,
        watched_at=now,
        remarks=f"{word} watch",
    )
    yield CameraInspection.objects.create(
        bore=bore,
        mark=hole.mark,
        stage="before",
        inspected_at=now,
        inspected_by=f"{word} Cameras",
        result="no_damage",
        recorded_by=foreman,
        recorded_by_name=name,
    )
    yield DamageReport.objects.create(
        job=bore.job,
        kind="near_miss",
        happened_at=now,
        facility_type="electric",
        what_happened=f"{word} cable scraped",
        reported_by=foreman,
        reported_by_name=name,
    )
    yield from _drilled(bore, hole, people, word)
    yield from _passed(bore, people, word)
    yield CloseOut.objects.create(
        bore=bore,
        closed_at=now,
        closed_by=foreman,
        closed_by_name=name,
        remarks=f"{word} done",
        grounds={"crossings": []},
    )


def _drilled(
    bore: Bore, hole: TestHole, people: dict[str, AbstractUser], word: str
) -> Iterator[SignedRecord]:
    """Two rods of which the second was pulled back, and a check of the device."""
    now, foreman, name = timezone.now(), people["Foreman"], f"{word} Pell"
    rod = None
    for number in (1, 2):
        rod = DrilledRod.objects.create(
            bore=bore,
            after=rod,
            number=number,
            length_m=3.0,
            pitch_ratio=-0.1,
            depth_m=0.3 * number,
            remarks=f"{word} rod",
            logged_by=foreman,
            logged_by_name=name,
            logged_at=now,
        )
        yield rod
    yield RodWithdrawal.objects.create(
        rod=rod,
        kind="pull_back",
        reason=f"{word} cobble",
        withdrawn_by=foreman,
        withdrawn_by_name=name,
        withdrawn_at=now,
    )
    yield LocatorCheck.objects.create(
        bore=bore,
        hole=hole,
        device=f"{word} receiver",
        read_depth_m=1.64,
        measured_depth_m=1.6,
        checked_by=foreman,
        checked_by_name=name,
        checked_at=now,
    )


def _passed(bore: Bore, people: dict[str, AbstractUser], word: str) -> Iterator[SignedRecord]:
    """A reamer, and a pullback that was entered wrongly."""
    now, foreman, name = timezone.now(), people["Foreman"], f"{word} Pell"
    one = None
    for kind, diameter_m, conduits in (("reaming", 0.2, []), ("pullback", 0.12, [[2, 0.06]])):
        one = HolePass.objects.create(
            bore=bore,
            kind=kind,
            diameter_m=diameter_m,
            conduits=conduits,
            made_at=now,
            remarks=f"{word} pass",
            logged_by=foreman,
            logged_by_name=name,
            logged_at=now,
        )
        yield one
    yield HolePassWithdrawal.objects.create(
        hole_pass=one,
        reason=f"{word} other bore",
        withdrawn_by=foreman,
        withdrawn_by_name=name,
        withdrawn_at=now,
    )


def _excused(bore: Bore, people: dict[str, AbstractUser], word: str) -> Iterator[SignedRecord]:
    """Two variances: one waits for its signature, one was signed and ended."""
    now, manager, name = timezone.now(), people["Safety manager"], f"{word} Pell"
    for check in ("watch_holes", "surface"):
        variance = Variance.objects.create(
            bore=bore,
            subject="check",
            check_code=check,
            reason=f"{word} reason",
            requested_by=people["Foreman"],
            requested_by_name=name,
            requested_at=now,
        )
        yield variance
    yield VariancePaperFactory(
        variance=variance,
        file_name=f"{word} letter.txt",
        content=f"{word} agrees.".encode(),
        added_by=people["Foreman"],
        added_by_name=name,
    )
    yield VarianceSignature.objects.create(
        variance=variance,
        signed_by=manager,
        signed_by_name=f"{word} Rook",
        signed_at=now,
        valid_from=now,
        valid_until=now + SHIFT,
    )
    yield VarianceEnd.objects.create(
        variance=variance,
        ended_by=manager,
        ended_by_name=f"{word} Rook",
        ended_at=now,
        reason=f"{word} is over",
    )


def _released(bore: Bore, people: dict[str, AbstractUser], word: str) -> Iterator[SignedRecord]:
    """Two releases: one stands as it was signed, one was taken back."""
    now, foreman, name = timezone.now(), people["Foreman"], f"{word} Pell"
    grounds = grounds_of(bore, now)
    for rig in ("rig 1", "rig 2"):
        release = Release.objects.create(
            bore=bore,
            document=grounds.document,
            inputs_digest=grounds.document["inputs_digest"],
            grounds_digest=grounds.digest,
            last_event_id=last_event_id(),
            shift_from=now,
            shift_until=now + SHIFT,
            crew=f"{word} crew",
            rig=f"{word} {rig}",
            signed_by=foreman,
            signed_by_name=name,
            signed_at=now,
        )
        yield release
    yield ReleaseWithdrawal.objects.create(
        release=release,
        withdrawn_by=foreman,
        withdrawn_by_name=name,
        withdrawn_at=now,
        reason=f"{word} rain",
    )
