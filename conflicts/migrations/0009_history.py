"""The record of every change of bores, pits and what was signed about them."""

from django.db import migrations

OF_BORE = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"
OF_VARIANCE = (
    "(SELECT b.job_id FROM public.conflicts_variance v JOIN public.conflicts_bore b ON b.id = v.bore_id"
    " WHERE v.id = {row}.variance_id)"
)
OF_RELEASE = (
    "(SELECT b.job_id FROM public.conflicts_release r JOIN public.conflicts_bore b ON b.id = r.bore_id"
    " WHERE r.id = {row}.release_id)"
)

KEPT = {
    "conflicts_bore": "{row}.job_id",
    "conflicts_pit": OF_BORE,
    "conflicts_dailywalk": OF_BORE,
    "conflicts_variance": OF_BORE,
    "conflicts_variancesignature": OF_VARIANCE,
    "conflicts_varianceend": OF_VARIANCE,
    "conflicts_release": OF_BORE,
    "conflicts_releasewithdrawal": OF_RELEASE,
    "conflicts_crossingwatch": OF_BORE,
    "conflicts_camerainspection": OF_BORE,
    "conflicts_closeout": OF_BORE,
    "conflicts_damagereport": "{row}.job_id",
}
"""Tables whose every change is kept, and how the job of a row is found."""

SEALED = tuple(table for table in KEPT if table not in ("conflicts_bore", "conflicts_pit"))
"""Tables of which nothing is ever changed or taken away."""


def keep(apps, schema_editor):
    """Have the database keep the record, from the rows that are there on."""
    with schema_editor.connection.cursor() as cursor:
        for table, job in KEPT.items():
            cursor.execute("SELECT locates_keep_record_of(%s::regclass, %s)", [table, job])
        for table in SEALED:
            cursor.execute("SELECT locates_seal(%s::regclass)", [table])


def leave(apps, schema_editor):
    """Take the triggers away again."""
    with schema_editor.connection.cursor() as cursor:
        for table in (*KEPT, *SEALED):
            cursor.execute("SELECT locates_leave_record_of(%s::regclass)", [table])


class Migration(migrations.Migration):

    dependencies = [
        ("conflicts", "0008_clearance_records"),
        ("locates", "0020_history"),
    ]

    operations = [migrations.RunPython(keep, leave)]
