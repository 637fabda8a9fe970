"""Where the bores of a job run, for whoever has to say how far from them something lies."""

from uuid import UUID

from conflicts.models import Bore
from locates.landmarks import Landmark


def bore_landmarks(job_id: UUID) -> list[Landmark]:
    """The alignment of every bore of a job."""
    bores = Bore.objects.filter(job_id=job_id).order_by("name")
    return [Landmark(f"bore {bore.name}", bore.alignment) for bore in bores]
