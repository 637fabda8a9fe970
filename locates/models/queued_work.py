"""Work that a worker does beside the pages: its row is the truth, the broker only says: look here."""

from typing import Any, ClassVar, Self

from django.db import connection, models, transaction
from django.db.models.functions import Now

MOST_ATTEMPTS = 3
"""Work that ends its worker, or meets a fault, this often is given up until somebody asks again."""

RING_AGAIN_S = 5
"""A row that nobody works on is called out again this long after the last call."""

WORKER_DIED = "The worker ended in the middle of the work."


class WorkState(models.TextChoices):
    """Where the work stands."""

    QUEUED = "queued", "queued"
    RUNNING = "running", "running"
    DONE = "done", "done"
    GIVEN_UP = "given up", "given up"


STATES_TO_WORK_ON = (WorkState.QUEUED, WorkState.RUNNING)

# A session's advisory lock goes with its process, so a row of state running without one has lost its worker.
FORGOTTEN = """
UPDATE {table} SET rung_at = now() WHERE id IN (
    SELECT waiting.id FROM {table} AS waiting
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


class QueuedWorkQuerySet(models.QuerySet):
    """Sets of works of one kind."""

    def call_out_forgotten(self, most: int) -> list[int]:
        """Rows to be worked on that nobody has in hand, those called least lately first; notes the call."""
        statement = FORGOTTEN.format(table=connection.ops.quote_name(self.model._meta.db_table))
        values = {"ring_again_s": RING_AGAIN_S, "lock_space": self.model.LOCK_SPACE, "most": most}
        with connection.cursor() as cursor:
            cursor.execute(statement, values)
            return [row[0] for row in cursor.fetchall()]

    def begin(self, work_id: int) -> Any:
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
            values = {"state": WorkState.RUNNING, "started_at": Now(), "failure": "", **row.NOTHING_DONE}
            for name, value in values.items():
                setattr(row, name, value)
            row.attempts += 1
            row.save(update_fields=[*values, "attempts"])
        return row


class QueuedWork(models.Model):
    """One piece of work, tried `MOST_ATTEMPTS` times.

    A kind of work says in ``LOCK_SPACE`` which advisory locks are its own, and in ``NOTHING_DONE`` how its
    fields of progress stand when an attempt begins.
    """

    LOCK_SPACE: ClassVar[int]
    NOTHING_DONE: ClassVar[dict[str, Any]] = {}

    # 32 bits, for the advisory lock's key takes no more.
    id = models.AutoField(primary_key=True)
    state = models.CharField(max_length=10, choices=WorkState)
    attempts = models.PositiveSmallIntegerField("attempts since it was asked for")
    rung_at = models.DateTimeField("last called out at")
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)
    failure = models.TextField(blank=True)

    objects = QueuedWorkQuerySet.as_manager()

    class Meta:
        """No table of its own."""

        abstract = True

    @property
    def is_waiting(self) -> bool:
        """Whether a worker has it in hand or will have."""
        return self.state in STATES_TO_WORK_ON

    def note_fault(self, fault: str) -> None:
        """An attempt ended in a fault of ours: left for another, or given up."""
        if self.attempts >= MOST_ATTEMPTS:
            self.give_up(fault)
        else:
            self.update_if_ours(state=WorkState.QUEUED, failure=fault)

    def give_up(self, fault: str) -> None:
        """No attempt is left; say so to whoever waits."""
        told = f"{fault} Tried {MOST_ATTEMPTS} times; nothing is stored."
        self.update_if_ours(state=WorkState.GIVEN_UP, failure=told)

    def end(self, **values: Any) -> None:
        """Keep what came of it."""
        self.update_if_ours(state=WorkState.DONE, finished_at=Now(), **values)

    def same_attempt(self) -> models.QuerySet[Self]:
        """Only this row, unless another worker's attempt has come since."""
        return type(self).objects.filter(pk=self.pk, attempts=self.attempts)

    def update_if_ours(self, **values: Any) -> None:
        """Write, unless it was done, asked for anew or taken up by another meanwhile."""
        self.same_attempt().filter(state__in=STATES_TO_WORK_ON).update(**values)


def work_bounds(name: str) -> tuple[models.CheckConstraint, ...]:
    """What the database holds of every kind of work: its state, its failure and when it was done."""
    done = models.Q(state=WorkState.DONE, finished_at__isnull=False)
    return (
        models.CheckConstraint(condition=models.Q(state__in=WorkState.values), name=f"{name}_state_known"),
        models.CheckConstraint(
            condition=~models.Q(state=WorkState.GIVEN_UP) | ~models.Q(failure=""),
            name=f"{name}_failure_told",
        ),
        models.CheckConstraint(
            condition=done | (~models.Q(state=WorkState.DONE) & models.Q(finished_at=None)),
            name=f"{name}_done_at_a_moment",
        ),
    )
