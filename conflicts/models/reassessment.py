"""Bores that wait for new figures, are being worked on, or could not be computed."""

from typing import Any
from uuid import UUID

from django.db import connection, models, transaction
from django.db.models.functions import Now

from conflicts.models.bore import Bore
from conflicts.models.drilled_rod import DrilledRod

MOST_ATTEMPTS = 3
"""A bore that ends its worker, or meets a fault, this often is given up until a record changes."""

RING_AGAIN_S = 5
"""A row that nobody works on is called out again this long after the last call."""

LOCK_SPACE = 7714
"""First half of the advisory lock's key, the row's id being the other; any number that nothing else uses."""

WORKER_DIED = "The worker ended while it computed this bore."


class State(models.TextChoices):
    """Where a reassessment stands. One that is done has no row."""

    QUEUED = "queued", "queued"
    RUNNING = "running", "running"
    REFUSED = "refused", "records cannot be computed"
    GIVEN_UP = "given up", "given up"


STATES_TO_WORK_ON = (State.QUEUED, State.RUNNING)

# One statement for all bores of a filter. A row is wanted once more even while it runs, so that a change that
# comes then is not lost. In the order of the bores, so that two changes do not block each other for good; a
# bore that is just being deleted is waited for and left out.
QUEUE = """
INSERT INTO conflicts_reassessment AS kept (bore_id, state, wanted, attempts, queued_at, rung_at, failure)
SELECT * FROM (
    SELECT id, 'queued', 1, 0, now(), now() AS rung_at, ''
    FROM conflicts_bore WHERE {which_bores} AND retired_at IS NULL ORDER BY id FOR KEY SHARE
) AS bores
ON CONFLICT (bore_id) DO UPDATE SET
    state = CASE WHEN kept.state = 'running' THEN 'running' ELSE 'queued' END,
    wanted = kept.wanted + 1, attempts = 0, queued_at = now(), rung_at = now(), failure = ''
WHERE {which_kept}
RETURNING id
"""
OF_THE_JOB = QUEUE.format(which_bores="job_id = %s", which_kept="true")
THESE = QUEUE.format(which_bores="id = ANY(%s)", which_kept="true")
NEW_ONES = QUEUE.format(which_bores="id = ANY(%s)", which_kept="false")

# A session's advisory lock goes with its process, so a row of state running without one has lost its worker.
FORGOTTEN = """
UPDATE conflicts_reassessment SET rung_at = now() WHERE id IN (
    SELECT waiting.id FROM conflicts_reassessment AS waiting
    WHERE waiting.state IN ('queued', 'running')
      AND waiting.rung_at < now() - make_interval(secs => %(ring_again_s)s)
      AND NOT EXISTS (
          SELECT FROM pg_locks AS held
          WHERE held.locktype = 'advisory' AND held.objsubid = 2 AND held.granted
            AND held.database = (SELECT oid FROM pg_database WHERE datname = current_database())
            AND held.classid = %(lock_space)s AND held.objid = waiting.id::oid
      )
    ORDER BY waiting.rung_at
    LIMIT %(most)s
    FOR UPDATE SKIP LOCKED
)
RETURNING id
"""


