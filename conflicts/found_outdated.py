"""Telling the workers of bores whose stored figures a page found to be of older records, or not there.

Who looks at a page writes nothing: a message goes to the workers, and a worker queues the bore. One that is
lost is sent again by whoever looks later; a page that renews itself does not send one each time.
"""

from collections.abc import Iterable
from threading import Lock
from time import monotonic
from uuid import UUID

from conflicts.bell import ring_for_bores

TELL_AGAIN_S = 30.0

_told: dict[UUID, float] = {}
_lock = Lock()


def tell_workers(bore_ids: Iterable[UUID]) -> None:
    """Tell the workers of bores, but for those that this process told them of a moment ago."""
    now = monotonic()
    with _lock:
        for known in [one for one, at in _told.items() if now - at >= TELL_AGAIN_S]:
            del _told[known]
        news = sorted(set(bore_ids) - _told.keys())
        _told.update(dict.fromkeys(news, now))
    ring_for_bores(news)
