"""An exception that somebody asks for: one check or one crossing, with the reason."""

from typing import ClassVar

from django.db import models
from django.db.models import Q

from conflicts.models.bore import Bore
from conflicts.models.crossing import CrossingKind
from conflicts.models.crossing_watch import PassMade
from conflicts.models.signed import SignedQuerySet, SignedRecord, name_then, signer
from conflicts.variance_words import bound_words
from locates.models import Mark, organisation_of
from locates.models.bounds import not_negative, one_of, written


class VarianceSubject(models.TextChoices):
    """What a variance excuses."""

    CHECK = "check", "a check"
    CROSSING = "crossing", "the clearance of a crossing"
    WATCH = "watch", "the watch of a crossing"
    GONE = "gone", "a crossing that is not there any more"
    DRILLED = "drilled", "the hole as it was drilled past a line"


class CheckCode(models.TextChoices):
    """The checks behind a release, in their order; last, what a close-out asks for besides."""

    TICKETS = "tickets", "tickets"
    RESPONSES = "responses", "operators\N{RIGHT SINGLE QUOTATION MARK} responses"
    CROSSINGS = "crossings", "crossings"
    SURFACE = "surface", "surface evidence"
    PROFILE = "profile", "profile"
    DAY = "day", "the day\N{RIGHT SINGLE QUOTATION MARK}s walk"
    WATCH_HOLES = "watch_holes", "watch holes"
    DUTIES = "duties", "duties of the place"
    RELEASE = "release", "a release before drilling"
    CAMERA = "camera", "the camera after the pullback"


class VarianceQuerySet(SignedQuerySet):
    """Sets of variances."""

    def with_course(self) -> "VarianceQuerySet":
        """With what became of each: its signature and its end."""
        return self.select_related("bore__job", "mark", "signature", "end")

    def to_be_signed_by(self, person_id: int) -> "VarianceQuerySet":
        """What waits for a signature in a person's company, but for what that person asked for."""
        waiting = self.filter(signature=None, end=None, bore__retired_at=None, bore__job__retired_at=None)
        ours = waiting.filter(bore__job__organisation=organisation_of(person_id))
        return ours.exclude(requested_by=person_id).with_course().order_by("requested_at", "id")


class Variance(SignedRecord):
    """What somebody asks to be excused, and why. It excuses nothing until a safety manager signs it.

    A crossing is told by the mark, the kind and about where along the bore; a check by its code.
    """

    LEDGER_KIND: ClassVar[str] = "variance_request"
    SIGNER: ClassVar[str] = "requested_by"
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = ("pass_made",)

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="variances")
    subject = models.CharField(max_length=10, choices=VarianceSubject)
    check_code = models.CharField("check", max_length=20, choices=CheckCode, blank=True)
    mark = models.ForeignKey(Mark, on_delete=models.PROTECT, null=True, blank=True, related_name="variances")
    kind = models.CharField(max_length=10, choices=CrossingKind, blank=True)
    station_m = models.FloatField("station (m)", null=True, blank=True)
    pass_made = models.CharField("pass", max_length=10, choices=PassMade, blank=True, default="")
    reason = models.TextField()
    evidence = models.TextField(blank=True, help_text="What shows that it is safe, and where it is kept.")
    requested_by = signer("requested")
    requested_by_name = name_then("requested")
    requested_at = models.DateTimeField()

    objects = VarianceQuerySet.as_manager()

    class Meta:
        """How requests are ordered and bounded."""

        ordering = ("-requested_at", "id")
        constraints = (
            one_of("variance", "subject", VarianceSubject),
            one_of("variance", "check_code", CheckCode, blank=True),
            one_of("variance", "kind", CrossingKind, blank=True),
            one_of("variance", "pass_made", PassMade, blank=True),
            *not_negative("variance", "station_m"),
            *written("variance", "reason", "requested_by_name"),
            models.CheckConstraint(
                condition=Q(subject="check", mark__isnull=True, kind="", station_m__isnull=True)
                & ~Q(check_code="")
                | ~Q(subject="check")
                & Q(check_code="", mark__isnull=False, station_m__isnull=False)
                & ~Q(kind=""),
                name="variance_names_one_thing",
                violation_error_message=(
                    "subject: accepted is a check by its code, or a crossing by its mark, kind and station."
                ),
            ),
            models.CheckConstraint(
                condition=Q(pass_made="") | Q(subject="watch"),
                name="variance_pass_is_of_a_watch",
                violation_error_message="pass_made: accepted is a pass of a watch, and nothing else.",
            ),
        )

    @property
    def what(self) -> str:
        """What of its crossing it excuses: its clearance, or the watch of one pass."""
        words = self.get_subject_display()
        return f"{words}, {self.get_pass_made_display()}" if self.pass_made else words

    def bound_words(self) -> str:
        """What it is bound to since it was signed; until then nothing."""
        signature = getattr(self, "signature", None)
        if signature is None:
            return "Nothing yet: signing it binds it to what holds then."
        units = self.bore.job.show_units
        return bound_words(self.subject, signature.facts, self.pass_made or "", units)

    def __str__(self) -> str:
        """What it excuses."""
        if self.subject == VarianceSubject.CHECK:
            return f"variance for {self.get_check_code_display()}"
        return f"variance for {self.get_subject_display()} ({self.mark})"
