"""All that a bore's clearance record says, read from one state of the database in few queries."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection, transaction

from conflicts.assess import compute_bores, document
from conflicts.checks import Assessed
from conflicts.drawing.on_paper import on_paper
from conflicts.drawing.plan import draw_plan
from conflicts.drawing.profile import draw_profile
from conflicts.ground_changes import changes_since
from conflicts.models import Bore, Release
from conflicts.record.read_crossings import read_crossings
from conflicts.record.read_signed import Signed, read_signed
from conflicts.record.read_tickets import read_tickets
from conflicts.record.sheet import (
    ClearanceRecord,
    Picture,
    RecordBore,
    RecordCheck,
    RecordJob,
    RecordVerdict,
)
from conflicts.release import Standing, standing_at
from conflicts.templatetags.checks import check_title
from conflicts.views.facility_words import FACILITY_WORDS
from locates.models import Job


def read_clearance_record(bore_id: UUID, at: datetime | None = None) -> ClearanceRecord:
    """The clearance record of a bore.

    Parameters
    ----------
    bore_id : UUID
    at : datetime, optional
        The moment it is for; by default that of the reading, by the database's clock.

    Raises
    ------
    Bore.DoesNotExist
        A bore that is not there or is retired.
    EngineError
        Records that no figure can be computed from.
    """
    if connection.in_atomic_block:
        return _read(bore_id, at)
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        return _read(bore_id, at)


def _read(bore_id: UUID, at: datetime | None) -> ClearanceRecord:
    bore = Bore.objects.select_related("job__organisation", "job__jurisdiction").get(pk=bore_id)
    at = at or _moment()
    assessed = compute_bores([bore.pk])[bore.pk].at(at)
    members = document(assessed)
    signed = read_signed(bore, assessed, at)
    plan = draw_plan(assessed.scene, assessed.crossings, FACILITY_WORDS)
    profile = draw_profile(assessed.scene, assessed.crossings, FACILITY_WORDS)
    return ClearanceRecord(
        as_of=at,
        job=_job(bore.job, assessed),
        bore=_bore(bore, members),
        verdict=_verdict(members, signed, _standing(bore, at)),
        assessment_digest=members["inputs_digest"],
        checks=tuple(
            RecordCheck(check_title(one["code"]), one["holds"], one["sentence"]) for one in members["checks"]
        ),
        coverage_gaps_m=tuple((gap["from_m"], gap["to_m"]) for gap in members["coverage_gaps"]),
        signatures=signed.signatures,
        plan=Picture(on_paper(plan.svg), plan.words),
        profile=Picture(on_paper(profile.svg), profile_words(members, profile.exaggeration)),
        crossings=read_crossings(assessed, members["crossings"], signed.by_crossing),
        tickets=read_tickets(bore.job, at),
        variances=signed.variances,
        walks=signed.walks,
        lost_watches=signed.lost_watches,
        photos=signed.photos,
        chain=signed.chain,
    )


def profile_words(members: dict[str, Any], exaggeration: int) -> str:
    """What the profile shows, for who does not see it."""
    larger = "as large as" if exaggeration == 1 else f"{exaggeration} times as large as"
    return (
        f"Profile of {members['bore']} from the entry to the exit: ground, finished hole and the "
        f"{len(members['crossings'])} crossings at their stations, heights drawn {larger} lengths. Every "
        "figure of it stands in the table of crossings."
    )


def _moment() -> datetime:
    """The database's clock, to the second."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT date_trunc('second', now())")
        return cursor.fetchone()[0]


def _job(job: Job, assessed: Assessed) -> RecordJob:
    inputs, rule = assessed.scene.inputs.job, job.jurisdiction
    return RecordJob(
        name=job.name,
        organisation=job.organisation.name,
        time_zone=job.time_zone,
        show_units=job.show_units,
        datum=job.datum,
        rule=str(rule),
        rule_citation=rule.citation,
        rule_checked_on=rule.checked_on.isoformat(),
        tolerance_zone_m=inputs.tolerance_zone_m,
        reach_m=inputs.reach_m,
        spacing_m=inputs.spacing_m,
        bore_horizontal_m=inputs.bore_horizontal_m,
        bore_vertical_m=inputs.bore_vertical_m,
        test_hole_m=inputs.test_hole_m,
        slope_ratio=inputs.slope_ratio,
    )


def _bore(bore: Bore, members: dict[str, Any]) -> RecordBore:
    return RecordBore(
        name=bore.name,
        length_m=members["length_m"],
        final_diameter_m=bore.final_diameter_m,
        pilot_diameter_m=bore.pilot_diameter_m,
        product=bore.product,
        planned_start_at=bore.planned_start_at,
        planned_finish_at=bore.planned_finish_at,
    )


def _verdict(members: dict[str, Any], signed: Signed, standing: Standing | None) -> RecordVerdict:
    """What the cover says: drilled, released, or what stands against it."""
    held = [check_title(one["code"]) for one in members["checks"] if one["holds"]]
    count = len(members["checks"])
    holding = f"{len(held)} of {count} checks hold: {', '.join(held)}."
    passed = f"All {count} checks pass as of this record."
    if signed.closed_out:
        now = holding if held else passed
        return RecordVerdict("Drilled and closed out", stops=False, because=(signed.closed_out, now))
    if standing is not None and standing.is_in_force:
        return RecordVerdict(
            "Released", stops=False, because=(*standing.reasons, holding if held else passed)
        )
    why = ("No release is signed.",) if standing is None else standing.reasons
    if held:
        return RecordVerdict("Not released: do not drill", stops=True, because=(holding, *why))
    return RecordVerdict("Not released", stops=True, because=(*why, passed))


def _standing(bore: Bore, at: datetime) -> Standing | None:
    """How the last release of a bore stands at a moment; None where none was ever signed."""
    releases = Release.objects.filter(bore=bore, signed_at__lte=at).with_course()
    release = releases.newest_first().first()
    if release is None:
        return None
    return standing_at(release, at, changes_since(release.bore, release.last_event_id))
