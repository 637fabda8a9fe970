"""What is signed of the running job: a variance that is asked for and not signed, and no walk of today."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from conflicts.demo.people import DemoPeople
from conflicts.demo.signing import sign
from conflicts.models import CrossingKind, Variance, VarianceSubject
from conflicts.models.signed import name_of
from locates.models import Job

# The Friday before the week that the job's file is written for.
ASKED_AT = datetime(2026, 9, 25, 14, 5, tzinfo=ZoneInfo("America/New_York"))
SHORT_MARK, SHORT_STATION_M = "S-2", 37.1


def tell_running_job(job: Job, people: DemoPeople, weeks: timedelta) -> None:
    """Ask for a variance at the crossing that is short of what is required."""
    sign(
        Variance(
            bore=job.bores.get(name="Main run"),
            subject=VarianceSubject.CROSSING,
            mark=job.marks.get(ref=SHORT_MARK),
            kind=CrossingKind.CROSSING,
            station_m=SHORT_STATION_M,
            reason=(
                "The sewer lies higher than was said. Steering under it here would ask for a tighter bend "
                "than the rods take before the gas main."
            ),
            evidence="Test hole of September, level shot again on Friday; sketch with the foreman.",
            requested_by=people.foreman,
            requested_by_name=name_of(people.foreman),
            requested_at=ASKED_AT + weeks,
        ),
        by=people.foreman,
    )
