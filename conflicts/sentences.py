"""What a crossing's verdict means and what to do next, in words a foreman can act on."""

from conflicts.engine.verdict import Verdict
from locates.units import format_length, format_station


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
        Where to dig the test hole that is wanted, for `unexposed`.
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
        words = f"{line} at {at} is not exposed. Dig a test hole {dig}."
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


def dig_words(
    *, station_m: float, offset_m: float, longitude_deg: float, latitude_deg: float, show_units: str
) -> str:
    """Where to dig: station, offset to the left or right facing the exit, and coordinates."""
    offset = format_length(abs(offset_m), show_units)
    side = "right" if offset_m > 0.0 else "left"
    beside = "on the alignment" if abs(offset_m) < 0.0005 else f"{offset} {side} of the alignment"
    return (
        f"at {station_words(station_m, show_units)}, {beside} ({latitude_deg:.7f}, {longitude_deg:.7f}), "
        "as deep as the bottom of the hole that will be reamed"
    )
