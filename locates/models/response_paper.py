"""Papers that came with an operator's answer."""

from uuid import UUID, uuid4

from django.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.lookups import Exact

from locates.models.bounds import one_of, written
from locates.models.response import Response
from locates.models.retirable import LiveManager, Retirable, once_among_live

LARGEST_PAPER_BYTES = 10 * 1024 * 1024
"""Common practice, no source: a scanned sheet or a mail with pictures is a tenth of it."""

_OCTETS = Func(F("content"), function="octet_length", output_field=models.IntegerField())
_DIGEST = Func(
    Func(F("content"), function="sha256", output_field=models.BinaryField()),
    Value("hex", output_field=models.CharField()),
    function="encode",
    output_field=models.CharField(),
)


class PaperType(models.TextChoices):
    """What a paper may be, by its content."""

    PDF = "application/pdf", "PDF"
    PNG = "image/png", "PNG picture"
    JPEG = "image/jpeg", "JPEG picture"
    TEXT = "text/plain", "plain text"
    MAIL = "message/rfc822", "e-mail"


class ResponsePaperQuerySet(models.QuerySet["ResponsePaper"]):
    """Sets of papers."""

    def listed(self) -> "ResponsePaperQuerySet":
        """Without their bytes, the oldest first: what a list shows."""
        return self.defer("content").select_related("edited_by").order_by("added_at", "file_name")


class ResponsePaper(Retirable):
    """A paper as it came, byte by byte; the database refuses bytes that are not those of its digest."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    response = models.ForeignKey(Response, on_delete=models.CASCADE, related_name="papers")
    file_name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=40, choices=PaperType)
    size_bytes = models.PositiveIntegerField()
    sha256 = models.CharField("SHA-256", max_length=64)
    content = models.BinaryField(help_text="The file as it came.")
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
            *written("response_paper", "file_name"),
            one_of("response_paper", "media_type", PaperType),
            models.CheckConstraint(
                condition=Q(size_bytes__gt=0, size_bytes__lte=LARGEST_PAPER_BYTES)
                & Q(Exact(_OCTETS, F("size_bytes"))),
                name="response_paper_size_bytes_counted",
                violation_error_message=(
                    "size_bytes: accepted is the number of bytes, above 0 and within the limit."
                ),
            ),
            models.CheckConstraint(
                condition=Q(Exact(_DIGEST, F("sha256"))),
                name="response_paper_sha256_of_content",
                violation_error_message="sha256: accepted is the digest of the content.",
            ),
        )

    def __str__(self) -> str:
        """File name."""
        return self.file_name

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.response.home_job_id