class ReassessmentQuerySet(models.QuerySet["Reassessment"]):
    """Sets of reassessments."""

    def queue_bores_of_job(self, job_id: UUID) -> list[int]:
        """Queue every bore of a job anew, whatever came of it before; gives the ids of the rows."""
        return _ids(OF_THE_JOB, [job_id])

    def queue_again(self, bore_ids: list[UUID]) -> list[int]:
        """Queue these bores anew, whatever came of it before; gives the ids of the rows."""
        return _ids(THESE, [bore_ids])

    def queue_new(self, bore_ids: list[UUID]) -> list[int]:
        """Queue those of the bores that neither wait nor failed; gives the ids of their rows."""
        return _ids(NEW_ONES, [bore_ids]) if bore_ids else []

    def queue_never_assessed(self, most: int) -> list[int]:
        """Queue bores of which nothing is stored and nothing is here; gives the ids of the rows.

        So of one with a rod of which nobody computed yet what its hole meets.
        """
        rods = DrilledRod.objects.filter(bore=models.OuterRef("pk"))
        missing = models.Q(assessment__isnull=True) | models.Q(
            models.Exists(rods), assessment__drilled_digest=""
        )
        forgotten = Bore.objects.filter(missing, reassessment__isnull=True)
        return self.queue_new(list(forgotten.order_by("pk").values_list("pk", flat=True)[:most]))

    def call_out_forgotten(self, most: int) -> list[int]:
        """Rows to be worked on that nobody has in hand, those called least lately first; notes the call."""
        return _ids(FORGOTTEN, {"ring_again_s": RING_AGAIN_S, "lock_space": LOCK_SPACE, "most": most})

    def begin(self, reassessment_id: int) -> "Reassessment | None":
        """Note one more attempt; None where there is nothing to do, or no attempt is left (then given up).

        Only for whoever holds the row's advisory lock.
        """
        with transaction.atomic():
            row = self.select_for_update().filter(pk=reassessment_id, state__in=STATES_TO_WORK_ON).first()
            if row is None:
                return None
            if row.attempts >= MOST_ATTEMPTS:
                row.give_up(WORKER_DIED)
                return None
            row.state = State.RUNNING
            row.attempts += 1
            row.started_at = Now()
            row.failure = ""
            row.save(update_fields=["state", "attempts", "started_at", "failure"])
        return row


def _ids(sql: str, parameters: Any) -> list[int]:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return [row[0] for row in cursor.fetchall()]


class Reassessment(models.Model):
    """One bore to be computed anew. This row is the truth; what the broker carries only says: look here.

    ``wanted`` counts the changes. Whoever computes reads it first; if it has grown by the end, the figures
    may be of older records, and the bore is computed once more.
    """

    # 32 bits, for the advisory lock's key takes no more.
    id = models.AutoField(primary_key=True)
    # The migration's constraint cascades in the database: a row queued while its bore is being deleted, which
    # Django cannot see, must not make the deletion fail.
    bore = models.OneToOneField(
        Bore, on_delete=models.CASCADE, related_name="reassessment", db_constraint=False
    )
    state = models.CharField(max_length=10, choices=State)
    wanted = models.PositiveIntegerField("changes so far")
    attempts = models.PositiveSmallIntegerField("attempts since the last change")
    queued_at = models.DateTimeField()
    rung_at = models.DateTimeField("last called out at")
    started_at = models.DateTimeField(null=True)
    failure = models.TextField(blank=True)

    objects = ReassessmentQuerySet.as_manager()

    class Meta:
        """How reassessments are ordered and bounded."""

        ordering = ("queued_at",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(state__in=State.values), name="reassessment_state_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=STATES_TO_WORK_ON) | ~models.Q(failure=""),
                name="reassessment_failure_told",
            ),
        )

    def __str__(self) -> str:
        """Of which bore, and where it stands."""
        return f"{self.bore}: {self.state}"

    def finish(self) -> None:
        """The figures are stored: the row goes, unless a change has come since this attempt began."""
        same = Reassessment.objects.filter(pk=self.pk, wanted=self.wanted)
        deleted, _ = same.delete()
        if not deleted:
            self._queue_again()

    def refuse(self, reason: str) -> None:
        """The records cannot be computed: no other attempt, unless a change has come meanwhile."""
        if not self._update_if_unchanged(state=State.REFUSED, failure=reason):
            self._queue_again()

    def note_fault(self, fault: str) -> None:
        """An attempt ended in a fault that is not the records': left for another, or given up."""
        if self.attempts >= MOST_ATTEMPTS:
            self.give_up(fault)
        else:
            self._update_if_unchanged(state=State.QUEUED, failure=fault)

    def give_up(self, fault: str) -> None:
        """No attempt is left; say so to whoever looks at the bore."""
        self._update_if_unchanged(
            state=State.GIVEN_UP,
            failure=f"{fault} Tried {MOST_ATTEMPTS} times. The worker's log says more; "
            f"once the cause is mended, save any record of the job and it is tried again.",
        )

    def _update_if_unchanged(self, **values: Any) -> int:
        """Write, unless a change or another worker's attempt has come since; gives the number of rows."""
        same = Reassessment.objects.filter(pk=self.pk, wanted=self.wanted, attempts=self.attempts)
        return same.update(**values)

    def _queue_again(self) -> None:
        Reassessment.objects.filter(pk=self.pk, state=State.RUNNING).update(state=State.QUEUED)
