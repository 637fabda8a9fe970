"""What the page of a bore's walks shows, and what counts today."""

from datetime import date, datetime
from typing import NamedTuple

from django.contrib.auth.models import AbstractBaseUser
from django.core.paginator import Page, Paginator
from django.db.models import Count, Q

from conflicts.models import Bore, DailyWalk
from conflicts.walk_days import WalkDay, by_day, counts_at, local_day
from locates.models import Job, LedgerEntry, RecordEvent

WALKS_A_PAGE = 30
MOST_DEVICES = 8


class OnRecord(NamedTuple):
    """What is on record of a job's marks and test holes, to hold against what is seen."""

    marks: int
    marks_not_intact: int
    holes: int
    holes_open: int


class WalkSheet(NamedTuple):
    """One page of a bore's walks by local day, the last first, each with its entry in the ledger.

    ``cut_day`` is the day of which the page before shows the walk that counts.
    """

    page: Page
    days: list[WalkDay[DailyWalk]]
    today: date
    cut_day: date | None

    @property
    def walks(self) -> list[DailyWalk]:
        """All walks of the page."""
        return [walk for day in self.days for walk in day.walks]


def walk_sheet(bore: Bore, at: datetime, page_number: str | None) -> WalkSheet:
    """One page of a bore's walks as they are to be shown at a moment."""
    zone = bore.job.time_zone
    page = Paginator(DailyWalk.objects.filter(bore=bore).newest_first(), WALKS_A_PAGE).get_page(page_number)
    # With the walk before the page, which says whether its first day begins there.
    first = page.start_index() - 1 if page.paginator.count else 0
    walks = list(page.paginator.object_list[max(first - 1, 0) : first + WALKS_A_PAGE])
    before, walks = (walks[0], walks[1:]) if first else (None, walks)
    entries = LedgerEntry.objects.filter(kind=DailyWalk.LEDGER_KIND, record_id__in=[one.pk for one in walks])
    numbers = dict(entries.values_list("record_id", "sequence"))
    for walk in walks:
        walk.entry_sequence = numbers.get(walk.pk)
    cut_day = local_day(before.walked_at, before.time_zone or zone) if before else None
    return WalkSheet(page, by_day(walks, zone), local_day(at, zone), cut_day)


def walk_of_today(bore: Bore, at: datetime) -> DailyWalk | None:
    """The walk that counts for a bore on the local day of a moment, as far as that day has come."""
    last = DailyWalk.objects.filter(bore=bore, walked_at__lte=at).newest_first().first()
    if last is None:
        return None
    rezoned = {} if last.time_zone else RecordEvent.objects.zone_changes([bore.job_id])
    return last if counts_at(last, at, bore.job.time_zone, rezoned.get(bore.job_id, ())) else None


def on_record(job: Job) -> OnRecord:
    """Counts of a job's marks and test holes as recorded."""
    marks = job.marks.aggregate(all=Count("pk"), gone=Count("pk", filter=Q(is_intact=False)))
    holes = job.test_holes.aggregate(all=Count("pk"), open=Count("pk", filter=Q(is_open=True)))
    return OnRecord(marks["all"], marks["gone"], holes["all"], holes["open"])


def devices_of(person: AbstractBaseUser, job: Job) -> list[str]:
    """Devices that were named on a job's walks or by a person, the person's last one first."""
    named = DailyWalk.objects.filter(Q(walked_by=person) | Q(bore__job=job)).exclude(device="")
    recent = named.order_by("-walked_at").values_list("walked_by", "device")[:100]
    own = [device for by, device in recent if by == person.pk]
    return list(dict.fromkeys([*own, *(device for _, device in recent)]))[:MOST_DEVICES]
