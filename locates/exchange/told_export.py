"""What everybody was told, as a CSV file: every notice that fits, the newest first."""

from datetime import UTC, datetime
from typing import Any

from locates.errors import NothingChosenError, TooManyRowsError
from locates.exchange.board_export import MOST_ROWS
from locates.exchange.csv_tables import write_csv
from locates.models.told_queries import TOLD_ORDER, ToldFilters, told

# The name of a column, and where its value stands. Moments are in UTC.
_COLUMNS = (
    ("told_at", "made_at"),
    ("person", "person__username"),
    ("job", "job__name"),
    ("time_zone", "job__time_zone"),
    ("ticket", "ticket__number"),
    ("mark", "mark__ref"),
    ("event", "event"),
    ("fell_due_at", "due_at"),
    ("subject", "subject"),
    ("words", "words"),
    ("read_at", "read_at"),
    ("mail_state", "mail__state"),
    ("mailed_at", "mail__sent_at"),
    ("mailed_to", "mail__to_address"),
)


def export_told(filters: ToldFilters) -> bytes:
    """Content of a file of all notices that fit, none left out.

    Raises `NothingChosenError` where none does, and `TooManyRowsError`.
    """
    found = told(filters).select_related(None).order_by(*TOLD_ORDER)
    rows = list(found.values_list(*(place for _, place in _COLUMNS))[: MOST_ROWS + 1])
    if not rows:
        raise NothingChosenError
    if len(rows) > MOST_ROWS:
        raise TooManyRowsError(MOST_ROWS)
    return write_csv([name for name, _ in _COLUMNS], ([_text(value) for value in row] for row in rows))


def _text(value: Any) -> Any:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value
