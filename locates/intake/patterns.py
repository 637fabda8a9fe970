"""Patterns that a person wrote, made ready in an engine whose time grows with the text's length alone."""

import re2

from locates.intake.errors import PatternError
from locates.intake.text_fields import TextField

LONGEST_PATTERN = 500
MOST_MEMORY_BYTES = 8 * 1024**2
ACCEPTED = (
    "a regular expression such as Ticket No: (?P<value>[0-9]+), without look-around and back-references; "
    "capitals and small letters are the same, ^ and $ stand for the ends of a line"
)
CORNER_ACCEPTED = (
    "a pattern with the groups latitude and longitude in degrees, such as "
    r"(?P<latitude>[0-9.]+), (?P<longitude>-[0-9.]+)"
)


def make_ready(field: TextField, pattern: str) -> "re2._Regexp":
    """A pattern made ready to find a field.

    Parameters
    ----------
    field : TextField
    pattern : str
        As RE2 reads it.

    Returns
    -------
    re2 pattern

    Raises
    ------
    PatternError
        One that is empty or too long, that RE2 does not read or that takes more than `MOST_MEMORY_BYTES`,
        that finds nothing but empty places, or that names no latitude and longitude for a corner.

    Notes
    -----
    RE2 finds what it finds in time linear in the text, whatever the pattern (R. Cox, "Regular Expression
    Matching in the Wild", 2010), so no pattern can hold a person up.
    """
    if not pattern.strip():
        raise PatternError(field.words, pattern, "it is empty", ACCEPTED)
    if len(pattern) > LONGEST_PATTERN:
        raise PatternError(
            field.words, pattern, f"it has {len(pattern)} characters", f"at most {LONGEST_PATTERN} characters"
        )
    options = re2.Options()
    options.max_mem = MOST_MEMORY_BYTES
    options.log_errors = False
    options.case_sensitive = False
    try:
        ready = re2.compile(f"(?m){pattern}", options=options)
    except re2.error as error:
        raise PatternError(field.words, pattern, _reason(error), ACCEPTED) from error
    if ready.fullmatch("") is not None:
        raise PatternError(field.words, pattern, "it also fits where nothing stands", ACCEPTED)
    if field.kind == "corner" and not {"latitude", "longitude"} <= set(ready.groupindex):
        raise PatternError(field.words, pattern, "it names no latitude and longitude", CORNER_ACCEPTED)
    return ready


def _reason(error: Exception) -> str:
    reason = error.args[0]
    return reason.decode(errors="replace") if isinstance(reason, bytes) else str(reason)
