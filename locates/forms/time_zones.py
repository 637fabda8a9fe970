"""The time zones that a job can be in, those of the trade's own country first."""

from functools import cache
from zoneinfo import available_timezones

NEAR = (
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Phoenix",
    "America/Los_Angeles",
    "America/Anchorage",
    "Pacific/Honolulu",
)
# Zones of no place, and second names of the same ones.
_LEFT_OUT = ("Etc/", "SystemV/", "US/", "posix/", "right/")


@cache
def time_zone_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """Zones in two groups, by name."""
    others = sorted(
        name
        for name in available_timezones()
        if "/" in name and name not in NEAR and not name.startswith(_LEFT_OUT)
    )
    return [("Often used", [(name, name) for name in NEAR]), ("All", [(name, name) for name in others])]
