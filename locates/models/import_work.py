"""The check or the storing of a large file, which a worker does beside the pages."""

from typing import Any
from uuid import UUID

from django.db import connection, models, transaction
from django.db.models.functions import Now

from locates.models.vector_import import VectorImport

MOST_ATTEMPTS = 3
"""Work that ends its worker, or meets a fault, this often is given up until somebody asks again."""

RING_AGAIN_S = 5
"""A row that nobody works on is called out again this long after the last call."""

LOCK_SPACE = 7715
"""First half of the advisory lock's key, the row's id being the other; any number that nothing else uses."""

WORKER_DIED = "The worker ended while it was at this file."


class WorkKind(models.TextChoices):
    """What is asked for."""

    CHECK = "check", "check"
    STORE = "store", "store"


class WorkState(models.TextChoices):
    """Where the work stands."""

    QUEUED = "queued", "queued"
    RUNNING = "running", "running"
    DONE = "done", "done"
    GIVEN_UP = "given up", "given up"


STATES_TO_WORK_ON = (WorkState.QUEUED, WorkState.RUNNING)

# A session's advisory lock goes with its process, so a row of state running without one has lost its worker.
FORGOTTEN = """
UPDATE locates_importwork SET rung_at = now() WHERE id IN (
    SELECT waiting.id FROM locates_importwork AS waiting
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


class ImportWorkQuerySet(models.QuerySet["ImportWork"]):
    """Sets of works."""

    def of(self, brought_id: UUID) -> "ImportWork | None":
        """The work on a file; None where none was asked for since its columns were confirmed."""
        return self.filter(brought=brought_id).first()

    def forget(self, brought_id: UUID) -> None:
        """What was found of a file no longer holds; a worker that is at it finds nothing to write to."""
        self.filter(brought=brought_id).delete()

    def ask(self, brought_id: UUID, kind: WorkKind, rows_total: int) -> list[int]:
        """Ask for a work unless one waits or runs; gives the id of the row that is to be called out."""
        work, is_new = self.get_or_create(
            brought_id=brought_id, defaults={**_asked(kind), "rows_total": rows_total}
        )
        if not is_new:
            over = self.filter(pk=work.pk).exclude(state__in=STATES_TO_WORK_ON)
            is_new = bool(over.update(**_asked(kind), rows_total=rows_total))
        return [work.pk] if is_new else []

    def call_out_forgotten(self, most: int) -> list[int]:
        """Rows to be worked on that nobody has in hand, those called least lately first; notes the call."""
        with connection.cursor() as cursor:
            cursor.execute(FORGOTTEN, {"ring_again_s": RING_AGAIN_S, "lock_space": LOCK_SPACE, "most": most})
            return [row[0] for row in cursor.fetchall()]

    def begin(self, work_id: int) -> "ImportWork | None":
        """Note one more attempt; None where there is nothing to do, or no attempt is left (then given up).

        Only for whoever holds the row's advisory lock.
        """
        with transaction.atomic():
            row = self.select_for_update().filter(pk=work_id, state__in=STATES_TO_WORK_ON).first()
            if row is None:
                return None
            if row.attempts >= MOST_ATTEMPTS:
                row.give_up(WORKER_DIED)
                return None
            row.state = WorkState.RUNNING
            row.attempts += 1
            row.phase = ""
            row.rows_done = 0
            row.started_at = Now()
            row.failure = ""
            row.save(update_fields=["state", "attempts", "phase", "rows_done", "started_at", "failure"])
        return row


def _asked(kind: WorkKind) -> dict[str, Any]:
    return {
        "kind": kind,
        "state": WorkState.QUEUED,
        "attempts": 0,
        "phase": "",
        "rows_done": 0,
        "rung_at": Now(),
        "finished_at": None,
        "outcome": {},
        "failure": "",
    }


class ImportWork(models.Model):
    """One file to be checked or stored. This row is the truth; the broker only says: look here."""

    # 32 bits, for the advisory lock's key takes no more.
    id = models.AutoField(primary_key=True)
    brought = models.OneToOneField(VectorImport, on_delete=models.CASCADE, related_name="work")
    kind = models.CharField(max_length=10, choices=WorkKind)
    state = models.CharField(max_length=10, choices=WorkState)
    attempts = models.PositiveSmallIntegerField("attempts since it was asked for")
    phase = models.CharField(max_length=10, blank=True)
    rows_done = models.PositiveIntegerField("rows done in this phase")
    rows_total = models.PositiveIntegerField("rows of the file")
    rung_at = models.DateTimeField("last called out at")
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)
    outcome = models.JSONField(default=dict)
    failure = models.TextField(blank=True)

    objects = ImportWorkQuerySet.as_manager()

    class Meta:
        """How works are ordered and bounded."""

        ordering = ("id",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(kind__in=WorkKind.values), name="import_work_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=WorkState.values), name="import_work_state_known"
            ),
            models.CheckConstraint(
                condition=~models.Q(state=WorkState.GIVEN_UP) | ~models.Q(failure=""),
                name="import_work_failure_told",
            ),
            models.CheckConstraint(
                condition=models.Q(state=WorkState.DONE, finished_at__isnull=False)
                | (~models.Q(state=WorkState.DONE) & models.Q(finished_at=None)),
                name="import_work_done_at_a_moment",
            ),
        )

    def __str__(self) -> str:
        """Of which file, and where it stands."""
        return f"{self.brought}: {self.kind}, {self.state}"

    @property
    def is_waiting(self) -> bool:
        """Whether a worker has it in hand or will have."""
        return self.state in STATES_TO_WORK_ON

    def finish(self, outcome: dict[str, Any]) -> None:
        """Keep what came of it."""
        self._update_if_ours(state=WorkState.DONE, finished_at=Now(), outcome=outcome)

    def note_fault(self, fault: str) -> None:
        """An attempt ended in a fault that is not the file's: left for another, or given up."""
        if self.attempts >= MOST_ATTEMPTS:
            self.give_up(fault)
        else:
            self._update_if_ours(state=WorkState.QUEUED, failure=fault)

    def give_up(self, fault: str) -> None:
        """No attempt is left; say so to whoever waits."""
        self._update_if_ours(
            state=WorkState.GIVEN_UP, failure=f"{fault} Tried {MOST_ATTEMPTS} times; nothing is stored."
        )

    def _update_if_ours(self, **values: Any) -> None:
        """Write, unless the work was asked for anew or another worker's attempt has come since."""
        same = ImportWork.objects.filter(pk=self.pk, kind=self.kind, attempts=self.attempts)
        same.filter(state__in=STATES_TO_WORK_ON).update(**values)
