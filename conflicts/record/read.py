"""All that a bore's clearance record rests on, read from one state of the database in few queries."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection, transaction

from conflicts.answering_release import answering_releases
from conflicts.assess import Computed, compute_bores, document
from conflicts.checks import Assessed
from conflicts.gather_rods import gather_rods
from conflicts.ground_changes import changes_since
from conflicts.models import Bore, Release
from conflicts.record.read_crossings import Lines, read_lines
from conflicts.record.read_signed import Signed, read_signed
from conflicts.record.read_tickets import read_tickets
from conflicts.record.sheet import RecordTicket
from conflicts.release import Standing, standing_at, standing_of
from conflicts.rod_log import RodLog
from conflicts.unreleased import unreleased_words
from conflicts.watch_table import watch_table
from conflicts.watched_before_log import before_log_words


@dataclass(frozen=True)
class KeptRecords:
    """What the database held of a bore as of a moment. ``members`` are the assessment document's.

    ``standing`` is that of the release that answers for the bore. ``not_borne_out`` are sentences on rods,
    passes and watches that no release or no log of rods bears out, and that hold nothing.
    """

    at: datetime
    bore: Bore
    assessed: Assessed
    members: dict[str, Any]
    lines: Lines
    signed: Signed
    tickets: tuple[RecordTicket, ...]
    standing: Standing | None
    rods: RodLog
    not_borne_out: tuple[str, ...]


@dataclass(frozen=True)
class _Standings:
    """How the release that answers for a bore stands, None where none was ever signed, and others by id."""

    answering: Standing | None
    each: Mapping[UUID, Standing]


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
    computed = compute_bores([bore.pk], rods_until=at)[bore.pk]
    assessed = computed.at(at)
    standings = _standings(bore, at, computed if is_now else None)
    table = watch_table(assessed, bore.pilot_diameter_m)
    return KeptRecords(
        at=at,
        bore=bore,
        assessed=assessed,
        members=document(assessed),
        lines=read_lines(assessed),
        signed=read_signed(bore, assessed, at, standings.each),
        tickets=read_tickets(bore.job, at),
        standing=standings.answering,
        rods=gather_rods([bore], until=at)[bore.pk],
        not_borne_out=(*unreleased_words(bore, assessed.site), *before_log_words(table, assessed)),
    )


def _moment() -> datetime:
    """The database's clock."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        return cursor.fetchone()[0]


def _standings(bore: Bore, at: datetime, now: Computed | None) -> _Standings:
    """How the releases of a bore stand at a moment: the last signed, and each whose shift is not over.

    Of this moment, where ``now`` is what was computed of it, they are asked as every page asks them: by both
    clocks, and withdrawn once that is stored.
    """
    releases = Release.objects.filter(bore=bore, signed_at__lte=at).with_course().newest_first()
    asked = {one.pk: one for one in (*releases[:1], *releases.filter(shift_until__gt=at))}
    if now is None:
        each = {
            key: standing_at(one, at, changes_since(one.bore, one.last_event_id))
            for key, one in asked.items()
        }
        told = list(each.values())
        return _Standings(next((one for one in told if one.is_underway), told[0] if told else None), each)
    each = {key: standing_of(one, now) for key, one in asked.items()}
    answering = answering_releases([bore.pk], {bore.pk: now}).get(bore.pk)
    if answering is None:
        return _Standings(None, each)
    release, standing = answering
    return _Standings(standing, each | {release.pk: standing})
