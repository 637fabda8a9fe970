"""Where a bore is looked at: its page, or once it is retired that of how it stood last."""

from datetime import datetime, timedelta
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

from locates.exchange.moments import write_moment

LEAST_STEP = timedelta(microseconds=1)


def bore_address(bore_id: UUID, retired_at: datetime | None) -> str:
    """The address of a bore's page; of a retired one that of the moment before, for its own answers no more.

    Parameters
    ----------
    bore_id : UUID
    retired_at : datetime or None
        None where it is live.
    """
    if retired_at is None:
        return reverse("conflicts:bore", args=[bore_id])
    # The record of changes dates the retirement after the moment that is written on it.
    last = urlencode({"at": write_moment(retired_at - LEAST_STEP)})
    return f"{reverse('conflicts:bore-as-of', args=[bore_id])}?{last}"
