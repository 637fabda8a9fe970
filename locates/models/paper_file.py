"""What every paper has: a file as it came, byte by byte, and what tells of it."""

from django.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.lookups import Exact

from locates.models.bounds import one_of, written

LARGEST_PAPER_BYTES = 10 * 1024 * 1024
"""Common practice, no source: a scanned sheet or a mail with pictures is a tenth of it."""


class PaperType(models.TextChoices):
    """What a paper may be, by its content."""

    PDF = "application/pdf", "PDF"
    PNG = "image/png", "PNG picture"
    JPEG = "image/jpeg", "JPEG picture"
    TEXT = "text/plain", "plain text"
    MAIL = "message/rfc822", "e-mail"


class PaperFile(models.Model):
    """A paper as it came; the bounds have the database refuse bytes that are not those of its digest."""

    file_name = models.CharField(max_length=200)
    media_type = models.CharField(max_length=40, choices=PaperType)
    size_bytes = models.PositiveIntegerField()
    sha256 = models.CharField("SHA-256", max_length=64)
    content = models.BinaryField(help_text="The file as it came.")

    class Meta:
        """No table of its own."""

        abstract = True

    def __str__(self) -> str:
        """File name."""
        return self.file_name


def digest_of_content() -> Func:
    """SHA-256 of a row's content, taken by the database."""
    return Func(
        Func(F("content"), function="sha256", output_field=models.BinaryField()),
        Value("hex", output_field=models.CharField()),
        function="encode",
        output_field=models.CharField(),
    )


def paper_bounds(record: str) -> list[models.CheckConstraint]:
    """The bounds of a paper's columns, named for its kind of record."""
    octets = Func(F("content"), function="octet_length", output_field=models.IntegerField())
    return [
        *written(record, "file_name"),
        one_of(record, "media_type", PaperType),
        models.CheckConstraint(
            condition=Q(size_bytes__gt=0, size_bytes__lte=LARGEST_PAPER_BYTES)
            & Q(Exact(octets, F("size_bytes"))),
            name=f"{record}_size_bytes_counted",
            violation_error_message=(
                "size_bytes: accepted is the number of bytes, above 0 and within the limit."
            ),
        ),
        models.CheckConstraint(
            condition=Q(Exact(digest_of_content(), F("sha256"))),
            name=f"{record}_sha256_of_content",
            violation_error_message="sha256: accepted is the digest of the content.",
        ),
    ]
