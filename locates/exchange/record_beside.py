"""One record held against the job file's rules, beside the records that its job has already."""

from collections.abc import Callable, Iterable
from typing import Any
from uuid import UUID

from locates.errors import JobFileError
from locates.exchange.job_documents import job_members, locates_features
from locates.exchange.job_file import Rule, added_faults
from locates.models import Job

SCHEMA_VERSION = 1

Features = list[dict[str, Any]]


def faults_beside(
    job_id: UUID,
    feature: dict[str, Any],
    *,
    more_features: Callable[[Job], Features] = lambda _: [],
    meaning_rules: Iterable[Rule] = (),
    file_rules: Iterable[Rule] = (),
) -> list[JobFileError]:
    """What a job file that holds a job would be refused for if a record stood in it as its feature says.

    A stored record of the same id gives way to the feature. ``more_features``, ``meaning_rules`` and
    ``file_rules`` are those of records and of rules that this package does not know.
    """
    job = Job.objects.with_grounds().get(pk=job_id)
    others = [one for one in (*locates_features(job), *more_features(job)) if one["id"] != feature["id"]]
    document = {
        "type": "FeatureCollection",
        "schema_version": SCHEMA_VERSION,
        "job": job_members(job),
        "features": [*others, feature],
    }
    return added_faults(document, len(others), meaning_rules=meaning_rules, file_rules=file_rules)
