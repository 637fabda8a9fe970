"""Word that a job's records have changed, for whoever computes something from them.

Whoever writes a record says so with `job_changed`, in the same transaction; a package that depends on the
records registers with `on_job_changed` when it starts. So the flow stays in sight, and this package knows of
nobody.
"""

from collections.abc import Callable
from uuid import UUID

from django.utils import timezone

from locates.models import Job

Handler = Callable[[UUID], None]

_handlers: list[Handler] = []


def on_job_changed(handler: Handler) -> None:
    """Register a function that takes the id of every job whose records change; twice is once.

    It is called inside the transaction of the change, so it queues its work on commit; the job may be gone
    by then.
    """
    if handler not in _handlers:
        _handlers.append(handler)


def job_changed(job_id: UUID) -> None:
    """Note the moment on the job and tell every handler; to be called inside the change's transaction."""
    Job.objects.filter(pk=job_id).update(changed_at=timezone.now())
    for handler in _handlers:
        handler(job_id)
