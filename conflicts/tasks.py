"""What the workers do when the bell rings, when the clock says so, and when they start."""

from uuid import UUID

from celery.signals import worker_init, worker_ready

from config.celery import app
from conflicts import reassess
from conflicts.bell import MAKE_TASK, QUEUE_OUTDATED_TASK, REASSESS_TASK, SWEEP_RECORDS_TASK, SWEEP_TASK
from conflicts.engine.warm import warm_up
from conflicts.record import make


@app.task(name=REASSESS_TASK)
def reassess_bore(reassessment_id: int) -> None:
    """Compute the bore of a row that waits."""
    reassess.run(reassessment_id)


@app.task(name=QUEUE_OUTDATED_TASK)
def queue_outdated(bore_id: str) -> None:
    """Queue a bore that a page found to be of older figures."""
    reassess.queue_outdated([UUID(bore_id)])


@app.task(name=SWEEP_TASK)
def sweep() -> None:
    """Find what was forgotten."""
    reassess.sweep()


@app.task(name=MAKE_TASK)
def make_record(making_id: int) -> None:
    """Make the clearance record of a row that waits."""
    make.run(making_id)


@app.task(name=SWEEP_RECORDS_TASK)
def sweep_records() -> None:
    """Find what was forgotten of the records."""
    make.sweep()


@worker_init.connect
def compile_kernels(**_: object) -> None:
    """Compile before the first task, and before a pool forks: its processes then have it all."""
    warm_up()


@worker_ready.connect
def sweep_at_start(**_: object) -> None:
    """Take up what was left when the workers were last killed, without waiting for beat."""
    sweep.delay()
    sweep_records.delay()
