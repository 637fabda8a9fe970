"""What can be wrong with a file of surveyed things, as data; each error words itself once."""

from locates.errors import MOST_COUNTED, MOST_LINES, LocatesError


class VectorFileError(LocatesError, ValueError):
    """A file that cannot be taken as a whole: hostile, broken, too large, of an unknown form.

    Parameters
    ----------
    found, accepted : str
        What the file is, and what it may be.
    """

    def __init__(self, found: str, accepted: str) -> None:
        super().__init__(found, accepted)
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        return f"found {self.found}; accepted: {self.accepted}"


class RowError(LocatesError, ValueError):
    """One thing wrong in one row of a file.

    Parameters
    ----------
    place : str
        The row as the file's reader counts it, such as ``row 7``; "" for the whole file.
    column : str
        Column as the file names it; "" where no column is at fault.
    found, accepted : str
        What stands there, and what may.
    """

    def __init__(self, place: str, column: str, found: str, accepted: str) -> None:
        super().__init__(place, column, found, accepted)
        self.place = place
        self.column = column
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        where = ", ".join(filter(None, [self.place, self.column and f"column {self.column}"]))
        return f"{where or 'the file'}: found {self.found}; accepted: {self.accepted}"


class RowsRefused(VectorFileError):
    """All that is wrong in the rows of a file; nothing of it was stored."""

    def __init__(self, errors: list[RowError]) -> None:
        super().__init__(errors[0].found, errors[0].accepted)
        self.errors = tuple(errors)

    def __str__(self) -> str:
        return "\n".join(self.lines())

    def lines(self) -> list[str]:
        """Lines for a person, at most `MOST_LINES` errors and then how many more there are."""
        lines = [str(error) for error in self.errors[:MOST_LINES]]
        if len(self.errors) > MOST_LINES:
            least = "at least " if len(self.errors) >= MOST_COUNTED else ""
            lines.append(f"and {least}{len(self.errors) - MOST_LINES} more errors")
        return lines
