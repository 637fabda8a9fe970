"""What a close-out lacks of the camera: lines that a conduit may lie in, and nobody looked into since."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from conflicts.checks import Assessed, Check
from conflicts.faults import Fault
from conflicts.found_inputs import CameraInput, last_camera
from conflicts.hole_passes import PassLog
from conflicts.met_lines import every_line_met
from conflicts.site_records import SiteRecords, variance_for_check
from conflicts.to_watch import ToWatch
from conflicts.variance_reasons import not_excused_check
from conflicts.watch_table import CrossingWatched, WatchTable, gone_words, watch_table

SEWER, UNKNOWN = "sewer_drain", "unknown"
LAST_PASS = "pullback"  # noqa: S105 - what passes a line last

# A ground of the close-out alone, not one of the checks behind a release.
CAMERA = "camera"
NO_DAMAGE = "no_damage"
LOOKED = "Every line that may be a sewer was looked into, or is one by its mark."

RELEASED_AS = "a sewer when it was released"
DRILLED_AS = "a sewer when it was drilled past"
MAY_BE = "of unknown type: it may be a gravity sewer"


@dataclass(frozen=True)
class Unseen:
    """A line that is to be looked into, with what its last look lacks.

    ``fault`` is what a variance excuses: of a line whose mark does not say that it is a sewer alone, and of
    none in which the camera saw anything but no damage.
    """

    told: str
    missing: str
    fault: Fault | None


def camera_faults(table: WatchTable, assessed: Assessed) -> list[str]:
    """Sentences on the lines that were not looked into since the pullback, by what is missing.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed
    """
    site, at = assessed.site, assessed.at
    left = [
        one
        for one in _unseen(table, assessed)
        if one.fault is None or variance_for_check(site, CAMERA, [one.fault.key], at) is None
    ]
    found: dict[str, list[str]] = {}
    for one in left:
        found.setdefault(one.missing, []).append(one.told)
    faults = [one.fault for one in left if one.fault is not None]
    zone = assessed.scene.inputs.job.time_zone
    why = not_excused_check(site, CAMERA, faults, at, zone) if faults else ""
    told = [f"{missing}: {'; '.join(refs)}." for missing, refs in found.items()]
    return [*told, why] if why else told


def camera_check(assessed: Assessed) -> Check:
    """What of the camera a variance may excuse, as one is held against it.

    Parameters
    ----------
    assessed : Assessed
    """
    unseen = _unseen(watch_table(assessed, None), assessed)
    faults = tuple(one.fault for one in unseen if one.fault is not None)
    words = " ".join(one.words for one in faults)
    return Check(CAMERA, holds=bool(faults), sentence=words or LOOKED, faults=faults)


def may_be_sewer(lies: ToWatch, site: SiteRecords) -> bool:
    """Whether a line is a sewer, was one when it was released or drilled past, or is of no known type.

    Parameters
    ----------
    lies : ToWatch
    site : SiteRecords
        Of the same bore.
    """
    return lies.facility_type in (SEWER, UNKNOWN) or bool(_was_sewer(lies, site))


def _unseen(table: WatchTable, assessed: Assessed) -> list[Unseen]:
    moved_at = _last_moved(table.rows, assessed.site.passes)
    found = []
    for mark_id, rows in _to_look_into(table.rows, assessed.site).items():
        look = last_camera(assessed.site.cameras, mark_id, "after", assessed.at)
        missing = _missing(look, moved_at)
        if missing:
            is_excusable = rows[0].lies.facility_type != SEWER and (look is None or look.result == NO_DAMAGE)
            told = _told(rows, assessed.site)
            fault = Fault(f"camera {mark_id} {rows[0].lies.facility_type}", f"{missing}: {told}.")
            found.append(Unseen(told, missing, fault if is_excusable else None))
    return found


def _told(rows: Sequence[CrossingWatched], site: SiteRecords) -> str:
    """A line by its reference, and why it is looked into where its mark does not say so."""
    lies = rows[0].lies
    told = [lies.mark_ref]
    if lies.facility_type != SEWER:
        told.append(_was_sewer(lies, site) or MAY_BE)
    if all(row.lies.is_gone for row in rows):
        told.append(gone_words(rows[0]))
    return ", ".join(told)


def _missing(look: CameraInput | None, moved_at: datetime | None) -> str:
    if look is None:
        return "No camera inspection after the bore of the sewer"
    if moved_at is not None and look.inspected_at < moved_at:
        return "The camera looked in before the pullback, look again"
    return "" if look.result == NO_DAMAGE else "The camera inspection did not show without damage the sewer"


def _to_look_into(rows: Sequence[CrossingWatched], site: SiteRecords) -> dict[str, list[CrossingWatched]]:
    """The lines that are or may be sewers, but for those that are gone and excused as a whole."""
    found: dict[str, list[CrossingWatched]] = {}
    for row in rows:
        if may_be_sewer(row.lies, site) and row.excuse is None:
            found.setdefault(row.lies.mark_id or row.lies.mark_ref, []).append(row)
    return found


def _was_sewer(lies: ToWatch, site: SiteRecords) -> str:
    """What named a line as a sewer, whatever it is called since: a release, a rod that met it, or nothing."""
    if any(
        SEWER in one.every_type
        for one in site.named
        if (one.mark_id == lies.mark_id if one.mark_id else one.mark_ref == lies.mark_ref)
    ):
        return RELEASED_AS
    is_met = any(
        one.line.facility_type == SEWER
        for one in every_line_met(site.log)
        if one.line.mark_id == lies.mark_id
    )
    return DRILLED_AS if is_met else ""


def _last_moved(rows: Sequence[CrossingWatched], passes: PassLog) -> datetime | None:
    """When the conduit, or a reamer, was last known to move anywhere on the bore: it passes every line.

    That is when the conduit was last watched, and when either was last through as the log has it. Where a
    variance stands for such a watch it may have moved until that was signed; not where one says of a crossing
    that is gone as a whole that the bore does not pass it.
    """
    pulled = [(row, one) for row in rows for one in row.passes if one.pass_made == LAST_PASS]
    watched = [one.watch.watched_at for _, one in pulled if one.watch]
    excused = [one.excuse.signed_at for row, one in pulled if one.excuse and one.excuse is not row.excuse]
    through = [one.through_at for one in passes.passes]
    return max([*watched, *excused, *through], default=None)
