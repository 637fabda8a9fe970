"""Papers that came with an operator's answer."""

from uuid import UUID, uuid4

from django.db import models

from locates.models.paper_file import PaperFile, paper_bounds
from locates.models.response import Response
from locates.models.retirable import LiveManager, Retirable, once_among_live


class ResponsePaperQuerySet(models.QuerySet["ResponsePaper"]):
    """Sets of papers."""

    def listed(self) -> "ResponsePaperQuerySet":
        """Without their bytes, the oldest first: what a list shows."""
        return self.defer("content").select_related("edited_by").order_by("added_at", "file_name")


class ResponsePaper(PaperFile, Retirable):
    """A paper that came with an answer."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    response = models.ForeignKey(Response, on_delete=models.CASCADE, related_name="papers")
    added_at = models.DateTimeField(auto_now_add=True)

    objects = LiveManager.from_queryset(ResponsePaperQuerySet)()
    with_retired = ResponsePaperQuerySet.as_manager()

    class Meta:
        """How papers are ordered and bounded."""

        ordering = ("response_id", "added_at")
        constraints = (
            once_among_live(
                "response",
                "sha256",
                name="response_paper_once",
                accepted="sha256: accepted is a paper that this answer does not have yet.",
            ),
            *paper_bounds("response_paper"),
        )

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.response.home_job_id
