"""A release keeps the marks of its crossings and the variances that it rests on."""

from django.db import migrations, models

JOB = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_release'::regclass, %s)", [JOB])


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0013_route_joints'),
        ('locates', '0022_company_rules'),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='release',
            name='crossing_marks',
            field=models.JSONField(blank=True, help_text='The id of the mark of each crossing of the assessment, in its order.', null=True, verbose_name='marks of the crossings'),
        ),
        migrations.AddField(
            model_name='release',
            name='excused_by',
            field=models.JSONField(blank=True, help_text='The ids of those but for which a check would have held.', null=True, verbose_name='variances it rests on'),
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
    ]
