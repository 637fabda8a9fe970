"""What the reading of confirmations refuses."""

from locates.errors import LocatesError


class PatternError(LocatesError, ValueError):
    """A pattern that cannot be used.

    Parameters
    ----------
    field : str
        What it is to find, in words.
    pattern : str
    reason, accepted : str
        What is wrong with it, and what may stand there.
    """

    def __init__(self, field: str, pattern: str, reason: str, accepted: str) -> None:
        super().__init__(field, pattern, reason, accepted)
        self.field = field
        self.pattern = pattern
        self.reason = reason
        self.accepted = accepted

    def __str__(self) -> str:
        return f"{self.field}: {self.reason}. Accepted is {self.accepted}."


class TextTooLongError(LocatesError, ValueError):
    """A text longer than any confirmation.

    Parameters
    ----------
    length, most : int
        Characters that it has, and that it may have.
    """

    def __init__(self, length: int, most: int) -> None:
        super().__init__(length, most)
        self.length = length
        self.most = most

    def __str__(self) -> str:
        return f"found {self.length:,} characters, accepted are at most {self.most:,}."
