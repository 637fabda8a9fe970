"""Reads what was seen, excused and signed at the sites of many bores, in a few queries."""

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from conflicts.found_inputs import CameraInput, DamageInput
from conflicts.gather_passes import gather_passes
from conflicts.gather_rods import drilled_logs
from conflicts.hole_passes import HoleSize, PassLog, hole_as_made
from conflicts.models import (
    Bore,
    CameraInspection,
    CrossingWatch,
    DailyWalk,
    DamageReport,
    Variance,
)
from conflicts.models.named_crossings import named_crossings
from conflicts.pull_backs import PulledBack, RodOfHole, pull_backs
from conflicts.site_records import (
    NamedCrossing,
    SiteRecords,
    VarianceInput,
    WalkInput,
    WatchInput,
)
from conflicts.watch_oddities import WatchOddity
from locates.models import RecordEvent


@dataclass(frozen=True)
class _Course:
    """From when a bore might be drilled under a release, and when it was closed out; None where not so."""

    released_from: datetime | None
    is_reaming_released: bool
    closed_out_at: datetime | None
    pulled_back: tuple[PulledBack, ...]


def gather_site(bores: Sequence[Bore], rods_until: datetime | None = None) -> Mapping[UUID, SiteRecords]:
    """The site records of bores that were read with their job and its rule, by bore.

    Of the rods those up to a moment if one is given.
    """
    walks, variances, cameras, watches = _walks(bores), _variances(bores), _cameras(bores), _watches(bores)
    course, named = _course(bores)
    rezoned = _rezoned(bores, walks)
    damage, passes = DamageReport.objects.of_bores(bores), gather_passes(bores)
    logs = drilled_logs(bores, rods_until)
    return {
        bore.pk: SiteRecords(
            walks=tuple(walks[bore.pk]),
            variances=tuple(variances[bore.pk]),
            cameras=tuple(cameras[bore.pk]),
            watches=tuple(watches[bore.pk]),
            damage=tuple(str(one.pk) for one in damage if one.is_of(bore)),
            reports=tuple(
                DamageInput(one.kind, one.happened_at, one.entered_at) for one in damage if one.is_of(bore)
            ),
            never_waived=tuple(bore.job.jurisdiction.checks_never_waived),
            released_from=course[bore.pk].released_from,
            is_reaming_released=course[bore.pk].is_reaming_released,
            closed_out_at=course[bore.pk].closed_out_at,
            named=tuple(named[bore.pk]),
            passes=passes[bore.pk],
            made=_made(bore, passes[bore.pk]),
            pulled_back=course[bore.pk].pulled_back,
            log=logs.get(bore.pk),
            rezoned_at=tuple(rezoned.get(bore.job_id, ())),
        )
        for bore in bores
    }


def _made(bore: Bore, passes: PassLog) -> HoleSize | None:
    if not passes.passes:
        return None
    return hole_as_made(bore.final_diameter_m, bore.pilot_diameter_m, passes)


def _walks(bores: Sequence[Bore]) -> Mapping[UUID, list[WalkInput]]:
    found: dict[UUID, list[WalkInput]] = defaultdict(list)
    for one in DailyWalk.objects.filter(bore__in=bores).newest_first().reverse():
        found[one.bore_id].append(
            WalkInput(
                one.walked_at,
                one.walked_by_name,
                one.marks_intact,
                one.device_checked,
                one.holes_open,
                one.time_zone or "",
            )
        )
    return found


def _rezoned(bores: Sequence[Bore], walks: Mapping[UUID, list[WalkInput]]) -> Mapping[UUID, list[datetime]]:
    """When the time zones were changed of the jobs whose walks do not keep theirs, by job."""
    jobs = {bore.job_id for bore in bores if any(not one.time_zone for one in walks[bore.pk])}
    return RecordEvent.objects.zone_changes(jobs) if jobs else {}


