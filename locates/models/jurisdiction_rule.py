"""What a jurisdiction's one-call law demands, as it was read on a date, by us or by a company."""

from typing import Any
from uuid import uuid4

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, OuterRef, Q, Subquery

from locates.models.bounds import not_negative, one_of, written
from locates.models.organisation import Organisation
from locates.models.retirable import LIVE
from locates.one_call.clock_members import ClockError
from locates.one_call.clock_reader import read_clock

NEVER_WAIVED_BECAUSE = (
    "The one-call law asks for a ticket in force, for the answers of the operators and for the duties that "
    "it lays on the excavator; no company can excuse itself from them."
)


def law_of_every_place() -> list[str]:
    """Checks that rest on the law itself, so that nobody in the company may waive them anywhere."""
    return ["tickets", "responses", "duties"]


class ReadingsAgree(models.TextChoices):
    """What two independent readings of the law came to."""

    YES = "yes", "two readings agree"
    NO = "no", "two readings differ"
    ONE_READING_ONLY = "one reading only", "one reading only"


class JurisdictionRuleQuerySet(models.QuerySet["JurisdictionRule"]):
    """Sets of jurisdiction rules."""

    def known_to(self, organisation_id: Any) -> "JurisdictionRuleQuerySet":
        """The shipped ones and the company's own, of whatever version; without a company the shipped ones."""
        return self.filter(Q(organisation=None) | Q(organisation=organisation_id))

    def of_place(self, code: Any, organisation_id: Any) -> "JurisdictionRuleQuerySet":
        """What may count in a jurisdiction for a company: its own before the shipped, the newest first."""
        found = self.known_to(organisation_id).filter(LIVE, code=code)
        return found.order_by(F("organisation").asc(nulls_last=True), "-version")

    def in_use_by(self, organisation_id: Any) -> "JurisdictionRuleQuerySet":
        """The rule of each code that counts for a company.

        Parameters
        ----------
        organisation_id : UUID, expression or None
            Of the company; None where nobody's own versions count.
        """
        first = self.model.objects.of_place(OuterRef("code"), organisation_id).values("pk")[:1]
        return self.filter(pk=Subquery(first))


class JurisdictionRule(models.Model):
    """One version of a jurisdiction's rule, with its citation and the date it was last checked.

    It is shipped, and then all companies stand under it, or the own reading of one company, which its jobs
    alone stand under. An own version is never changed: another is made, or all are retired and the shipped
    one counts again.

    Not legal advice: where ``tolerance_is_sure`` is false a person is asked.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    organisation = models.ForeignKey(
        Organisation,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="rules",
        help_text="The company whose own version it is; of a shipped rule none.",
    )
    code = models.CharField(max_length=20)
    version = models.PositiveIntegerField(default=1)
    checked_on = models.DateField("last checked on")
    tolerance_zone_m = models.FloatField(
        "tolerance zone (m)", null=True, blank=True, help_text="From the outside edge of the line, in metres."
    )
    tolerance_is_sure = models.BooleanField(
        default=False, help_text="Two readings agree and the width was read, not remembered."
    )
    boring_must_be_declared = models.BooleanField(
        default=False, help_text="The ticket must say that the work is trenchless."
    )
    every_line_must_be_exposed = models.BooleanField(
        default=False, help_text="Every line in the bore's path must be exposed first."
    )
    sewer_camera_required = models.BooleanField(
        default=False, help_text="A gravity sewer is looked into by camera after the bore."
    )
    tolerance_basis = models.TextField(blank=True)
    notice_value = models.CharField(blank=True)
    notice_unit = models.CharField(blank=True)
    notice_count_rule = models.TextField(blank=True)
    ticket_life_value = models.CharField(blank=True)
    ticket_life_unit = models.CharField(blank=True)
    life_counted_from = models.TextField(blank=True)
    renewal_rule = models.TextField(blank=True)
    trenchless_rule = models.TextField(blank=True)
    citation = models.TextField(blank=True)
    certainty = models.TextField(blank=True)
    readings_agree = models.CharField(
        max_length=20, choices=ReadingsAgree, default=ReadingsAgree.ONE_READING_ONLY
    )
    second_reading = models.TextField(blank=True)
    clock = models.JSONField(
        default=dict,
        blank=True,
        help_text=(
            "How the law counts the dates of a ticket, in the JSON that locates/one_call/clock_reader.py "
            "describes; an empty object where it was not read, and then the desk asks for every date."
        ),
    )

    checks_never_waived = ArrayField(
        models.CharField(max_length=20),
        default=law_of_every_place,
        blank=True,
        help_text="Checks behind a release that no variance may excuse here, by their codes.",
    )
    never_waived_because = models.TextField(
        default=NEVER_WAIVED_BECAUSE, blank=True, help_text="What a person is told who asks for one."
    )

    retired_at = models.DateTimeField(null=True, editable=False)
    retired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )

    objects = JurisdictionRuleQuerySet.as_manager()

    class Meta:
        """How rules are ordered and bounded."""

        ordering = ("code", "-version")
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "code", "version"),
                name="jurisdiction_rule_version_once",
                nulls_distinct=False,
                violation_error_message="version: accepted is a version that this code does not have yet.",
            ),
            *written("jurisdiction_rule", "code"),
            *not_negative("jurisdiction_rule", "tolerance_zone_m"),
            one_of("jurisdiction_rule", "readings_agree", ReadingsAgree),
            models.CheckConstraint(
                condition=models.Q(version__gte=1),
                name="jurisdiction_rule_version_from_one",
                violation_error_message="version: accepted is a whole number, 1 or more.",
            ),
            models.CheckConstraint(
                condition=models.Q(tolerance_is_sure=False)
                | models.Q(readings_agree=ReadingsAgree.YES, tolerance_zone_m__isnull=False),
                name="jurisdiction_rule_sure_of_a_width_read_twice",
                violation_error_message=(
                    "tolerance_is_sure: accepted is yes only with a width on which two readings agree."
                ),
            ),
            models.CheckConstraint(
                condition=Q(organisation=None) | Q(citation__regex=r"\S"),
                name="jurisdiction_rule_own_is_cited",
                violation_error_message="citation: accepted is where the company's own version was read.",
            ),
            models.CheckConstraint(
                condition=Q(organisation__isnull=False) | LIVE,
                name="jurisdiction_rule_shipped_is_not_retired",
                violation_error_message="retired_at: accepted is nothing for a rule that is shipped.",
            ),
        )

    def __str__(self) -> str:
        """Code, whose, and version."""
        return f"{self.code} {self.version_words}"

    @property
    def version_words(self) -> str:
        """Which version it is, told so that a company's own is not taken for a shipped one."""
        return f"{'' if self.organisation_id is None else 'own '}version {self.version}"

    def clean(self) -> None:
        """Refuse a clock that cannot be read, so that no ticket meets one."""
        if self.clock:
            try:
                read_clock(self.clock)
            except ClockError as error:
                raise ValidationError({"clock": str(error)}) from error
