"""Bring a file of tickets or responses: keep what it holds, show what it would add, store all or nothing."""

from datetime import datetime
from pathlib import PurePosixPath

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction

from locates.changes import job_changed
from locates.desk.bring_file import keep_tables, mapping_now, tables_of
from locates.desk.draft_responses import DraftResponses, draft_responses
from locates.desk.draft_tickets import DraftTickets, draft_tickets
from locates.desk.follow import follow_many_logged
from locates.desk.save_record import hold_job
from locates.exchange.bulk_kinds import BULK_KINDS, guessed_columns
from locates.exchange.csv_tables import read_csv
from locates.exchange.upload_guard import check_size
from locates.exchange.vector_errors import RowsRefused, VectorFileError
from locates.models import ImportKind, Job, Response, ResponseKind, Ticket, VectorImport

SUFFIXES = (".csv", ".txt")
MOST_BULK_ROWS = 1_000
"""Rows a file: as many as are read, dated and stored while a person waits. Common practice, no source."""

BATCH = 500

Draft = DraftTickets | DraftResponses


def keep_rows(
    job: Job, kind: str, file_name: str, raw: bytes, *, by: AbstractBaseUser, at: datetime
) -> VectorImport:
    """Read a CSV file and keep what it holds for a day; raises `VectorFileError` where it cannot be read."""
    check_size(len(raw))
    if PurePosixPath(file_name.lower()).suffix not in SUFFIXES:
        raise VectorFileError(f'a file "{file_name[:80]}"', "a CSV file (.csv)")
    table = read_csv(raw)
    if len(table.rows) > MOST_BULK_ROWS:
        raise VectorFileError(f"{len(table.rows):,} rows", f"at most {MOST_BULK_ROWS:,}; split the file")
    mapping = guessed_columns(table, BULK_KINDS[kind])
    return keep_tables(job, kind, file_name, [table], mapping, by=by, at=at)


def drafted(brought: VectorImport, job: Job, at: datetime) -> Draft:
    """What the file would add to the job as it is now, and what is wrong with it."""
    (table,) = tables_of(brought)
    mapping = mapping_now(brought)
    if brought.kind == ImportKind.TICKET:
        return draft_tickets(job, table, mapping, at=at)
    return draft_responses(job, table, mapping, at=at)


def store_rows(brought: VectorImport, *, by: AbstractBaseUser, at: datetime) -> VectorImport:
    """Store all rows of a file, once however often it is asked; give the import as it then is.

    Raises `RowsRefused` or another `VectorFileError` where anything is wrong, and `RetiredMeanwhileError`
    where the job is gone: then nothing is stored.
    """
    try:
        with transaction.atomic():
            held = VectorImport.objects.select_for_update().get(pk=brought.pk)
            if held.stored_at is not None:
                return held
            # Whoever else changes the job waits, so that what was checked is what is stored beside.
            hold_job(held.job_id)
            draft = drafted(held, Job.objects.with_grounds().get(pk=held.job_id), at)
            if draft.errors:
                raise RowsRefused(draft.errors)
            _store(draft, by, at)
            job_changed(held.job_id)
            held.stored_count, held.stored_at, held.content = len(draft.records), at, b""
            held.save(update_fields=["stored_count", "stored_at", "content"])
            return held
    except IntegrityError as error:
        diagnosis = getattr(error.__cause__, "diag", None)
        constraint = getattr(diagnosis, "constraint_name", None) or "no name"
        raise VectorFileError(
            f"records that the database refuses ({constraint})", "records that can stand beside each other"
        ) from error


def _store(draft: Draft, by: AbstractBaseUser, at: datetime) -> None:
    for record in draft.records:
        record.edited_by = by
    if isinstance(draft, DraftResponses):
        Response.objects.bulk_create(draft.records, batch_size=BATCH)
        return
    Ticket.objects.bulk_create(draft.records, batch_size=BATCH)
    Response.objects.bulk_create(
        (
            Response(
                ticket=ticket,
                operator=operator,
                response=ResponseKind.AWAITING,
                sequence=place,
                edited_by=by,
            )
            for ticket in draft.records
            for place, operator in enumerate(draft.told[ticket.pk])
        ),
        batch_size=BATCH,
    )
    follow_many_logged(draft.records, by=by, at=at)
