"""How people want to be told."""

from django.conf import settings
from django.db import models

from locates.models.job import known_time_zone

DIGEST_HOUR = 6
"""Hour of the day of the digest where a person chose none."""


class NoticeSetting(models.Model):
    """One person's choices, and the last day whose digest was made.

    The day is counted in the person's own zone, else in that of the job followed first.
    """

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, primary_key=True, related_name="notice_setting"
    )
    alerts_by_mail = models.BooleanField("a mail for every notice, at once", default=True)
    digest_by_mail = models.BooleanField("a digest by mail, once a day", default=True)
    digest_hour = models.PositiveSmallIntegerField("hour of the digest", default=DIGEST_HOUR)
    time_zone = models.CharField(
        max_length=60,
        blank=True,
        validators=[known_time_zone],
        help_text="Of the digest's hour; without one that of the job followed first.",
    )
    digest_on = models.DateField("day of the last digest", null=True, blank=True, editable=False)
    digest_at = models.DateTimeField("moment of the last digest", null=True, blank=True, editable=False)

    class Meta:
        """How choices are ordered and bounded."""

        ordering = ("person_id",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(digest_hour__lte=23),
                name="notice_setting_digest_hour_of_a_day",
                violation_error_message="digest_hour: accepted is an hour from 0 to 23.",
            ),
        )

    def __str__(self) -> str:
        """Whose they are."""
        return f"notices to {self.person}"
