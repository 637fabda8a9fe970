"""The second step of a bulk entry: which column holds what, and in which order dates are written."""

from typing import Any

from locates.forms.vector_columns import ColumnsForm

DATES_HELP = "Every time needs its day and its hour, in the job's time zone unless it has an offset."


class BulkColumnsForm(ColumnsForm):
    """Columns of tickets or responses; a work area stands in one of its own, so nothing asks for x and y."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words = self._dates_of(self.mapping).words
        self.fields["date_order"].help_text = f"{words} {DATES_HELP}".strip()

    def _add_coordinates(self) -> None:
        """Ask nothing of coordinates."""

    def _clean_system(self) -> None:
        """Nothing was asked."""

    def _clean_positions(self) -> None:
        """Nothing was asked."""
