"""What a close-out lacks of the camera: lines that a conduit may lie in, and nobody looked into since."""

from collections.abc import Sequence
from datetime import datetime

from conflicts.checks import Assessed
from conflicts.hole_passes import PassLog
from conflicts.site_records import CameraInput, NamedCrossing, last_camera
from conflicts.to_watch import ToWatch
from conflicts.watch_table import GONE, CrossingWatched, WatchTable

SEWER = "sewer_drain"
LAST_PASS = "pullback"  # noqa: S105 - what passes a line last


def camera_faults(table: WatchTable, assessed: Assessed) -> list[str]:
    """Sentences on the sewers that were crossed and not looked into since the pullback, by what is missing.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed
    """
    moved_at = _last_moved(table.rows, assessed.site.passes)
    found: dict[str, list[str]] = {}
    for mark_id, rows in _sewers(table.rows, assessed.site.named).items():
        missing = _missing(last_camera(assessed.site, mark_id, "after", assessed.at), moved_at)
        if missing:
            found.setdefault(missing, []).append(_told(rows))
    return [f"{missing}: {'; '.join(refs)}." for missing, refs in found.items()]


def _told(rows: Sequence[CrossingWatched]) -> str:
    """A line by its reference, and why it is looked into where its mark does not say so."""
    lies = rows[0].lies
    told = [lies.mark_ref]
    if lies.facility_type != SEWER:
        told.append("a sewer when it was released")
    if all(row.lies.is_gone for row in rows):
        told.append(GONE)
    return ", ".join(told)


def _missing(look: CameraInput | None, moved_at: datetime | None) -> str:
    if look is None:
        return "No camera inspection after the bore of the sewer"
    if moved_at is not None and look.inspected_at < moved_at:
        return "The camera looked in before the pullback, look again"
    return "" if look.result == "no_damage" else "The camera inspection did not show without damage the sewer"


def _sewers(
    rows: Sequence[CrossingWatched], named: Sequence[NamedCrossing]
) -> dict[str, list[CrossingWatched]]:
    """The sewers that are crossed, but for those that are gone and excused as a whole."""
    found: dict[str, list[CrossingWatched]] = {}
    for row in rows:
        if _is_sewer(row.lies, named) and row.excuse is None:
            found.setdefault(row.lies.mark_id or row.lies.mark_ref, []).append(row)
    return found


def _is_sewer(lies: ToWatch, named: Sequence[NamedCrossing]) -> bool:
    """Whether a line is recorded as a sewer, or any release named it as one, whatever it is called since."""
    return lies.facility_type == SEWER or any(
        SEWER in one.every_type
        for one in named
        if (one.mark_id == lies.mark_id if one.mark_id else one.mark_ref == lies.mark_ref)
    )


def _last_moved(rows: Sequence[CrossingWatched], passes: PassLog) -> datetime | None:
    """When the conduit, or a reamer, was last known to move anywhere on the bore: it passes every line.

    That is when the conduit was last watched, and when either was last made as the log has it. Where a
    variance stands for such a watch it may have moved until that was signed; not where one says of a crossing
    that is gone as a whole that the bore does not pass it.
    """
    pulled = [(row, one) for row in rows for one in row.passes if one.pass_made == LAST_PASS]
    watched = [one.watch.watched_at for _, one in pulled if one.watch]
    excused = [one.excuse.signed_at for row, one in pulled if one.excuse and one.excuse is not row.excuse]
    made = [one.made_at for one in passes.passes]
    return max([*watched, *excused, *made], default=None)
