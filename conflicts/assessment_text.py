"""An assessment document as a table for a terminal of 100 columns, what must be done first."""

import textwrap
from datetime import datetime
from typing import Any

from conflicts.engine.verdict import Verdict
from locates.local_time import format_moment
from locates.minus import plain_minus
from locates.units import format_length, format_station

COLUMNS = 100

CHECK_NAMES = {
    "tickets": "Tickets",
    "responses": "Responses",
    "crossings": "Crossings",
    "surface": "Surface",
    "profile": "Profile",
    "day": "Walk of the day",
    "watch_holes": "Watch holes",
    "duties": "Duties",
}

CAUTIONS = (
    "A clearance here is computed from records: it does not replace exposing a line. The law of the place, "
    "the facility operators and licensed practice decide. Not checked here: the walk of the day (marks seen "
    "intact) and the proof of the locating device."
)

HEADER = ("Station", "Line", "Kind", "Passes", "Separation", "Worst case", "Required", "Verdict")
WIDTHS = (8, 15, 9, 7, 15, 15, 14, 9)


def assessment_text(document: dict[str, Any], *, at: datetime, time_zone: str, show_units: str) -> str:
    """The document in words and a table.

    Parameters
    ----------
    document : dict
        From `conflicts.assess.assess`.
    at : datetime
        The moment it is for.
    time_zone : str
        The job's, an IANA name.
    show_units : str
        "feet" or "metric".
    """
    holding = [check for check in document["checks"] if check["holds"]]
    length = format_length(document["length_m"], show_units)
    lines = [f"{document['job']} / {document['bore']}, {length}, at {format_moment(at, time_zone)}", ""]
    if holding:
        lines.append(f"DO NOT DRILL. {_counted(len(holding), 'check')} must be settled first:")
    else:
        lines.append("Nothing here holds the bore, as far as the records can tell.")
    for check in sorted(document["checks"], key=lambda check: not check["holds"]):
        mark = "HOLDS" if check["holds"] else "passes"
        lead = f"  {CHECK_NAMES[check['code']]:<12}{mark:<8}"
        lines += textwrap.wrap(
            check["sentence"], COLUMNS, initial_indent=lead, subsequent_indent=" " * len(lead)
        )
    lines += ["", *_table(document["crossings"], show_units), ""]
    order = list(Verdict)
    for one in sorted(document["crossings"], key=lambda one: order.index(one["verdict"])):
        if one["verdict"] != Verdict.CLEAR:
            lines += textwrap.wrap(one["sentence"], COLUMNS, initial_indent="- ", subsequent_indent="  ")
    lines.append("")
    lines += [f"Inputs {document['inputs_digest'][:16]}", *textwrap.wrap(CAUTIONS, COLUMNS)]
    return plain_minus("\n".join(lines))


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else f"{text[: width - 2].rstrip()}.."


def _table(crossings: list[dict[str, Any]], show_units: str) -> list[str]:
    if not crossings:
        return ["No marked line comes within the tolerance zone of the bore."]
    rows = [HEADER, tuple("-" * width for width in WIDTHS)]
    for one in crossings:
        rows.append(
            (
                format_station(one["station_m"], show_units),
                _cut(f"{one['mark_ref']} {one['operator']}", WIDTHS[1]),
                one["kind"],
                one["passes"] or "unknown",
                format_length(one["separation_m"], show_units, "down"),
                format_length(one["worst_case_m"], show_units, "down"),
                format_length(one["required_m"], show_units, "up"),
                one["verdict"],
            )
        )
    return [
        " ".join(f"{cell:<{width}}" for cell, width in zip(row, WIDTHS, strict=True)).rstrip() for row in rows
    ]
