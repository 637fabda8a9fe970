"""What the workers do for this package when the clock says so."""

from django.utils import timezone

from config.celery import app
from locates.models import VectorImport

SWEEP_IMPORTS_TASK = "locates.sweep_imports"


@app.task(name=SWEEP_IMPORTS_TASK)
def sweep_imports() -> None:
    """Delete the files that were brought and not stored within their time."""
    VectorImport.objects.sweep(timezone.now())
