"""What was signed about a bore, for its clearance record: releases, variances, walks, watches, close-out."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch

from conflicts.checks import Assessed
from conflicts.models import (
    Bore,
    CameraInspection,
    CloseOut,
    CrossingWatch,
    DailyWalk,
    DamageReport,
    Release,
    Variance,
    VariancePaper,
)
from conflicts.record.chain_sheet import RecordChain
from conflicts.record.read_crossings import AtCrossing
from conflicts.record.read_ledger import read_chain
from conflicts.record.read_logged import read_logged
from conflicts.record.read_photos import Photos, read_photos
from conflicts.record.sheet import (
    RecordCamera,
    RecordDamage,
    RecordPhoto,
    RecordSignature,
    RecordUnplanned,
    RecordVariance,
    RecordWalk,
    RecordWatch,
)
from conflicts.record.signatures import signatures_of
from conflicts.record.variances import variances_of
from conflicts.release import Standing
from conflicts.to_watch import crossings_to_watch, place_of_watch, same_place_m
from conflicts.watch_matching import CrossingPlace
from conflicts.watch_table import CrossingWatched, WatchTable, watch_table
from locates.models import TestHole


@dataclass(frozen=True)
class Signed:
    """What was signed about a bore.

    ``closed_out`` says so in a sentence, and is empty where it is not so. ``by_crossing`` is by place along
    the bore, from 0.
    """

    signatures: tuple[RecordSignature, ...]
    closed_out: str
    by_crossing: Mapping[int, AtCrossing]
    gone: tuple[RecordUnplanned, ...]
    drilled_alone: tuple[RecordUnplanned, ...]
    variances: tuple[RecordVariance, ...]
    walks: tuple[RecordWalk, ...]
    lost_watches: tuple[RecordWatch, ...]
    damage: tuple[RecordDamage, ...]
    photos: tuple[RecordPhoto, ...]
    chain: RecordChain


@dataclass(frozen=True)
class _Rows:
    """The rows that were signed about a bore until a moment."""

    releases: list[Release]
    variances: list[Variance]
    walks: list[DailyWalk]
    watches: list[CrossingWatch]
    cameras: list[CameraInspection]
    close_out: CloseOut | None
    damage: list[DamageReport]
    holes: list[TestHole]


def read_signed(bore: Bore, assessed: Assessed, at: datetime, standings: Mapping[UUID, Standing]) -> Signed:
    """Everything signed about a bore until a moment, in a fixed number of queries.

    Parameters
    ----------
    bore : Bore
    assessed : Assessed
    at : datetime
    standings : mapping of UUID to Standing
        How releases stand, by id: the last one, and each whose shift is not over.
    """
    rows = _rows(bore, assessed, at)
    photos = read_photos(bore.job, _subjects(bore, assessed, rows))
    table = watch_table(assessed, bore.pilot_diameter_m)
    at_crossings = _by_crossing(table, assessed, rows, photos)
    close_out = rows.close_out
    closed = ""
    if close_out is not None:
        closed = f"Closed out by {close_out.closed_by_name}."
        if close_out.remarks:
            closed = f"{closed} {close_out.remarks}"
    return Signed(
        signatures=signatures_of(rows.releases, standings, rows.variances, close_out, at),
        closed_out=closed,
        by_crossing=at_crossings,
        gone=tuple(_unplanned(row, at_crossings[row.place]) for row in table.gone),
        drilled_alone=tuple(_unplanned(row, at_crossings[row.place]) for row in table.drilled),
        variances=variances_of(rows.variances, assessed, photos),
        walks=tuple(_walk(one, photos) for one in rows.walks),
        lost_watches=tuple(_watch(one) for one in rows.watches if _place_of(one, assessed) is None),
        damage=tuple(_damage(one, photos) for one in rows.damage),
        photos=photos.of(bore.pk),
        chain=read_chain(_entered(rows) | photos.ids, read_logged(bore, at)),
    )


def _rows(bore: Bore, assessed: Assessed, at: datetime) -> _Rows:
    marks = {UUID(one.mark.mark_id) for one in assessed.crossings}
    signed = ("entered_at", "id")
    return _Rows(
        releases=list(
            Release.objects.filter(bore=bore, signed_at__lte=at)
            .select_related("withdrawal")
            .order_by("signed_at", *signed)
        ),
        variances=list(
            Variance.objects.filter(bore=bore, requested_at__lte=at)
            .select_related("mark", "signature", "end")
            .prefetch_related(Prefetch("papers", VariancePaper.objects.listed()))
            .order_by("requested_at", *signed)
        ),
        walks=list(DailyWalk.objects.filter(bore=bore, walked_at__lte=at).order_by("walked_at", *signed)),
        watches=list(
            CrossingWatch.objects.filter(bore=bore, watched_at__lte=at)
            .select_related("mark")
            .order_by("watched_at", *signed)
        ),
        cameras=list(
            CameraInspection.objects.filter(bore=bore, inspected_at__lte=at)
            .select_related("mark")
            .order_by("inspected_at", *signed)
        ),
        close_out=CloseOut.objects.filter(bore=bore, closed_at__lte=at).first(),
        damage=list(
            DamageReport.objects.of_bores([bore])
            .filter(happened_at__lte=at)
            .select_related("mark")
            .order_by("happened_at", *signed)
        ),
        holes=list(TestHole.objects.filter(mark__in=marks).order_by("ref")),
    )


def _entered(rows: _Rows) -> set[UUID]:
    """Ids of what was signed and may have an entry of its own; what was logged has its own reader."""
    signed = [*rows.releases, *rows.variances, *rows.walks, *rows.watches, *rows.cameras, *rows.damage]
    ids = {one.pk for one in signed}
    ids |= {paper.pk for one in rows.variances for paper in one.papers.all()}
    ids |= {one.withdrawal.pk for one in rows.releases if hasattr(one, "withdrawal")}
    for name in ("signature", "end"):
        ids |= {getattr(one, name).pk for one in rows.variances if hasattr(one, name)}
    return ids if rows.close_out is None else ids | {rows.close_out.pk}


def _subjects(bore: Bore, assessed: Assessed, rows: _Rows) -> dict[UUID, str]:
    """Whose photos are printed, and what each is called beside them."""
    subjects = {bore.pk: f"bore {bore.name}"}
    subjects |= {UUID(one.mark.mark_id): f"mark {one.mark.ref}" for one in assessed.crossings}
    subjects |= {one.pk: f"test hole {one.ref}" for one in rows.holes}
    subjects |= {one.pk: f"watch of {one.mark.ref}, {one.pass_made}" for one in rows.watches}
    subjects |= {one.pk: f"camera inspection of {one.mark.ref}" for one in rows.cameras}
    subjects |= {one.pk: one.get_kind_display() for one in rows.damage}
    subjects |= {one.pk: "variance" for one in rows.variances}
    return subjects | {one.pk: "daily walk" for one in rows.walks}


def _by_crossing(table: WatchTable, assessed: Assessed, rows: _Rows, photos: Photos) -> dict[int, AtCrossing]:
    """Watches, passes that are not settled, inspections and photos at each crossing, also those gone."""
    found: dict[int, AtCrossing] = defaultdict(AtCrossing)
    for row in table.rows:
        place, mark_id = row.place, row.lies.mark_id
        if not row.lies.is_gone:
            found[place].photos += photos.of(UUID(mark_id))
        for hole in rows.holes:
            if str(hole.mark_id) == mark_id and not row.lies.is_gone:
                found[place].photos += photos.of(hole.pk)
        looks = [look for look in rows.cameras if str(look.mark_id) == mark_id]
        found[place].cameras += [_camera(look) for look in looks]
        for look in looks:
            found[place].photos += photos.of(look.pk)
        found[place].passes_needed += [one.pass_made for one in row.passes if not one.is_settled]
    for watch in rows.watches:
        place = _place_of(watch, assessed)
        if place is not None:
            found[place].watches.append(_watch(watch))
            found[place].photos += photos.of(watch.pk)
    return found


def _unplanned(row: CrossingWatched, at: AtCrossing) -> RecordUnplanned:
    return RecordUnplanned(
        mark_ref=row.lies.mark_ref,
        operator=row.lies.operator,
        kind=row.lies.kind,
        station_m=row.lies.station_m,
        verdict=row.lies.verdict,
        worst_case_m=row.lies.worst_case_m,
        required_m=row.lies.required_m,
        named_at=None if row.lies.named is None else row.lies.named.named_at,
        met_by_rod=None if row.lies.named is None else row.lies.named.rod,
        excused_by="" if row.excuse is None else row.excuse.signed_by,
        passes_needed=tuple(at.passes_needed),
        watches=tuple(at.watches),
        cameras=tuple(at.cameras),
        photos=tuple(at.photos),
    )


def _place_of(watch: CrossingWatch, assessed: Assessed) -> int | None:
    """The place among those to watch of the crossing that a watch belongs to; None where it proves none."""
    watched = CrossingPlace(str(watch.mark_id), watch.kind, watch.station_m)
    return place_of_watch(watched, crossings_to_watch(assessed), same_place_m(assessed))


def _watch(row: CrossingWatch) -> RecordWatch:
    return RecordWatch(
        pass_made=row.get_pass_made_display(),
        seen=row.seen,
        gap_m=row.gap_m,
        required_m=row.required_m,
        head_depth_m=row.head_depth_m,
        watched_by=row.watched_by_name,
        watched_at=row.watched_at,
        remarks=row.remarks,
        confirmed=tuple(one["sentence"] for one in row.confirmed or ()),
    )


def _camera(row: CameraInspection) -> RecordCamera:
    return RecordCamera(
        stage=row.get_stage_display(),
        result=row.get_result_display(),
        inspected_at=row.inspected_at,
        inspected_by=row.inspected_by,
        remarks=row.remarks,
    )


def _walk(walk: DailyWalk, photos: Photos) -> RecordWalk:
    return RecordWalk(
        walked_at=walk.walked_at,
        walked_by=walk.walked_by_name,
        marks_intact=walk.marks_intact,
        device_checked=walk.device_checked,
        device=walk.device,
        holes_open=walk.holes_open,
        remarks=walk.remarks,
        photos=photos.of(walk.pk),
    )


def _damage(report: DamageReport, photos: Photos) -> RecordDamage:
    return RecordDamage(
        kind=report.get_kind_display(),
        happened_at=report.happened_at,
        facility_name=report.get_facility_type_display(),
        mark_ref="" if report.mark is None else report.mark.ref,
        operator=report.operator,
        names_bore=report.bore_id is not None,
        place=report.place,
        what_happened=report.what_happened,
        who_was_called=report.who_was_called,
        reported_by=report.reported_by_name,
        entered_at=report.entered_at,
        photos=photos.of(report.pk),
    )
