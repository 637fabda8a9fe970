"""Assessing a bore: gather its inputs, compute, hold against the checks, store, and write the document."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from conflicts.checks import Assessed, Check, assessed_at, release_checks
from conflicts.crossings import FoundCrossing, find_crossings
from conflicts.drilled_alone import DrilledAlone, drilled_alone_now
from conflicts.gather import gather
from conflicts.inputs import BoreInputs
from conflicts.models import Assessment, Bore, Crossing, DrilledAloneCrossing
from conflicts.scene import Scene, lay_out
from conflicts.site_records import SiteRecords
from locates.minus import plain_minus
from locates.models import Job

SCHEMA_VERSION = 1


@dataclass(frozen=True, eq=False)
class Computed:
    """A bore computed from its records: the digest of its inputs, its scene and its crossings."""

    inputs_digest: str
    scene: Scene
    crossings: list[FoundCrossing]

    def at(self, moment: datetime, site: SiteRecords | None = None) -> Assessed:
        """The same held against the tickets of a moment, and against what was recorded at the site.

        Without ``site`` it is what was read with the inputs; figures that were computed before know only the
        site of then.
        """
        return assessed_at(
            self.scene, self.crossings, moment, self.scene.inputs.site if site is None else site
        )


@dataclass(frozen=True)
class StoredFigures:
    """The stored figures of a bore, which its records still give."""

    assessment: Assessment
    crossings: list[Crossing]


def compute(inputs: BoreInputs) -> Computed:
    """Everything about a bore that does not depend on the moment."""
    scene = lay_out(inputs)
    return Computed(inputs.digest(), scene, find_crossings(scene))


def compute_bores(bore_ids: Iterable[UUID], rods_until: datetime | None = None) -> dict[UUID, Computed]:
    """Many bores computed from one reading of the records, with the rods up to a moment if one is given."""
    return {bore_id: compute(inputs) for bore_id, inputs in gather(bore_ids, rods_until).items()}


def assess(bore: Bore, at: datetime) -> dict[str, Any]:
    """The assessment document of a bore at a moment, computed from the records as they are now.

    It is for programs: negative figures in its sentences have a hyphen, which those of a page do not.

    Raises
    ------
    EngineError
        Records that no figure can be computed from.
    """
    found = document(compute_bores([bore.pk])[bore.pk].at(at))
    for part in (*found["checks"], *found["crossings"]):
        part["sentence"] = plain_minus(part["sentence"])
    return found


def document(assessed: Assessed, checks: Sequence[Check] | None = None) -> dict[str, Any]:
    """The assessment document: the one place that turns an assessment into it, with its checks if made."""
    inputs = assessed.scene.inputs
    return {
        "schema_version": SCHEMA_VERSION,
        "job": inputs.job.name,
        "bore": inputs.name,
        "length_m": assessed.scene.path.length_m,
        "inputs_digest": inputs.digest(),
        "checks": [
            {"code": check.code, "holds": check.holds, "sentence": check.sentence}
            for check in (release_checks(assessed) if checks is None else checks)
        ],
        "coverage_gaps": [{"from_m": low, "to_m": high} for low, high in assessed.cover.gaps_m],
        "crossings": [crossing_members(one) for one in assessed.crossings],
    }


def crossing_members(found: FoundCrossing) -> dict[str, Any]:
    """The members of one crossing in the assessment document."""
    figures = found.clearance
    return {
        "mark_ref": found.mark.ref,
        "operator": found.mark.operator,
        "facility_type": found.mark.facility_type,
        "kind": figures.kind,
        "from_m": figures.from_m,
        "to_m": figures.to_m,
        "station_m": figures.station_m,
        "angle_deg": figures.angle_deg,
        "exposed": found.is_exposed,
        "passes": figures.passes,
        "horizontal_m": figures.horizontal_m,
        "vertical_m": figures.vertical_m,
        "separation_m": figures.separation_m,
        "worst_case_m": figures.worst_case_m,
        "likely_m": figures.likely_m,
        "required_m": found.required_m,
        "verdict": str(found.verdict),
        "sentence": found.sentence,
    }


def current_digest(bore: Bore) -> str:
    """Digest of a bore's inputs as the records are now."""
    return gather([bore.pk])[bore.pk].digest()


