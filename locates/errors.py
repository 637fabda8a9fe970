"""What can go wrong with a person's input, as data; each error words itself once, in its ``str``."""

from typing import Any

MOST_LINES = 20  # a person mends the first few and tries again; hundreds of lines help nobody
MOST_COUNTED = 1000  # a hostile file may hold millions of faults; past this many they are no longer counted


class LocatesError(Exception):
    """Root of everything that this package refuses."""


class WrittenValueError(LocatesError, ValueError):
    """Something that a person wrote and that can be read in no way, or in more than one.

    Parameters
    ----------
    text : str
        What was written.
    reason : str
        Why it is refused, with an example of what is accepted.
    """

    meant = "a value"

    def __init__(self, text: str, reason: str) -> None:
        super().__init__(text, reason)
        self.text = text
        self.reason = reason

    def __str__(self) -> str:
        return f'"{self.text}" is not {self.meant}: {self.reason}'


class LengthError(WrittenValueError):
    """A length that can be read in no way, or in more than one."""

    meant = "a length"


class GradeError(WrittenValueError):
    """A grade that can be read in no way, or in more than one."""

    meant = "a grade"


class HeadingError(WrittenValueError):
    """A heading that cannot be read, or is no direction of the compass."""

    meant = "a heading"


class MomentError(WrittenValueError):
    """A day and time that does not exist, comes twice or cannot be read."""

    meant = "a moment"


class AnswerError(WrittenValueError):
    """Letters that stand for no operator or no answer, or for more than one.

    Parameters
    ----------
    text, reason : str
        As for every written value.
    meant : str, optional
        What was to be typed.
    """

    def __init__(self, text: str, reason: str, meant: str = "an answer") -> None:
        super().__init__(text, reason)
        self.meant = meant


class PositionError(LocatesError, ValueError):
    """Positions that a person typed or pasted and that cannot be read.

    Parameters
    ----------
    line : int or None
        Which line of the text, from 1; None where it is the whole.
    found, accepted : str
        What stands there, and what may stand there.
    """

    def __init__(self, line: int | None, found: str, accepted: str) -> None:
        super().__init__(line, found, accepted)
        self.line = line
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        where = "" if self.line is None else f"line {self.line}: "
        return f"{where}found {self.found}; accepted: {self.accepted}"


class RecordError(LocatesError):
    """A record that cannot be written as somebody asked, because of what it has become or what names it."""


class ChangedMeanwhileError(RecordError):
    """Somebody saved the record after it was opened for editing.

    Parameters
    ----------
    present : Retirable
        The record as it is now.
    """

    def __init__(self, present: Any) -> None:
        super().__init__(present)
        self.present = present

    def __str__(self) -> str:
        return f"{self.present} was changed by somebody else meanwhile"


class RetiredMeanwhileError(RecordError):
    """The record, its job, or another one that it names was retired after it was opened.

    Parameters
    ----------
    name : str
        What the retired record calls itself.
    """

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name

    def __str__(self) -> str:
        return f"{self.name} is retired; bring it back first"


class StillNamedError(RecordError):
    """A record that cannot be retired while others name it.

    Parameters
    ----------
    name : str
        What it calls itself.
    by : list of str
        What names it, counted.
    """

    def __init__(self, name: str, by: list[str]) -> None:
        super().__init__(name, by)
        self.name = name
        self.by = by

    def __str__(self) -> str:
        return f"{self.name} is named by {', '.join(self.by)}; change or retire those first"


