"""A pass of a reamer, and the pullback, is told with when it was through."""

from django.db import migrations, models

JOB = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_holepass'::regclass, %s)", [JOB])


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0022_lines_met'),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='holepass',
            name='ended_at',
            field=models.DateTimeField(blank=True, help_text='None where that was not asked yet.', null=True, verbose_name='through at'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('made_at__lte', models.F('ended_at'))), name='hole_pass_made_at_not_after_ended_at', violation_error_message='made_at: accepted is a value not after ended_at.'),
        ),
        migrations.AddConstraint(
            model_name='holepass',
            constraint=models.CheckConstraint(condition=models.Q(('ended_at__lte', models.F('logged_at'))), name='hole_pass_ended_at_not_after_logged_at', violation_error_message='ended_at: accepted is a value not after logged_at.'),
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
    ]
