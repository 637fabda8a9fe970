"""Time zones of the states whose rules are shipped: the one that most of the state keeps, then its others.

Source: 49 CFR part 71 (limits of the time zones), names of the IANA time zone database. A job has a zone of
its own; these serve where only the state is known.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

EASTERN, CENTRAL = "America/New_York", "America/Chicago"
MOUNTAIN, PACIFIC = "America/Denver", "America/Los_Angeles"

ZONES = {
    "AL": (CENTRAL,),
    "AZ": ("America/Phoenix", MOUNTAIN),
    "CA": (PACIFIC,),
    "CO": (MOUNTAIN,),
    "DE": (EASTERN,),
    "FL": (EASTERN, CENTRAL),
    "GA": (EASTERN,),
    "IA": (CENTRAL,),
    "IL": (CENTRAL,),
    "IN": ("America/Indiana/Indianapolis", CENTRAL),
    "KS": (CENTRAL, MOUNTAIN),
    "LA": (CENTRAL,),
    "MD": (EASTERN,),
    "MI": ("America/Detroit", "America/Menominee"),
    "MN": (CENTRAL,),
    "MO": (CENTRAL,),
    "MS": (CENTRAL,),
    "NC": (EASTERN,),
    "NJ": (EASTERN,),
    "NV": (PACIFIC, MOUNTAIN),
    "NY": (EASTERN,),
    "OH": (EASTERN,),
    "OK": (CENTRAL,),
    "OR": (PACIFIC, "America/Boise"),
    "PA": (EASTERN,),
    "SC": (EASTERN,),
    "SD": (CENTRAL, MOUNTAIN),
    "TN": (CENTRAL, EASTERN),
    "TX": (CENTRAL, MOUNTAIN),
    "VA": (EASTERN,),
    "WA": (PACIFIC,),
    "WI": (CENTRAL,),
}


def zone_of(state: str, moment: datetime | None = None) -> str | None:
    """Zone of a state, the one of its zones that has the moment's offset where one has.

    Parameters
    ----------
    state : str
        Code of a jurisdiction.
    moment : datetime, optional
        As a person wrote it, with an offset.

    Returns
    -------
    str or None
        IANA name; None for a jurisdiction that is not listed.
    """
    zones = ZONES.get(state)
    if zones is None:
        return None
    if moment is not None:
        for zone in zones:
            if moment.astimezone(ZoneInfo(zone)).utcoffset() == moment.utcoffset():
                return zone
    return zones[0]
