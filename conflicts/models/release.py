"""The signed statement that a bore may be drilled, and what it rests on."""

from collections.abc import Sequence
from datetime import datetime
from typing import ClassVar

from django.db import models
from django.db.models import Exists, OuterRef

from conflicts.models.assessment import DIGEST, digest_written
from conflicts.models.bore import Bore
from conflicts.models.signed import SignedQuerySet, SignedRecord, name_then, signer
from locates.models.bounds import in_order, written


class ReleaseQuerySet(SignedQuerySet):
    """Sets of releases."""

    def newest_first(self) -> "ReleaseQuerySet":
        """The last signed first."""
        return self.order_by("-signed_at", "-entered_at", "-id")

    def newest_of_each(self) -> "ReleaseQuerySet":
        """The last signed of each bore alone, for each holds a whole assessment."""
        return self.order_by("bore_id", "-signed_at", "-entered_at", "-id").distinct("bore_id")

    def open_at(self, at: datetime) -> "ReleaseQuerySet":
        """Those that were not taken back and whose shift is not over at a moment."""
        return self.filter(withdrawal__isnull=True, shift_until__gt=at)

    def with_others_open(self, at: datetime) -> "ReleaseQuerySet":
        """With whether others of the bore are open at a moment, as ``others_open``."""
        others = Release.objects.filter(bore=OuterRef("bore")).open_at(at).exclude(pk=OuterRef("pk"))
        return self.annotate(others_open=Exists(others))

    def open_damage(self, bore: Bore, reported: Sequence[str]) -> list[str]:
        """Of the ids of reports of damage those of which no release says what was settled.

        One that was taken back says nothing any more.
        """
        if not reported:
            return []
        answered = self.filter(bore=bore, withdrawal=None).values_list("damage_answered", flat=True)
        told = {one for ids in answered for one in ids or ()}
        return [one for one in reported if one not in told]

    def with_course(self) -> "ReleaseQuerySet":
        """With the bore and job, and the withdrawal where there is one."""
        return self.select_related("bore__job__jurisdiction", "withdrawal")


class Release(SignedRecord):
    """A bore released for one shift of one crew and rig.

    Whether it still holds is never stored: whoever asks computes it from the records (`conflicts.release`).
    """

    LEDGER_KIND: ClassVar[str] = "release"
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = (
        "crossing_marks",
        "excused_by",
        "damage_answered",
        "damage_settled",
    )
    SIGNER: ClassVar[str] = "signed_by"

    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="releases")
    document = models.JSONField("assessment", help_text="The assessment document, whole, as it was signed.")
    inputs_digest = models.CharField("digest of the inputs", max_length=64)
    grounds_digest = models.CharField("digest of the grounds", max_length=64)
    crossing_marks = models.JSONField(
        "marks of the crossings",
        null=True,
        blank=True,
        help_text="The id of the mark of each crossing of the assessment, in its order.",
    )
    excused_by = models.JSONField(
        "variances it rests on",
        null=True,
        blank=True,
        help_text="The ids of those but for which a check would have held.",
    )
    damage_answered = models.JSONField(
        "reports of damage that it answers",
        null=True,
        blank=True,
        help_text="The ids of those of which no release before it says what was settled.",
    )
    damage_settled = models.TextField(
        "what was settled since the damage",
        blank=True,
        default="",
        help_text="Of each report: what was found, what was mended and by whom, and who lets the work go on.",
    )
    last_event_id = models.BigIntegerField(
        help_text="The last change of any record that was known then: a later one of its grounds ends it."
    )
    shift_from = models.DateTimeField()
    shift_until = models.DateTimeField()
    crew = models.CharField(max_length=200)
    rig = models.CharField(max_length=200)
    signed_by = signer("signed")
    signed_by_name = name_then("signed")
    signed_at = models.DateTimeField()

    objects = ReleaseQuerySet.as_manager()

    class Meta:
        """How releases are ordered, found and bounded."""

        ordering = ("bore_id", "-signed_at")
        indexes = (models.Index(fields=("bore", "-signed_at"), name="release_latest"),)
        constraints = (
            digest_written("release"),
            models.CheckConstraint(
                condition=models.Q(grounds_digest__regex=DIGEST),
                name="release_grounds_digest_sound",
                violation_error_message="grounds_digest: accepted are 64 hexadecimal digits.",
            ),
            models.CheckConstraint(
                condition=models.Q(damage_answered__isnull=True)
                | models.Q(damage_answered=[])
                | models.Q(damage_settled__regex=r"\S"),
                name="release_damage_settled_in_words",
                violation_error_message="damage_settled: accepted is text, for it answers damage.",
            ),
            *written("release", "crew", "rig", "signed_by_name"),
            in_order("release", "shift_from", "shift_until", may_equal=False),
            in_order("release", "signed_at", "shift_until", may_equal=False),
        )

    def __str__(self) -> str:
        """Of which bore, by whom and when."""
        return f"release of {self.bore} by {self.signed_by_name}, {self.signed_at:%Y-%m-%d %H:%M} UTC"
