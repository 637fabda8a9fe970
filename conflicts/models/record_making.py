"""The making of a bore's clearance record, and the record itself once it is made."""

from typing import Any, ClassVar
from uuid import UUID, uuid4

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.functions import Now
from django.db.models.lookups import Exact

from conflicts.models.bore import Bore
from locates.models.bounds import written
from locates.models.queued_work import (
    STATES_TO_WORK_ON,
    QueuedWork,
    QueuedWorkQuerySet,
    WorkState,
    work_bounds,
)

_DIGITS = r"^[0-9a-f]{64}$"
_DIGEST = Func(
    Func(F("content"), function="sha256", output_field=models.BinaryField()),
    Value("hex", output_field=models.CharField()),
    function="encode",
    output_field=models.CharField(),
)
_OCTETS = Func(F("content"), function="octet_length", output_field=models.IntegerField())


class MakingPhase(models.TextChoices):
    """What a worker is at, in order."""

    READ = "read", "reading the records"
    DRAW = "draw", "drawing and writing"
    LAY_OUT = "lay out", "laying out the pages"
    KEEP = "keep", "keeping the record"


class RecordMakingQuerySet(QueuedWorkQuerySet):
    """Sets of makings."""

    def ask(
        self, bore_id: UUID, request_id: UUID, *, by: AbstractBaseUser, by_name: str
    ) -> "tuple[RecordMaking, bool]":
        """The making that a request asks for, and whether it is new.

        A request that was sent twice, and one beside another that waits or runs, gets the one that is there.
        """
        waiting = self.filter(Q(request_id=request_id) | Q(state__in=STATES_TO_WORK_ON), bore=bore_id).first()
        if waiting is not None:
            return waiting, False
        if self.filter(request_id=request_id).exclude(bore=bore_id).exists():
            # Somebody else's request: this one is another.
            request_id = uuid4()
        return self.get_or_create(
            request_id=request_id,
            defaults={
                "bore_id": bore_id,
                "made_by": by,
                "made_by_name": by_name,
                "state": WorkState.QUEUED,
                "attempts": 0,
                "rung_at": Now(),
            },
        )

    def made_of(self, bore_id: UUID) -> "RecordMakingQuerySet":
        """The records of a bore that were made, the newest first, without their bytes."""
        made = self.filter(bore=bore_id, state=WorkState.DONE, same_as=None)
        return made.defer("content").order_by("-as_of", "-id")

    def latest_of(self, bore_id: UUID) -> "RecordMaking | None":
        """What was asked for last of a bore, without its bytes."""
        return self.filter(bore=bore_id).defer("content").order_by("-id").first()


class RecordMaking(QueuedWork):
    """One clearance record asked for. This row is the truth; the broker only says: look here.

    A record is never changed once it is made. One that would say the same as an earlier one, at another
    moment only, is not made again: ``same_as`` is that one.
    """

    LOCK_SPACE = 7717
    NOTHING_DONE: ClassVar = {"phase": ""}

    request_id = models.UUIDField(default=uuid4, unique=True, editable=False)
    bore = models.ForeignKey(Bore, on_delete=models.PROTECT, related_name="record_makings")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_by_name = models.CharField(max_length=200, help_text="Their name as it was then.")
    asked_at = models.DateTimeField(auto_now_add=True)
    phase = models.CharField(max_length=10, blank=True, choices=MakingPhase)
    as_of = models.DateTimeField("records read at", null=True)
    said_digest = models.CharField("SHA-256 of all that it says but the moment", max_length=64, blank=True)
    inputs_digest = models.CharField("SHA-256 of its inputs, the moment included", max_length=64, blank=True)
    sha256 = models.CharField("SHA-256 of the file", max_length=64, blank=True)
    size_bytes = models.PositiveIntegerField(null=True)
    page_count = models.PositiveIntegerField(null=True)
    content = models.BinaryField("the file", null=True)
    same_as = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="+")

    objects = RecordMakingQuerySet.as_manager()

    class Meta:
        """How makings are ordered, found and bounded."""

        ordering = ("id",)
        indexes = (models.Index(fields=("bore", "-id"), name="record_making_latest"),)
        constraints = (
            *work_bounds("record_making"),
            *written("record_making", "made_by_name"),
            models.UniqueConstraint(
                fields=("bore",),
                condition=Q(state__in=STATES_TO_WORK_ON),
                name="record_making_one_at_a_time",
            ),
            models.CheckConstraint(
                condition=~Q(state=WorkState.DONE)
                | Q(same_as__isnull=False, content=None)
                | Q(
                    same_as=None,
                    content__isnull=False,
                    as_of__isnull=False,
                    said_digest__regex=_DIGITS,
                    inputs_digest__regex=_DIGITS,
                    page_count__gte=1,
                ),
                name="record_making_done_is_whole",
            ),
            models.CheckConstraint(
                condition=Q(content=None) | Q(Exact(_DIGEST, F("sha256"))),
                name="record_making_sha256_of_content",
            ),
            models.CheckConstraint(
                condition=Q(content=None) | Q(Exact(_OCTETS, F("size_bytes"))),
                name="record_making_size_of_content",
            ),
        )

    def __str__(self) -> str:
        """Of which bore, and where it stands."""
        return f"clearance record of {self.bore}: {self.state}"

    def tell(self, phase: MakingPhase) -> None:
        """Say what the worker is at."""
        self.update_if_ours(phase=phase)

    def refuse(self, because: str) -> None:
        """No record can be made of the bore as its records are; another attempt would change nothing."""
        self.update_if_ours(state=WorkState.GIVEN_UP, failure=because)

    def finish(self, **made: Any) -> None:
        """Keep the record."""
        self.end(**made)
