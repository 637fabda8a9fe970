"""Who belongs to which company: nobody sees the jobs of another."""

from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import Subquery

from locates.models.organisation import Organisation


class Membership(models.Model):
    """One person's place in one company; whoever has none sees no job."""

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        related_name="membership",
        verbose_name="person",
        error_messages={"unique": "user: accepted is a person who belongs to no company yet."},
    )
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="memberships")

    class Meta:
        """How memberships are ordered."""

        ordering = ("organisation__name", "user__username")

    def __str__(self) -> str:
        """Who belongs where."""
        return f"{self.user} of {self.organisation}"


def organisation_of(person_id: int | None) -> Subquery:
    """The id of a person's company, for a statement to narrow itself by; NULL, equal to nothing, where none.

    Asked by the same statement, it costs no query, and no page can be narrowed by a company of yesterday.
    """
    return Subquery(Membership.objects.filter(user_id=person_id).order_by().values("organisation_id")[:1])
