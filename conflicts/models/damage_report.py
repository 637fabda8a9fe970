"""What happened when a line was damaged, or nearly."""

from collections.abc import Iterable
from typing import ClassVar
from uuid import UUID

from django.db import models
from django.db.models import Q
from django.urls import reverse

from conflicts.models.bore import Bore
from conflicts.models.signed import SignedQuerySet, SignedRecord, name_then, signer
from locates.models import FacilityType, Job, Mark
from locates.models.bounds import one_of, written


class DamageKind(models.TextChoices):
    """How far it came."""

    DAMAGE = "damage", "damage"
    NEAR_MISS = "near_miss", "near miss"


class DamageReportQuerySet(SignedQuerySet):
    """Sets of reports."""

    def of_bores(self, bores: Iterable[Bore]) -> "DamageReportQuerySet":
        """Those of some bores, and of their jobs without a bore: of those nobody knows which it was."""
        bores = list(bores)
        of_job = Q(bore=None, job__in=[bore.job_id for bore in bores])
        return self.filter(Q(bore__in=bores) | of_job).order_by("-happened_at", "id")


class DamageReport(SignedRecord):
    """One account of it by one person; who knows better adds another."""

    LEDGER_KIND: ClassVar[str] = "damage"
    SIGNER: ClassVar[str] = "reported_by"
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ()

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="damage_reports")
    bore = models.ForeignKey(
        Bore, on_delete=models.PROTECT, null=True, blank=True, related_name="damage_reports"
    )
    mark = models.ForeignKey(
        Mark, on_delete=models.PROTECT, null=True, blank=True, related_name="damage_reports"
    )
    kind = models.CharField(max_length=10, choices=DamageKind)
    happened_at = models.DateTimeField()
    facility_type = models.CharField(max_length=20, choices=FacilityType)
    operator = models.CharField(max_length=200, blank=True, help_text="Whose line it is, where known.")
    place = models.TextField(blank=True, help_text="Where, as one would find it again.")
    what_happened = models.TextField()
    who_was_called = models.TextField(blank=True, help_text="Who was called, at what time, and who came.")
    reported_by = signer("reported")
    reported_by_name = name_then("reported")
    photo_sha256s = models.JSONField("SHA-256 of its photos", default=list, blank=True)

    objects = DamageReportQuerySet.as_manager()

    class Meta:
        """How reports are ordered and bounded."""

        ordering = ("-happened_at", "id")
        constraints = (
            one_of("damage_report", "kind", DamageKind),
            one_of("damage_report", "facility_type", FacilityType),
            *written("damage_report", "what_happened", "reported_by_name"),
        )

    def __str__(self) -> str:
        """What, and when."""
        return f"{self.get_kind_display()} on {self.happened_at:%Y-%m-%d %H:%M} UTC"

    def get_absolute_url(self) -> str:
        """The page that shows it."""
        return reverse("conflicts:damage", args=[self.pk])

    def is_of(self, bore: Bore) -> bool:
        """Whether it is of a bore, or of its job without saying which bore."""
        return self.bore_id == bore.pk or (self.bore_id is None and self.job_id == bore.job_id)

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.job_id
