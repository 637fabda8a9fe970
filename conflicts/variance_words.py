"""A variance in words, wherever one excuses something."""

from conflicts.site_records import VarianceInput
from locates.local_time import format_moment


def variance_words(variance: VarianceInput, time_zone: str) -> str:
    """A sentence on who signed a variance, until when, and why.

    Parameters
    ----------
    variance : VarianceInput
    time_zone : str
        IANA name.
    """
    until = format_moment(variance.until, time_zone)
    return f"Under a variance signed by {variance.signed_by}, until {until}: {variance.reason.rstrip('. ')}."
