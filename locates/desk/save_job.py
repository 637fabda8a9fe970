"""Save a job's settings; a new one comes with its first operators and required clearances."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from locates.desk.save_record import save_record
from locates.models import ClearanceRequirement, FacilityOperator, Job

Row = Mapping[str, Any]


def save_job(
    job: Job,
    *,
    by: AbstractBaseUser,
    opened_version: int | None = None,
    operators: Sequence[Row] = (),
    requirements: Sequence[Row] = (),
) -> None:
    """Save a job, new or opened at a version, and the rows that a new one brings; errors as `save_record`.

    A requirement's row names its operator, one of the other rows, or none.
    """
    with transaction.atomic():
        save_record(job, by=by, opened_version=opened_version)
        there = {
            row["name"]: FacilityOperator.objects.create(job=job, edited_by=by, **row) for row in operators
        }
        for row in requirements:
            ClearanceRequirement.objects.create(
                job=job,
                operator=there.get(row["operator_name"]),
                facility_type=row["facility_type"],
                crossing_m=row["crossing_m"],
                alongside_m=row["alongside_m"],
                edited_by=by,
            )
