"""Private addresses under which a calendar program reads the dates of tickets."""

from datetime import datetime
from hashlib import sha256

from django.conf import settings
from django.db import models


class CalendarFeedQuerySet(models.QuerySet["CalendarFeed"]):
    """Sets of feeds."""

    def in_use(self) -> "CalendarFeedQuerySet":
        """Those that nobody has revoked."""
        return self.filter(revoked_at__isnull=True)

    def of_token(self, token: str) -> "CalendarFeed | None":
        """The feed in use behind the secret part of an address."""
        return self.in_use().select_related("person").filter(token_hash=token_hash(token)).first()

    def revoke(self, person_id: int, at: datetime) -> int:
        """End the address of a person for good, and give how many there were."""
        return self.in_use().filter(person_id=person_id).update(revoked_at=at)


class CalendarFeed(models.Model):
    """One private address of one person; of its secret a hash is kept, which does not lead back to it."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_feeds"
    )
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    followed_only = models.BooleanField("only what I follow", default=False)
    made_at = models.DateTimeField(auto_now_add=True)
    read_at = models.DateTimeField("last read at", null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = CalendarFeedQuerySet.as_manager()

    class Meta:
        """How feeds are ordered and bounded."""

        ordering = ("-made_at",)
        constraints = (
            models.UniqueConstraint(
                fields=("person",),
                condition=models.Q(revoked_at__isnull=True),
                name="calendar_feed_one_in_use",
                violation_error_message="person: accepted is one address in use for each person.",
            ),
        )

    def __str__(self) -> str:
        """Whose it is."""
        return f"calendar of {self.person}"


def token_hash(token: str) -> str:
    """What is kept of a token. Plain SHA-256 serves: 256 random bits cannot be tried out one by one."""
    return sha256(token.encode()).hexdigest()
