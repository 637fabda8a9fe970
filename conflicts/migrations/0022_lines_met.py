"""The entry of a rod keeps the lines that it came to, as they were recorded then."""

from django.db import migrations, models

JOB = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_drilledrod'::regclass, %s)", [JOB])


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0021_camera_variances'),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='drilledrod',
            name='met',
            field=models.JSONField(blank=True, help_text='Those that it came to, as they were recorded then; none is not kept.', null=True, verbose_name='lines met'),
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
    ]
