"""A record names operators, tickets and marks of its own job only."""

from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Model


def refuse_other_jobs(record: Model, job_id: UUID | None, *fields: str) -> None:
    """Say beside the field what the database would refuse at commit without a word for people."""
    errors: dict[str, Any] = {}
    for field in fields:
        # A field that its own validation refused is not set at all; it has had its word.
        named = getattr(record, field) if getattr(record, f"{field}_id") else None
        if named is not None and named.job_id != job_id:
            errors[field] = f"{field}: found {named} of another job, accepted is one of the same job."
    if errors:
        raise ValidationError(errors)
