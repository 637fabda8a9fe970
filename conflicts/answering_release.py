"""Which release of a bore answers for it: the one that every page about the bore tells of."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from django.utils import timezone

from conflicts.assess import Computed
from conflicts.models import Release
from conflicts.release import NONE_READ, Standing, standing_of, standings_of


def answering_releases(
    bore_ids: Iterable[UUID], read: Mapping[UUID, Computed] = NONE_READ
) -> dict[UUID, tuple[Release, Standing]]:
    """The release that answers for each bore that has one, with how it stands.

    The last signed one; where that is not underway, the last signed of those that are, for one that is signed
    ahead ends none. ``read`` as for `standings_of`.
    """
    # One whose shift is over by this machine's clock is in force by none that counts.
    at = timezone.now()
    newest = Release.objects.filter(bore__in=list(bore_ids)).with_course().newest_of_each()
    found = {one.bore_id: one for one in newest.with_others_open(at)}
    standings = standings_of(found.values(), read)
    told = {bore_id: (one, standings[bore_id]) for bore_id, one in found.items()}
    asked = [key for key, (one, now) in told.items() if one.others_open and not now.is_underway]
    if not asked:
        return told
    for one in Release.objects.filter(bore__in=asked).open_at(at).with_course().newest_first():
        if told[one.bore_id][1].is_underway:
            continue
        standing = standing_of(one, read.get(one.bore_id))
        if standing.is_underway:
            told[one.bore_id] = one, standing
    return told
