"""What the workers do for this package when the clock says so."""

from contextlib import AbstractContextManager
from typing import Any

from celery.signals import task_postrun, task_prerun
from django.utils import timezone

from config.celery import app
from locates.acting import acting
from locates.desk import work_on_file
from locates.desk.make_digests import make_digests
from locates.desk.make_notices import make_notices
from locates.desk.reckon_tickets import sweep_due
from locates.desk.send_mail import send_waiting
from locates.desk.work_on_file import SWEEP_WORK_TASK, WORK_TASK
from locates.models import VectorImport

SWEEP_IMPORTS_TASK = "locates.sweep_imports"
MAKE_NOTICES_TASK = "locates.make_notices"
SEND_MAIL_TASK = "locates.send_mail"
SWEEP_TICKETS_TASK = "locates.sweep_tickets"


@app.task(name=SWEEP_IMPORTS_TASK)
def sweep_imports() -> None:
    """Delete the files that were brought and not stored within their time."""
    VectorImport.objects.sweep(timezone.now())


@app.task(name=WORK_TASK)
def work_on_large_file(work_id: int) -> None:
    """Check or store the large file of a row that waits."""
    work_on_file.run(work_id)


@app.task(name=SWEEP_WORK_TASK)
def sweep_import_work() -> None:
    """Find the large files whose worker was killed or whose message was lost."""
    work_on_file.sweep()


@app.task(name=SWEEP_TICKETS_TASK)
def sweep_tickets() -> None:
    """Reckon the tickets that time alone has changed since the last sweep, whenever that was."""
    sweep_due(timezone.now())


@app.task(name=MAKE_NOTICES_TASK)
def tell_people() -> None:
    """Make the notices and digests that are due, and send their mail without waiting for the clock."""
    make_notices()
    make_digests()
    send_waiting()


@app.task(name=SEND_MAIL_TASK)
def send_mail() -> None:
    """Send the mail that waits for a server that was out."""
    send_waiting()


_told: dict[str, AbstractContextManager[None]] = {}


@task_prerun.connect
def tell_of_task(task_id: str, task: Any, **_: object) -> None:
    """What a task writes is recorded with its name, whichever package's it is."""
    _told[task_id] = acting(f"task {task.name}")
    _told[task_id].__enter__()


@task_postrun.connect
def tell_no_more(task_id: str, **_: object) -> None:
    """After it, nothing is written by it."""
    _told.pop(task_id).__exit__(None, None, None)