class TakenMeanwhileError(RecordError):
    """A retired record whose name or place a live one has taken.

    Parameters
    ----------
    name : str
        What the retired record calls itself.
    reason : str
        What is accepted instead.
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(name, reason)
        self.name = name
        self.reason = reason

    def __str__(self) -> str:
        return (
            f"{self.name} cannot come back: another record has its place now ({self.reason}). "
            "Rename or retire that one first."
        )


class UnknownKindError(LocatesError, LookupError):
    """A kind of signed record that nobody registered.

    Parameters
    ----------
    found : str
        The kind.
    accepted : list of str
        The kinds that are registered.
    """

    def __init__(self, found: str, accepted: list[str]) -> None:
        super().__init__(found, accepted)
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        return f'kind: found "{self.found}", accepted are {", ".join(self.accepted) or "none"}.'


class JobFileError(LocatesError, ValueError):
    """One thing wrong in a job file.

    Parameters
    ----------
    found, accepted : str
        What the file says there, and what it may say.
    field : str, optional
        Path of the member inside the feature (or inside the file where `feature` is None).
    feature : int, optional
        Index of the feature in the file's ``features``, counted from 0.
    feature_name : str, optional
        The feature as a person knows it, such as ``mark 'G-1'``.
    """

    def __init__(
        self,
        *,
        found: str,
        accepted: str,
        field: str = "",
        feature: int | None = None,
        feature_name: str = "",
    ) -> None:
        super().__init__(found, accepted, field, feature, feature_name)
        self.found = found
        self.accepted = accepted
        self.field = field
        self.feature = feature
        self.feature_name = feature_name

    def __str__(self) -> str:
        where = []
        if self.feature is not None:
            name = f" ({self.feature_name})" if self.feature_name else ""
            where.append(f"feature {self.feature}{name}")
        if self.field:
            where.append(f"field {self.field}")
        place = ", ".join(where) or "the file"
        return f"{place}: found {self.found}; accepted: {self.accepted}"

    @property
    def errors(self) -> tuple["JobFileError", ...]:
        """Every single error, in the order of the file."""
        return (self,)

    def lines(self) -> list[str]:
        """Lines for a person, at most `MOST_LINES` errors and then how many more there are."""
        errors = self.errors
        lines = [str(error) for error in errors[:MOST_LINES]]
        if len(errors) > MOST_LINES:
            least = "at least " if len(errors) >= MOST_COUNTED else ""
            lines.append(f"and {least}{len(errors) - MOST_LINES} more errors")
        if any(error.feature is not None for error in errors):
            lines.append("(features are counted from 0, in the order of the file)")
        return lines


class JobFileRefused(JobFileError):
    """All that is wrong in a job file; its own members are those of the first error."""

    def __init__(self, errors: list[JobFileError]) -> None:
        first = errors[0]
        super().__init__(
            found=first.found,
            accepted=first.accepted,
            field=first.field,
            feature=first.feature,
            feature_name=first.feature_name,
        )
        self._errors = tuple(errors)

    @property
    def errors(self) -> tuple[JobFileError, ...]:
        """Every single error, in the order of the file."""
        return self._errors

    def __str__(self) -> str:
        return "\n".join(self.lines())


class PlaceInListError(LocatesError, ValueError):
    """A place in a list that no link of it gives.

    Parameters
    ----------
    text : str
        What the address holds.
    """

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.text = text

    def __str__(self) -> str:
        return f'after: found "{self.text[:40]}", accepted is what "Next" leads to. This is the first page.'


class TooManyRowsError(LocatesError, ValueError):
    """More rows than a file of the board holds.

    Parameters
    ----------
    most : int
        How many it may hold.
    """

    def __init__(self, most: int) -> None:
        super().__init__(most)
        self.most = most

    def __str__(self) -> str:
        return f"No file is made: found more than {self.most:,} rows, accepted are so many. Choose fewer."


class PartError(LocatesError, ValueError):
    """A part of a page that there is not.

    Parameters
    ----------
    found : str
        What the address holds.
    accepted : list of str
    """

    def __init__(self, found: str, accepted: list[str]) -> None:
        super().__init__(found, accepted)
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        return f"section: there is no part {self.found!r}. Accepted are {', '.join(self.accepted)}."


class NothingChosenError(LocatesError, ValueError):
    """No row fits, so that a file would be empty."""

    def __str__(self) -> str:
        return "No file is made: nothing fits what was chosen."


class ViewError(LocatesError, ValueError):
    """A view of the board that cannot be kept; its words say why."""
