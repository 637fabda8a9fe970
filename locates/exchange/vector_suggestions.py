"""What a table itself suggests of units and of the order of dates: shown to a person, who chooses."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from locates.exchange.local_moments import DATE_ORDERS

_UNITS = {
    "m": ("m", "metre", "metres", "meter", "meters"),
    "cm": ("cm",),
    "mm": ("mm",),
    "inch": ("in", "inch", "inches"),
    "us_survey_foot": ("usft", "us_ft", "us ft", "ftus", "us_survey_foot", "us_survey_feet"),
    "foot": ("ft", "foot", "feet"),
}
_DATE = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.]\d{4}(?:\D.*)?", re.ASCII)
MOST_MONTHS = 12


@dataclass(frozen=True)
class DateOrder:
    """What the dates of a table say of the order of their numbers.

    Parameters
    ----------
    order : str
        ``mdy`` or ``dmy`` where the dates allow only one of the two; "" where they do not tell.
    example : str
        The date that tells, or the first of those that do not; "" where every date begins with its year.
    words : str
        The suggestion or the question, for a person; "" where there is neither.
    """

    order: str = ""
    example: str = ""
    words: str = ""


def suggested_unit(column: str) -> str:
    """Unit that a column's name ends in, as in ``depth_ft`` or ``Depth (m)``; "" where it ends in none."""
    name = column.strip()
    for unit, words in _UNITS.items():
        if any(re.search(rf"[ _.\[(-]{word}[\])]?$", name, re.ASCII | re.IGNORECASE) for word in words):
            return unit
    return ""


def suggested_date_order(texts: Iterable[str]) -> DateOrder:
    """Order of day and month that dates such as 11/05/2026 tell, which only a number above 12 does.

    Dates that contradict each other tell nothing, and neither do dates whose numbers may both be months.
    """
    dates = [(text, match) for text in texts if (match := _DATE.fullmatch(text.strip()))]
    if not dates:
        return DateOrder()
    telling = {
        order: text
        for order, place in (("dmy", 1), ("mdy", 2))
        for text, match in reversed(dates)
        if int(match[place]) > MOST_MONTHS
    }
    if len(telling) == 1:
        ((order, text),) = telling.items()
        words = f"{text} has a number above 12: it seems to be {DATE_ORDERS[order]}. Choose it if it is."
        return DateOrder(order, text, words)
    if telling:
        words = f"{telling['dmy']} and {telling['mdy']} are not in one order: mend the file."
        return DateOrder("", telling["dmy"], words)
    example = dates[0][0]
    words = f"Is {example} month first or day first? The dates do not tell: ask who wrote them."
    return DateOrder("", example, words)
