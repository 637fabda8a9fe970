"""Surveyed things of a file into a job: what would be stored, what is wrong with it, all or nothing."""

import json
import re
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction

from locates.errors import JobFileError
from locates.exchange.added_records import add_records
from locates.exchange.job_documents import job_members, locates_features
from locates.exchange.job_file import added_faults
from locates.exchange.json_reader import LARGEST_FILE_BYTES, read_json
from locates.exchange.vector_errors import RowError, RowsRefused, VectorFileError
from locates.exchange.vector_kinds import VectorKind
from locates.exchange.vector_mapping import Mapping
from locates.exchange.vector_progress import Phase, Told, tell_nobody
from locates.exchange.vector_rows import Reading, column_of, read_rows
from locates.exchange.vector_shapes import SHAPE_COLUMN, system_of
from locates.exchange.vector_table import Table
from locates.exchange.vector_whereabouts import Whereabouts, whereabouts
from locates.models import Job

SCHEMA_VERSION = 1

_FEATURE_WORDS = re.compile(r"\bfeature (\d+)\b")


@dataclass(frozen=True)
class Checked:
    """What a file would add to a job.

    Parameters
    ----------
    features : list of dict
        As the job file has them; complete only where there are no errors.
    places : list of str
        Row or feature of the file in which each begins.
    errors : list of RowError
        All that is wrong, in the order of the file.
    whereabouts : Whereabouts or None
        Where it lies; None where nothing could be read.
    shift : str
        How its coordinates became WGS 84.
    """

    features: list[dict[str, Any]]
    places: list[str]
    errors: list[RowError]
    whereabouts: Whereabouts | None
    shift: str


def check_import(
    job: Job, table: Table, kind: VectorKind, mapping: Mapping, told: Told = tell_nobody
) -> Checked:
    """What the rows of a table would add to a job, and everything that is wrong with them."""
    reading = read_rows(table, kind, mapping, job.time_zone, told)
    standing = locates_features(job)
    errors = list(reading.errors)
    where = None
    if reading.features:
        geometries = [feature["geometry"] for feature in reading.features]
        where = whereabouts(job, geometries, [feature["geometry"] for feature in standing])
        if where.is_impossible:
            accepted = "positions near the job, in the coordinate system and unit that were chosen"
            errors.append(RowError("", SHAPE_COLUMN, f"positions far away ({where.words})", accepted))
        else:
            errors += _errors_by_rule(job, standing, reading, kind, mapping, told)
    elif not errors:
        errors.append(RowError("", "", "no rows", "a file with at least one row"))
    shift = system_of(table, mapping).shift_words() if reading.features else ""
    order = {place: number for number, place in enumerate(_places_of(table))}
    errors.sort(key=lambda error: order.get(error.place, -1))
    return Checked(reading.features, reading.places, errors, where, shift)


def store_import(
    job: Job,
    table: Table,
    kind: VectorKind,
    mapping: Mapping,
    *,
    by: AbstractBaseUser | None,
    told: Told = tell_nobody,
) -> int:
    """Store all rows of a table in a job and give how many records they became, or store none.

    Raises `RowsRefused` with everything that is wrong.
    """
    try:
        with transaction.atomic():
            # Whoever else changes the job waits, so that what was checked is what is stored beside.
            held = Job.objects.with_grounds().select_for_update(of=("self",)).get(pk=job.pk)
            checked = check_import(held, table, kind, mapping, told)
            if checked.errors:
                raise RowsRefused(checked.errors)
            return add_records(held, checked.features, by=by, told=partial(told, Phase.STORE))
    except IntegrityError as error:
        diagnosis = getattr(error.__cause__, "diag", None)
        constraint = getattr(diagnosis, "constraint_name", None) or "no name"
        raise VectorFileError(
            f"records that the database refuses ({constraint}); somebody may have stored them just now",
            "records that stand beside those which are there",
        ) from error


def _places_of(table: Table) -> list[str]:
    return [f"{table.row_word} {row.number}" for row in table.rows]


def _errors_by_rule(
    job: Job,
    standing: list[dict[str, Any]],
    reading: Reading,
    kind: VectorKind,
    mapping: Mapping,
    told: Told,
) -> list[RowError]:
    """What the job file's rules say of features that could be read."""
    raw = json.dumps({"features": reading.features}).encode()
    if len(raw) > LARGEST_FILE_BYTES:
        return [RowError("", "", f"{len(raw):,} bytes of features", f"at most {LARGEST_FILE_BYTES:,}")]
    try:
        features = read_json(raw)["features"]  # type: ignore[index]
        document = {
            "type": "FeatureCollection",
            "schema_version": SCHEMA_VERSION,
            "job": job_members(job),
            "features": [*standing, *features],
        }
        count = len(features)

        def tell(done: int) -> None:
            told(Phase.FORM if done < count else Phase.TOGETHER, done)

        faults = added_faults(document, len(standing), told=tell)
        since = len(standing)
    except JobFileError as error:
        faults, since = list(error.errors), 0
    return [_in_words_of_the_file(fault, since, reading, kind, mapping) for fault in faults]


def _in_words_of_the_file(
    fault: JobFileError, since: int, reading: Reading, kind: VectorKind, mapping: Mapping
) -> RowError:
    """A fault of a feature as one of a row and a column."""

    def place(match: re.Match[str]) -> str:
        index = int(match[1])
        return reading.places[index - since] if index >= since else "the job"

    root, _, rest = fault.field.partition(".")
    member = re.split(r"[.\[]", rest)[0]
    column = SHAPE_COLUMN if root == "geometry" else column_of(mapping, kind, member)
    found = _beside_the_job(_FEATURE_WORDS.sub(place, fault.found))
    accepted = _beside_the_job(fault.accepted)
    where = reading.places[fault.feature - since] if fault.feature is not None else ""
    return RowError(where, column, found, accepted)


def _beside_the_job(words: str) -> str:
    """A job file holds all of its job; this file stands beside what the job has already."""
    return words.replace("in the same file", "of the job").replace("of the file", "of the job or the file")
