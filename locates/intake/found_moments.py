"""A day and a time in the parts that a pattern names, so that no order of digits is guessed."""

from collections.abc import Mapping

from locates.errors import MomentError
from locates.local_time import parse_local

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
MONTH_NUMBERS = {f"{month:0{width}d}" for month in range(1, 13) for width in (1, 2)}
PARTS_ACCEPTED = (
    "name the parts in the pattern: (?P<month>..), (?P<day>..), (?P<year>..), (?P<hour>..), (?P<minute>..) "
    "and, where they stand, (?P<half>am or pm) and (?P<zone>..)"
)


def moment_text(found: str, parts: Mapping[str, str | None], time_zone: str) -> str:
    """A found moment as the form's fields take it.

    Parameters
    ----------
    found : str
        All that was found, for a pattern that names no parts.
    parts : mapping of str to str
        The named groups; year and day are numbers, the month a number or an English name.
    time_zone : str
        IANA name, in which the moment has to exist.

    Raises
    ------
    MomentError
        Parts that are missing or that make no moment.
    """
    named = {name: (value or "").strip() for name, value in parts.items()}
    text = _from_parts(found, named) if named.keys() & {"month", "day", "year"} else found.strip()
    parse_local(text, time_zone)
    return text


def _from_parts(found: str, parts: Mapping[str, str]) -> str:
    missing = [name for name in ("year", "month", "day", "hour") if not parts.get(name)]
    if missing:
        raise MomentError(found, f"it has no {' and no '.join(missing)}; {PARTS_ACCEPTED}")
    written = parts["month"].lower()
    if written in MONTH_NUMBERS:
        month = int(written)
    elif written[:3] in MONTHS:
        month = MONTHS.index(written[:3]) + 1
    else:
        raise MomentError(found, f"{parts['month']} is no month")
    if not (parts["year"].isdecimal() and len(parts["year"]) == 4):
        raise MomentError(found, "the year has four digits")
    clock = f"{parts['hour']}:{parts.get('minute') or '00'}"
    ends = " ".join(part for part in (parts.get("half", ""), parts.get("zone", "")) if part)
    return f"{parts['year']}-{month:02d}-{parts['day']:0>2} {clock} {ends}".strip()