def stored_figures(bore: Bore) -> StoredFigures | None:
    """The stored figures of a bore, or None where there are none or the records have changed since."""
    stored = Assessment.objects.filter(bore=bore).first()
    if stored is None or stored.inputs_digest != current_digest(bore):
        return None
    return StoredFigures(stored, list(stored.crossings.select_related("mark").order_by("sequence")))


def store_assessment(bore_id: UUID) -> bool:
    """Compute a bore and store its figures, and what its drilled hole alone meets, unless both are stored.

    Returns
    -------
    bool
        Whether anything was stored. Safe to run twice, and at the same time: the rows of the job and the
        bore are locked. Figures of records that changed meanwhile are not stored.

    Raises
    ------
    EngineError
        Records that no figure can be computed from.
    """
    inputs = gather([bore_id]).get(bore_id)
    if inputs is None or _is_stored(bore_id, inputs):
        return False
    computed = compute(inputs)
    alone = drilled_alone_now(computed.at(timezone.now()))
    with transaction.atomic():
        # Whoever changes or deletes a record touches its job's row first: held, it keeps them apart from us.
        jobs = Job.objects.select_for_update(of=("self",), no_key=True).filter(bores=bore_id)
        if not jobs.exists() or not Bore.objects.select_for_update().filter(pk=bore_id).exists():
            return False
        now = gather([bore_id])[bore_id]
        if (now.digest(), now.drilled_digest()) != (computed.inputs_digest, inputs.drilled_digest()):
            return False
        stored = _stored_plan(bore_id, computed)
        DrilledAloneCrossing.objects.filter(bore=bore_id).delete()
        DrilledAloneCrossing.objects.bulk_create(
            _drilled_alone(stored, sequence, found) for sequence, found in enumerate(alone)
        )
        Assessment.objects.filter(pk=stored.pk).update(drilled_digest=inputs.drilled_digest())
    return True


def _is_stored(bore_id: UUID, inputs: BoreInputs) -> bool:
    return Assessment.objects.filter(
        bore=bore_id, inputs_digest=inputs.digest(), drilled_digest=inputs.drilled_digest()
    ).exists()


def _stored_plan(bore_id: UUID, computed: Computed) -> Assessment:
    """The stored figures of the plan, made anew unless they are of the same inputs."""
    there = Assessment.objects.filter(bore=bore_id).first()
    if there is not None and there.inputs_digest == computed.inputs_digest:
        return there
    Assessment.objects.filter(bore=bore_id).delete()
    stored = Assessment.objects.create(
        bore_id=bore_id,
        inputs_digest=computed.inputs_digest,
        length_m=computed.scene.path.length_m,
        assessed_at=timezone.now(),
    )
    Crossing.objects.bulk_create(
        _crossing(stored, sequence, found) for sequence, found in enumerate(computed.crossings)
    )
    return stored


def _crossing(stored: Assessment, sequence: int, found: FoundCrossing) -> Crossing:
    members = crossing_members(found)
    members["passes"] = members["passes"] or ""
    return Crossing(
        assessment=stored,
        bore_id=stored.bore_id,
        inputs_digest=stored.inputs_digest,
        sequence=sequence,
        mark_id=UUID(found.mark.mark_id),
        longitude_deg=found.longitude_deg,
        latitude_deg=found.latitude_deg,
        **members,
    )


def _drilled_alone(stored: Assessment, sequence: int, found: DrilledAlone) -> DrilledAloneCrossing:
    lies = found.lies
    return DrilledAloneCrossing(
        assessment=stored,
        bore_id=stored.bore_id,
        sequence=sequence,
        mark_id=UUID(lies.mark_id) if lies.mark_id else None,
        mark_ref=lies.mark_ref,
        operator=lies.operator,
        facility_type=lies.facility_type,
        kind=lies.kind,
        leg=lies.leg,
        is_gone=lies.is_gone,
        from_m=lies.from_m,
        to_m=lies.to_m,
        station_m=lies.station_m,
        worst_case_m=found.worst_case_m,
        required_m=found.required_m,
        verdict=lies.verdict,
        drilled_at=found.rod.logged_at,
        drilled_by_name=found.rod.logged_by,
    )
