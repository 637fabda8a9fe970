"""What the workers do for this package when the clock says so."""

from django.utils import timezone

from config.celery import app
from locates.desk.reckon_tickets import sweep_due
from locates.models import VectorImport

SWEEP_IMPORTS_TASK = "locates.sweep_imports"
SWEEP_TICKETS_TASK = "locates.sweep_tickets"


@app.task(name=SWEEP_IMPORTS_TASK)
def sweep_imports() -> None:
    """Delete the files that were brought and not stored within their time."""
    VectorImport.objects.sweep(timezone.now())


@app.task(name=SWEEP_TICKETS_TASK)
def sweep_tickets() -> None:
    """Reckon the tickets that time alone has changed since the last sweep, whenever that was."""
    sweep_due(timezone.now())
