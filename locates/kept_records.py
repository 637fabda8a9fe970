"""Which tables the database keeps the record of, and why it keeps none of the others."""

from django.apps import apps
from django.db import connection, models

from locates.models.guard_watch import Guard
from locates.signed_kinds import signed_kinds

APPS = ("locates", "conflicts")

RECORD = "a record of its own, which the database lets nobody change once it is made"
COMPUTED = "computed from records whose every change is kept"
QUEUE = "work that waits, which goes when it is done"
PRIVATE = "a person's own setting, which says nothing of a job"
ITSELF = "itself a record that nothing is ever changed in"

NOT_KEPT = {
    "locates.recordevent": ITSELF,
    "locates.ledgerentry": ITSELF,
    "locates.ticketstanding": COMPUTED,
    "locates.ticketmatter": COMPUTED,
    "locates.dayreview": COMPUTED,
    "conflicts.assessment": COMPUTED,
    "conflicts.crossing": COMPUTED,
    "conflicts.drilledalonecrossing": COMPUTED,
    "conflicts.reassessment": QUEUE,
    "conflicts.recordmaking": RECORD,
    "locates.vectorimport": QUEUE,
    "locates.importwork": QUEUE,
    "locates.outgoingmail": RECORD,
    "locates.notice": RECORD,
    "locates.follow": PRIVATE,
    "locates.noticesetting": PRIVATE,
    "locates.savedview": PRIVATE,
    "locates.calendarfeed": PRIVATE,
}
"""Models without a record of their changes, each with the reason; of all others every change is kept."""


LOGIN = "a login or an attempt at one, which says nothing of a job and goes with time"
RIGHTS = "which role an account has, and what a role may do: ticked and unticked in the admin"

TAKEN_AWAY = {
    "locates.ticketstanding": COMPUTED,
    "locates.ticketmatter": COMPUTED,
    "locates.dayreview": COMPUTED,
    "conflicts.assessment": COMPUTED,
    "conflicts.crossing": COMPUTED,
    "conflicts.drilledalonecrossing": COMPUTED,
    "conflicts.reassessment": QUEUE,
    "locates.vectorimport": QUEUE,
    "locates.importwork": QUEUE,
    "locates.follow": PRIVATE,
    "locates.savedview": PRIVATE,
    "sessions.session": LOGIN,
    "axes.accessattempt": LOGIN,
    "axes.accessattemptexpiration": LOGIN,
    "axes.accessfailurelog": LOGIN,
    "axes.accesslog": LOGIN,
    "auth.user_groups": RIGHTS,
    "auth.user_user_permissions": RIGHTS,
    "auth.group_permissions": RIGHTS,
}
"""All of which the site takes rows away, each with the reason; records of a job are retired instead."""


def kept_models() -> list[type[models.Model]]:
    """The models of whose records every change is kept."""
    return [
        model
        for label in APPS
        for model in apps.get_app_config(label).get_models()
        if model._meta.label_lower not in NOT_KEPT
    ]


def kept_tables() -> list[str]:
    """The tables whose every change the database keeps, as it says itself."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgrelid::regclass::text FROM pg_trigger WHERE tgname = 'keep_update' AND tgenabled = 'A'"
        )
        return [name for (name,) in cursor.fetchall()]


def sealed_models() -> list[type[models.Model]]:
    """The models of which nothing is ever changed or taken away: the record, the ledger, what is signed."""
    sealed = [apps.get_model(label) for label, why in NOT_KEPT.items() if why == ITSELF]
    return sealed + [kind.model for kind in signed_kinds().values()]


def expected_guards() -> list[Guard]:
    """All that has to stand in the database so that what is kept, signed or told stays as it is."""
    guards = []
    for table in (model._meta.db_table for model in kept_models()):
        keeper = f"keep_record_of_{table}"
        guards += [Guard(table, f"keep_{action}", keeper) for action in ("insert", "update", "delete")]
        guards.append(Guard(table, "refuse_emptying"))
    guards += [Guard(model._meta.db_table, "refuse_rewriting") for model in sealed_models()]
    guards.append(Guard("locates_recordevent", "refuse_forging", "locates_refuse_forging"))
    for table in ("locates_notice", "locates_outgoingmail"):
        guards += [Guard(table, "told_stays"), Guard(table, "refuse_emptying")]
    guards.append(Guard("locates_jurisdictionrule", "company_stays"))
    for action in ("insert", "update"):
        guards.append(
            Guard("locates_job", f"rule_of_its_company_{action}", "locates_job_rule_of_its_company")
        )
    guards.append(Guard("conflicts_recordmaking", "refuse_emptying"))
    guards.append(Guard("conflicts_recordmaking", "record_stays", "conflicts_clearance_record_stays"))
    return guards
