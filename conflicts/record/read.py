"""All that a bore's clearance record rests on, read from one state of the database in few queries."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection, transaction

from conflicts.answering_release import answering_releases
from conflicts.assess import compute_bores, document
from conflicts.checks import Assessed
from conflicts.gather_rods import gather_rods
from conflicts.ground_changes import changes_since
from conflicts.models import Bore, Release
from conflicts.record.read_crossings import Lines, read_lines
from conflicts.record.read_signed import Signed, read_signed
from conflicts.record.read_tickets import read_tickets
from conflicts.record.sheet import RecordTicket
from conflicts.release import Standing, standing_at
from conflicts.rod_log import RodLog


@dataclass(frozen=True)
class KeptRecords:
    """What the database held of a bore as of a moment. ``members`` are the assessment document's."""

    at: datetime
    bore: Bore
    assessed: Assessed
    members: dict[str, Any]
    lines: Lines
    signed: Signed
    tickets: tuple[RecordTicket, ...]
    standing: Standing | None
    rods: RodLog


def read_kept_records(bore_id: UUID, at: datetime | None = None) -> KeptRecords:
    """What the clearance record of a bore rests on.

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


def _read(bore_id: UUID, at: datetime | None) -> KeptRecords:
    is_now = at is None
    # First of all, so that nothing which the snapshot holds is later than it.
    at = at or _moment()
    bore = Bore.objects.select_related("job__organisation", "job__jurisdiction").get(pk=bore_id)
    assessed = compute_bores([bore.pk], rods_until=at)[bore.pk].at(at)
    return KeptRecords(
        at=at,
        bore=bore,
        assessed=assessed,
        members=document(assessed),
        lines=read_lines(assessed),
        signed=read_signed(bore, assessed, at),
        tickets=read_tickets(bore.job, at),
        standing=_standing(bore, at, is_now=is_now),
        rods=gather_rods([bore], until=at)[bore.pk],
    )


def _moment() -> datetime:
    """The database's clock."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        return cursor.fetchone()[0]


def _standing(bore: Bore, at: datetime, *, is_now: bool) -> Standing | None:
    """How the release that answers for a bore stands at a moment; None where none was ever signed.

    Of this moment it is asked as every page asks it: by both clocks, and withdrawn once that is stored.
    """
    if is_now:
        _, standing = answering_releases([bore.pk]).get(bore.pk, (None, None))
        return standing
    releases = Release.objects.filter(bore=bore, signed_at__lte=at).with_course().newest_first()
    told = [standing_at(one, at, changes_since(one.bore, one.last_event_id)) for one in releases]
    return next((one for one in told if one.is_underway), told[0] if told else None)
