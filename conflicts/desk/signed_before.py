"""The moment that something of a bore is dated by, after all that was signed of it before."""

from datetime import datetime

from django.db.models import Max

from conflicts.clocks import dated_after, moments_now
from conflicts.models import Bore, CloseOut, CrossingWatch, Release, VarianceSignature


def after_what_was_signed(bore: Bore, *before: datetime | None) -> datetime:
    """Tell this moment, after every watch, variance, release and close-out before: none knows of this one.

    ``before`` are moments of other records that it comes after.
    """
    watched = CrossingWatch.objects.filter(bore=bore).aggregate(at=Max("watched_at"))
    signed = VarianceSignature.objects.filter(variance__bore=bore).aggregate(at=Max("signed_at"))
    released = Release.objects.filter(bore=bore).aggregate(at=Max("signed_at"))
    closed = CloseOut.objects.filter(bore=bore).aggregate(at=Max("closed_at"))
    return dated_after(moments_now(), watched["at"], signed["at"], released["at"], closed["at"], *before)
