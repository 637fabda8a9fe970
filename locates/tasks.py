"""What the workers do for this package when the clock says so."""

from django.utils import timezone

from config.celery import app
from locates.desk.make_digests import make_digests
from locates.desk.make_notices import make_notices
from locates.desk.reckon_tickets import sweep_due
from locates.desk.send_mail import send_waiting
from locates.models import VectorImport

SWEEP_IMPORTS_TASK = "locates.sweep_imports"
MAKE_NOTICES_TASK = "locates.make_notices"
SEND_MAIL_TASK = "locates.send_mail"
SWEEP_TICKETS_TASK = "locates.sweep_tickets"


@app.task(name=SWEEP_IMPORTS_TASK)
def sweep_imports() -> None:
    """Delete the files that were brought and not stored within their time."""
    VectorImport.objects.sweep(timezone.now())


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
