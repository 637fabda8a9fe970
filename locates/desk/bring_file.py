"""Bring a file of surveyed things: keep what it holds, note what a person confirms, store all or nothing."""

from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.errors import RetiredMeanwhileError
from locates.exchange.vector_files import read_tables
from locates.exchange.vector_import import store_import
from locates.exchange.vector_kinds import KINDS
from locates.exchange.vector_mapping import Mapping, guessed, mapping_of
from locates.exchange.vector_progress import Told, tell_nobody
from locates.exchange.vector_table import Table, packed, unpacked
from locates.models import ImportWork, Job, VectorImport
from locates.models.vector_import import KEPT_FOR, MOST_A_PERSON

LONGEST_NAME = VectorImport._meta.get_field("file_name").max_length


def keep_file(
    job: Job, kind: str, file_name: str, raw: bytes, *, by: AbstractBaseUser, at: datetime
) -> VectorImport:
    """Read a file and keep what it holds for a day; raises `VectorFileError` where it cannot be read."""
    tables = read_tables(file_name, raw)
    return keep_tables(job, kind, file_name, tables, guessed(tables[0], KINDS[kind]), by=by, at=at)


def keep_tables(
    job: Job,
    kind: str,
    file_name: str,
    tables: list[Table],
    mapping: Mapping,
    *,
    by: AbstractBaseUser,
    at: datetime,
) -> VectorImport:
    """Keep what a file holds for a day, beside the person's latest others, with a first proposal."""
    with transaction.atomic():
        VectorImport.objects.sweep(at)
        mine = VectorImport.objects.filter(made_by=by)
        latest = mine.order_by("-created_at").values_list("pk", flat=True)[: MOST_A_PERSON - 1]
        mine.exclude(pk__in=list(latest)).delete()
        return VectorImport.objects.create(
            job=job,
            made_by=by,
            kind=kind,
            file_name=file_name[-LONGEST_NAME:],
            content=packed(tables),
            mapping=mapping.as_json(),
            expires_at=at + KEPT_FOR,
        )


def tables_of(brought: VectorImport) -> list[Table]:
    """What the file holds."""
    return unpacked(bytes(brought.content))


def mapping_now(brought: VectorImport) -> Mapping:
    """What is confirmed of it so far."""
    return mapping_of(brought.mapping)


def table_of(tables: list[Table], mapping: Mapping) -> Table:
    """The layer that the mapping is about."""
    return next((table for table in tables if table.name == mapping.layer), tables[0])


def confirm(brought: VectorImport, mapping: Mapping) -> None:
    """Note what a person confirmed; what a worker found of the file before holds no longer."""
    brought.mapping = mapping.as_json()
    with transaction.atomic():
        brought.save(update_fields=["mapping"])
        ImportWork.objects.forget(brought.pk)


def store_file(
    brought: VectorImport, *, by: AbstractBaseUser, at: datetime, told: Told = tell_nobody
) -> VectorImport:
    """Store all rows of a file as records, once however often it is asked; give the import as it then is.

    Raises `RowsRefused` or another `VectorFileError` where anything is wrong: then nothing is stored.
    """
    with transaction.atomic():
        held = VectorImport.objects.select_for_update().get(pk=brought.pk)
        if held.stored_at is not None:
            return held
        job = Job.objects.filter(pk=held.job_id).first()
        if job is None:
            raise RetiredMeanwhileError("The job")
        mapping = mapping_now(held)
        table = table_of(tables_of(held), mapping)
        held.stored_count = store_import(job, table, KINDS[held.kind], mapping, by=by, told=told)
        held.stored_at = at
        held.content = b""
        held.save(update_fields=["stored_count", "stored_at", "content"])
        return held
