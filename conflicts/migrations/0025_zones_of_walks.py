"""A walk is signed with the time zone of its job."""

from django.db import migrations, models

JOB = "(SELECT b.job_id FROM public.conflicts_bore b WHERE b.id = {row}.bore_id)"


def keep(apps, schema_editor):
    """Have the record of changes keep the columns as they are now."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT locates_keep_record_of('conflicts_dailywalk'::regclass, %s)", [JOB])


class Migration(migrations.Migration):

    dependencies = [
        ('conflicts', '0024_drilled_alone'),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, keep),
        migrations.AddField(
            model_name='dailywalk',
            name='time_zone',
            field=models.CharField(blank=True, default='', help_text="IANA name of the job's zone when it was signed; nothing where that was not kept yet.", max_length=60),
        ),
        migrations.RunPython(keep, migrations.RunPython.noop),
    ]