def _variances(bores: Sequence[Bore]) -> Mapping[UUID, list[VarianceInput]]:
    """Those that are signed: what is only asked for excuses nothing."""
    signed = Variance.objects.filter(bore__in=bores, signature__isnull=False)
    found: dict[UUID, list[VarianceInput]] = defaultdict(list)
    for one in signed.select_related("signature", "end").order_by("signature__signed_at", "id"):
        ended = getattr(one, "end", None)
        faults = one.signature.faults
        found[one.bore_id].append(
            VarianceInput(
                variance_id=str(one.pk),
                subject=one.subject,
                check_code=one.check_code,
                mark_id=None if one.mark_id is None else str(one.mark_id),
                kind=one.kind,
                station_m=one.station_m,
                reason=one.reason,
                signed_by=one.signature.signed_by_name,
                signed_at=one.signature.signed_at,
                valid_from=one.signature.valid_from,
                valid_until=one.signature.valid_until,
                ended_at=None if ended is None else ended.ended_at,
                pass_made=one.pass_made or "",
                faults=None if faults is None else tuple(key for key, _words in faults),
                verdict=one.signature.verdict or "",
                worst_case_m=one.signature.worst_case_m,
                required_m=one.signature.required_m,
                is_none_attached=one.signature.covered == [],
            )
        )
    return found


def _course(bores: Sequence[Bore]) -> tuple[Mapping[UUID, _Course], Mapping[UUID, list[NamedCrossing]]]:
    """What became of each bore, and the crossings that releases name."""
    course: dict[UUID, _Course] = {}
    named: dict[UUID, list[NamedCrossing]] = defaultdict(list)
    for bore_id, from_at, is_reamed, closed_at, rods, *crossing in named_crossings(
        [bore.pk for bore in bores]
    ):
        if bore_id not in course:
            pulled_back = pull_backs(_rod(one) for one in json.loads(rods or "[]"))
            course[bore_id] = _Course(from_at, is_reamed, closed_at, pulled_back)
        if crossing[0] is not None:
            named[bore_id].append(NamedCrossing(*crossing))
    return course, named


def _rod(values: Sequence[Any]) -> RodOfHole:
    *read, pulled_back_at, logged_at, is_undone = values
    at = None if pulled_back_at is None else datetime.fromisoformat(pulled_back_at)
    return RodOfHole(*read, at, datetime.fromisoformat(logged_at), is_undone)


def _cameras(bores: Sequence[Bore]) -> Mapping[UUID, list[CameraInput]]:
    found: dict[UUID, list[CameraInput]] = defaultdict(list)
    for one in CameraInspection.objects.filter(bore__in=bores).order_by("inspected_at", "entered_at", "id"):
        found[one.bore_id].append(CameraInput(str(one.mark_id), one.stage, one.inspected_at, one.result))
    return found


def _codes(watch: CrossingWatch) -> set[str]:
    """What the questions were about that were answered with "it is so"."""
    return {asked["code"] for asked in watch.confirmed or ()}


def _watches(bores: Sequence[Bore]) -> Mapping[UUID, list[WatchInput]]:
    found: dict[UUID, list[WatchInput]] = defaultdict(list)
    watches = CrossingWatch.objects.filter(bore__in=bores).select_related("mark")
    for one in watches.order_by("watched_at", "entered_at", "id"):
        found[one.bore_id].append(
            WatchInput(
                watch_id=str(one.pk),
                mark_id=str(one.mark_id),
                mark_ref=one.mark.ref,
                kind=one.kind,
                station_m=one.station_m,
                pass_made=one.pass_made,
                seen=one.seen,
                gap_m=one.gap_m,
                required_m=one.required_m,
                head_depth_m=one.head_depth_m,
                hole_bottom_m=one.hole_bottom_m,
                watched_at=one.watched_at,
                watched_by=one.watched_by_name,
                is_ahead_of_log=WatchOddity.HEAD_SHORT in _codes(one),
                is_before_exit=WatchOddity.HOLE_SHORT in _codes(one),
            )
        )
    return found
