"""What every signed record about a bore has: who signed it, when, and its place in the ledger."""

from collections.abc import Collection
from typing import Any, ClassVar
from uuid import UUID, uuid4

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import models

from locates.canonical import utc_text


def signer(verb: str) -> models.ForeignKey:
    """The login of whoever did it; an account that signed is closed, never deleted."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", verbose_name=f"{verb} by"
    )


def name_then(verb: str) -> models.CharField:
    """The same person's name."""
    return models.CharField(f"{verb} by, name", max_length=200, help_text="Their name as it was then.")


def name_of(person: AbstractBaseUser) -> str:
    """What a person is called on what they sign."""
    return person.get_full_name() or person.get_username()


class SignedQuerySet(models.QuerySet):
    """Sets of signed records."""

    def rows_of(self, ids: Collection[UUID]) -> "SignedQuerySet":
        """Records of given ids, each with what says its job."""
        return self.filter(pk__in=ids).select_related(*self.model.HOME_THROUGH or (None,))


class SignedRecord(models.Model):
    """A record that is stored once, entered into the ledger, and never changed."""

    SIGNER: ClassVar[str]
    HOME_THROUGH: ClassVar[tuple[str, ...]] = ("bore",)
    # Columns that came after records had been signed: left out where nothing stands in them.
    LATER_COLUMNS: ClassVar[tuple[str, ...]] = ()

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    entered_at = models.DateTimeField(auto_now_add=True)

    objects = SignedQuerySet.as_manager()

    class Meta:
        """No table of its own."""

        abstract = True

    @property
    def signer_id(self) -> Any:
        """Id of the login of whoever signed it."""
        return getattr(self, f"{self.SIGNER}_id")

    @property
    def home_job_id(self) -> UUID:
        """Id of the job that it belongs to."""
        return self.bore.job_id

    def ledger_content(self) -> dict[str, Any]:
        """Every column, so that a signature stands for all of its record; a file by its digest."""
        columns = [
            column.attname
            for column in self._meta.concrete_fields
            if not isinstance(column, models.BinaryField)
        ]
        content = {name: _plain(getattr(self, name)) for name in columns}
        return {
            name: value
            for name, value in content.items()
            if name not in self.LATER_COLUMNS or value not in (None, "")
        }


def _plain(value: Any) -> Any:
    """A column's value as JSON; moments in UTC to the microsecond."""
    if isinstance(value, UUID):
        return str(value)
    if hasattr(value, "utcoffset"):
        return utc_text(value)
    return list(value) if isinstance(value, tuple) else value
