"""One piece of work at one place."""

from collections.abc import Collection
from functools import cache
from uuid import UUID, uuid4
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import BooleanField, F, Func
from django.db.models.lookups import Exact

from locates.models.bounds import finite, not_negative, one_of, positive, written
from locates.models.jurisdiction_rule import JurisdictionRule
from locates.models.membership import organisation_of
from locates.models.organisation import Organisation
from locates.models.retirable import LiveManager, Retirable, once_among_live

SPACING_RULE_M = 30.48
"""Farthest distance between test holes along a line beside the bore where the job names none: 100 ft."""


class ShowUnits(models.TextChoices):
    """Units that a job's screens show."""

    FEET = "feet", "feet and inches"
    METRIC = "metric", "metric"


@cache
def _time_zones() -> frozenset[str]:
    return frozenset(available_timezones())


def known_time_zone(name: str) -> None:
    """Refuse a name that is no IANA time zone."""
    if name not in _time_zones():
        raise ValidationError(
            "time_zone: found %(found)s, accepted is an IANA name such as America/New_York.",
            params={"found": name},
        )


class JobQuerySet(models.QuerySet["Job"]):
    """Sets of jobs."""

    def with_grounds(self) -> "JobQuerySet":
        """Jobs with the organisation and the rule that their pages name."""
        return self.select_related("organisation", "jurisdiction")

    def seen_by(self, person_id: int | None) -> "JobQuerySet":
        """Jobs of the company that a person belongs to; none for whoever belongs to none."""
        return self.filter(organisation_id=organisation_of(person_id))

    def under(self, rule: JurisdictionRule) -> "JobQuerySet":
        """Jobs that stand under one version of a jurisdiction's rule."""
        return self.filter(jurisdiction=rule)


class Job(Retirable):
    """One piece of work at one place: its jurisdiction, time zone and allowances."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="jobs")
    name = models.CharField(max_length=200)
    jurisdiction = models.ForeignKey(JurisdictionRule, on_delete=models.PROTECT, related_name="jobs")
    time_zone = models.CharField(max_length=60, validators=[known_time_zone], help_text="IANA name")
    mean_height_m = models.FloatField(
        "mean height (m)", null=True, blank=True, help_text="Height of the site above the ellipsoid."
    )
    datum = models.CharField(blank=True, help_text="What the job's elevations are measured from.")
    show_units = models.CharField(max_length=10, choices=ShowUnits, default=ShowUnits.FEET)
    tolerance_zone_m = models.FloatField(
        "tolerance zone (m)",
        null=True,
        blank=True,
        help_text="From the outside edge of the line; instead of the jurisdiction's width.",
    )
    expose_reach_m = models.FloatField(
        "expose reach (m)",
        null=True,
        blank=True,
        help_text="How far a test hole speaks; else the tolerance zone.",
    )
    test_hole_spacing_m = models.FloatField(
        "test hole spacing (m)",
        null=True,
        blank=True,
        help_text="Along a line beside the bore; else 30.48 m.",
    )
    default_outside_m = models.JSONField(
        "assumed outside sizes (m)",
        default=dict,
        blank=True,
        help_text="Facility type to outside size in metres.",
    )
    bore_horizontal_m = models.FloatField("steering allowance, horizontal (m)", default=0.30)
    bore_vertical_m = models.FloatField("steering allowance, vertical (m)", default=0.15)
    drilled_fixed_m = models.FloatField("as-drilled fixed error (m)", default=0.05)
    drilled_depth_ratio = models.FloatField("as-drilled error, share of depth", default=0.05)
    test_hole_m = models.FloatField("test hole error (m)", default=0.03)
    slope_ratio = models.FloatField("slope allowance of a line between test holes", default=0.01)
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    objects = LiveManager.from_queryset(JobQuerySet)()
    with_retired = JobQuerySet.as_manager()

    class Meta:
        """How jobs are ordered and bounded."""

        ordering = ("name",)
        constraints = (
            once_among_live(
                "organisation",
                "name",
                name="job_name_once",
                accepted="name: accepted is a name that no other job of the organisation has.",
            ),
            *written("job", "name", "time_zone"),
            *finite("job", "mean_height_m"),
            *not_negative(
                "job",
                "tolerance_zone_m",
                "expose_reach_m",
                "bore_horizontal_m",
                "bore_vertical_m",
                "drilled_fixed_m",
                "drilled_depth_ratio",
                "test_hole_m",
                "slope_ratio",
            ),
            *positive("job", "test_hole_spacing_m"),
            one_of("job", "show_units", ShowUnits),
            models.CheckConstraint(
                condition=models.Q(
                    Exact(
                        Func(
                            F("default_outside_m"),
                            function="locates_outside_sizes_are_sound",
                            output_field=BooleanField(),
                        ),
                        True,
                    )
                ),
                name="job_default_outside_m_sound",
                violation_error_message=(
                    "default_outside_m: accepted are facility types, each with a size above 0 in metres."
                ),
            ),
        )

    def __str__(self) -> str:
        """Name."""
        return self.name

    def clean(self) -> None:
        """Refuse the own rule of another company."""
        if self.jurisdiction_id and self.jurisdiction.organisation_id not in (None, self.organisation_id):
            raise ValidationError(
                {"jurisdiction": "jurisdiction: accepted is a shipped rule or one of the job's own company."}
            )

    def validate_constraints(self, exclude: Collection[str] | None = None) -> None:
        """Hold the name against the company's other jobs, though no form has a field for the company."""
        super().validate_constraints(exclude=set(exclude or ()) - {"organisation"})

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.pk

    @property
    def tolerance_width_m(self) -> float | None:
        """Width of the tolerance zone from the outside edge of a line: the job's own, else the rule's."""
        if self.tolerance_zone_m is not None:
            return self.tolerance_zone_m
        return self.jurisdiction.tolerance_zone_m

    @property
    def reach_m(self) -> float | None:
        """How far from a test hole a line counts as exposed: the job's own, else the tolerance zone."""
        return self.tolerance_width_m if self.expose_reach_m is None else self.expose_reach_m

    @property
    def spacing_rule_m(self) -> float:
        """Farthest distance between test holes along a line beside the bore."""
        return SPACING_RULE_M if self.test_hole_spacing_m is None else self.test_hole_spacing_m
