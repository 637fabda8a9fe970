"""Finding a job and a bore by the names that people type."""

from conflicts.models import Bore
from locates.errors import LocatesError
from locates.models import Job

MOST_NAMED = 12  # names shown to somebody who mistyped one


class NotThereError(LocatesError, LookupError):
    """A job or bore that is not there, or a job name that two organisations have.

    Parameters
    ----------
    what : str
        Such as ``job 'Elm Street'``.
    known : list of str
        What would have been accepted.
    """

    def __init__(self, what: str, known: list[str]) -> None:
        super().__init__(what, known)
        self.what = what
        self.known = known

    def __str__(self) -> str:
        if not self.known:
            return f"{self.what}: not there, and there are none"
        more = f" and {len(self.known) - MOST_NAMED} more" if len(self.known) > MOST_NAMED else ""
        return f"{self.what}: not there; accepted: {', '.join(self.known[:MOST_NAMED])}{more}"


def find_job(name: str, organisation: str | None = None) -> Job:
    """The job of a name, and of an organisation where two have one of that name."""
    jobs = Job.objects.select_related("organisation", "jurisdiction").filter(name=name)
    if organisation is not None:
        jobs = jobs.filter(organisation__name=organisation)
    found = list(jobs[:2])
    if len(found) == 1:
        return found[0]
    if found:
        owners = [f"--organisation '{job.organisation.name}'" for job in jobs]
        raise NotThereError(f"job '{name}' of one organisation", owners)
    raise NotThereError(f"job '{name}'", list(Job.objects.order_by("name").values_list("name", flat=True)))


def find_bore(job: Job, name: str) -> Bore:
    """The bore of a job by its name."""
    bore = job.bores.filter(name=name).first()
    if bore is None:
        names = list(job.bores.order_by("name").values_list("name", flat=True))
        raise NotThereError(f"bore '{name}' of job '{job.name}'", names)
    return bore
