"""Which tables the database keeps the record of, and why it keeps none of the others."""

from django.apps import apps
from django.db import connection, models

APPS = ("locates", "conflicts")

RECORD = "a record of its own, which the database lets nobody change once it is made"
COMPUTED = "computed from records whose every change is kept"
QUEUE = "work that waits, which goes when it is done"
PRIVATE = "a person's own setting, which says nothing of a job"
ITSELF = "itself a record that nothing is ever changed in"

NOT_KEPT = {
    "locates.recordevent": ITSELF,
    "locates.ledgerentry": ITSELF,
    "locates.ticketstanding": COMPUTED,
    "locates.ticketmatter": COMPUTED,
    "locates.dayreview": COMPUTED,
    "conflicts.assessment": COMPUTED,
    "conflicts.crossing": COMPUTED,
    "conflicts.reassessment": QUEUE,
    "conflicts.recordmaking": RECORD,
    "locates.vectorimport": QUEUE,
    "locates.importwork": QUEUE,
    "locates.outgoingmail": RECORD,
    "locates.notice": RECORD,
    "locates.follow": PRIVATE,
    "locates.noticesetting": PRIVATE,
    "locates.savedview": PRIVATE,
    "locates.calendarfeed": PRIVATE,
}
"""Models without a record of their changes, each with the reason; of all others every change is kept."""


def kept_models() -> list[type[models.Model]]:
    """The models of whose records every change is kept."""
    return [
        model
        for label in APPS
        for model in apps.get_app_config(label).get_models()
        if model._meta.label_lower not in NOT_KEPT
    ]


def kept_tables() -> list[str]:
    """The tables whose every change the database keeps, as it says itself."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgrelid::regclass::text FROM pg_trigger WHERE tgname = 'keep_update' AND tgenabled = 'A'"
        )
        return [name for (name,) in cursor.fetchall()]
