"""Finding a job and a bore by the names that people type."""

from conflicts.models import Bore
from locates.errors import LocatesError
from locates.models import Job

MOST_NAMED = 12  # names shown to somebody who mistyped one


class NotThereError(LocatesError, LookupError):
    """A job or bore that is not there, or a job name that several organisations have.

    Parameters
    ----------
    sentence : str
        What was asked for and what is wrong with it, without a full stop.
    known : list of str
        What would have been accepted.
    """

    def __init__(self, sentence: str, known: list[str]) -> None:
        super().__init__(sentence, known)
        self.sentence = sentence
        self.known = known

    def __str__(self) -> str:
        if not self.known:
            return f"{self.sentence}. There are none."
        more = f" and {len(self.known) - MOST_NAMED} more" if len(self.known) > MOST_NAMED else ""
        return f"{self.sentence}. Accepted: {', '.join(self.known[:MOST_NAMED])}{more}."


def find_job(name: str, organisation: str | None = None) -> Job:
    """The job of a name, and of an organisation where two have one of that name."""
    jobs = Job.objects.select_related("organisation", "jurisdiction").filter(name=name)
    if organisation is not None:
        jobs = jobs.filter(organisation__name=organisation)
    found = list(jobs[:2])
    if len(found) == 1:
        return found[0]
    if found:
        owners = [f'--organisation "{job.organisation.name}"' for job in jobs.order_by("organisation__name")]
        raise NotThereError(f'Several organisations have a job "{name}"', owners)
    names = Job.objects.order_by("name").values_list("name", flat=True).distinct()
    raise NotThereError(f'There is no job "{name}"', [f'"{one}"' for one in names])


def find_bore(job: Job, name: str) -> Bore:
    """The bore of a job by its name."""
    bore = job.bores.filter(name=name).first()
    if bore is None:
        names = job.bores.order_by("name").values_list("name", flat=True)
        raise NotThereError(f'Job "{job.name}" has no bore "{name}"', [f'"{one}"' for one in names])
    return bore
