"""What a jurisdiction's one-call law demands, as it was read on a date."""

from collections.abc import Iterable
from functools import cached_property
from uuid import uuid4

from django.contrib.postgres.fields import ArrayField
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, OuterRef, Subquery

from locates.models.bounds import not_negative, one_of, written
from locates.models.centre_day import CentreDay
from locates.one_call.calendar_terms import CentreDay as OwnDay
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

    def newest(self) -> "JurisdictionRuleQuerySet":
        """The highest version of each code."""
        latest = self.model.objects.filter(code=OuterRef("code")).order_by("-version")
        return self.annotate(newest_version=Subquery(latest.values("version")[:1])).filter(
            version=F("newest_version")
        )


class JurisdictionRule(models.Model):
    """One version of a jurisdiction's rule, with its citation and the date it was last checked.

    Not legal advice: where ``tolerance_is_sure`` is false a person is asked.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
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

    objects = JurisdictionRuleQuerySet.as_manager()

    class Meta:
        """How rules are ordered and bounded."""

        ordering = ("code", "-version")
        constraints = (
            models.UniqueConstraint(
                fields=("code", "version"),
                name="jurisdiction_rule_version_once",
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
        )

    def __str__(self) -> str:
        """Code and version."""
        return f"{self.code} version {self.version}"

    @cached_property
    def own_days(self) -> tuple[OwnDay, ...]:
        """Days that the jurisdiction's centre counts its own way, as they are when first asked for."""
        find_own_days([self])
        return self.own_days

    def clean(self) -> None:
        """Refuse a clock that cannot be read, so that no ticket meets one."""
        if self.clock:
            try:
                read_clock(self.clock)
            except ClockError as error:
                raise ValidationError({"clock": str(error)}) from error


def find_own_days(rules: Iterable[JurisdictionRule]) -> None:
    """Give each of these rules the ``own_days`` of its centre, by one query for all of them."""
    held = list(rules)
    found: dict[str, list[OwnDay]] = {rule.code: [] for rule in held}
    for one in CentreDay.objects.live().filter(code__in=found):
        found[one.code].append(OwnDay(day=one.day, is_working=one.is_working, name=one.words))
    for rule in held:
        rule.own_days = tuple(found[rule.code])
