"""What a crossing's verdict means and what to do next, in words a foreman can act on."""

from dataclasses import dataclass

from conflicts.engine.verdict import Verdict
from locates.units import format_length, format_station


@dataclass(frozen=True)
class DigPlace:
    """Where a test hole is wanted to expose a line.

    Attributes
    ----------
    station_m : float
        Along the bore.
    offset_m : float
        From the alignment, positive to the right facing the exit.
    bottom_m : float
        Depth of the bottom of the finished hole at that station.
    longitude_deg, latitude_deg : float
    missed_by : str
        Test holes that found no line there; empty where none was dug.
    """

    station_m: float
    offset_m: float
    bottom_m: float
    longitude_deg: float
    latitude_deg: float
    missed_by: str

    @property
    def geo_uri(self) -> str:
        """The place as a link that a phone opens in its own maps (RFC 5870)."""
        return f"geo:{self.latitude_deg:.7f},{self.longitude_deg:.7f}"


def line_name(operator: str, mark_ref: str) -> str:
    """A line as people call it: its operator and the reference of its mark."""
    return f"{operator} {mark_ref}"


def station_words(station_m: float, show_units: str) -> str:
    """A station with the word before it."""
    return f"station {format_station(station_m, show_units)}"


def crossing_sentence(
    *,
    verdict: Verdict,
    line: str,
    station_m: float,
    separation_m: float | None,
    worst_case_m: float | None,
    required_m: float,
    dig: str | None,
    stale_because: str | None,
    is_size_assumed: bool,
    show_units: str,
) -> str:
    """The verdict on one crossing as a sentence, with its figures and the next step.

    Parameters
    ----------
    verdict : Verdict
    line : str
        From `line_name`.
    station_m : float
        Of the crossing point.
    separation_m, worst_case_m : float or None
        None where the depth is unknown.
    required_m : float
    dig : str or None
        What to do to expose the line, for `unexposed`.
    stale_because : str or None
        What made the exposure stale, for `stale`.
    is_size_assumed : bool
        The line's size is the default of its type.
    show_units : str
        "feet" or "metric".
    """
    at = station_words(station_m, show_units)
    left = format_length(worst_case_m, show_units, "down")
    wanted = format_length(required_m, show_units, "up")
    if verdict is Verdict.OVERLAP:
        by = format_length(None if separation_m is None else -separation_m, show_units, "up")
        words = f"The hole would meet {line} at {at}: they overlap by {by}. Redesign the profile."
    elif verdict is Verdict.UNEXPOSED:
        words = f"{line} at {at} is not exposed. {dig}."
    elif verdict is Verdict.STALE:
        words = f"{line} at {at} was exposed, but {stale_because}. Refresh the mark and check the test hole."
    elif verdict is Verdict.SHORT:
        words = (
            f"{line} at {at}: {left} is left in the worst case and {wanted} is required. "
            "Redesign the profile, or ask the safety manager for a variance."
        )
    else:
        words = (
            f"{line} at {at}: {left} is left in the worst case, {wanted} is required. "
            "Watch it in its open test hole when the head passes."
        )
    return f"{words} Size assumed: it is neither measured nor stated." if is_size_assumed else words


def offset_words(offset_m: float, show_units: str) -> str:
    """An offset from the alignment, positive to the right facing the exit, in words."""
    if abs(offset_m) < 0.0005:
        return "on the alignment"
    side = "right" if offset_m > 0.0 else "left"
    return f"{format_length(abs(offset_m), show_units)} {side} of the alignment"


def dig_words(dig: DigPlace, show_units: str) -> str:
    """What to do to expose a line: where to dig and how deep."""
    place = f"{offset_words(dig.offset_m, show_units)} ({dig.latitude_deg:.7f}, {dig.longitude_deg:.7f})"
    missed = f"Test hole {dig.missed_by} missed it there: have it located again. Then dig"
    bottom = format_length(dig.bottom_m, show_units, "up")
    return (
        f"{missed if dig.missed_by else 'Dig'} a test hole at {station_words(dig.station_m, show_units)}, "
        f"{place}, and down to {bottom}, the bottom of the finished hole"
    )
